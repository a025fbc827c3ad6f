"""Labels for the house: printed, scanned, and leading only those who have been let in."""

from __future__ import annotations

import base64
import re
import subprocess
from pathlib import Path

import pytest
from at_the_phone import needed, phone
from raw_http import ask, post
from served_house import KeyKind, Served, desk_over, make_key, serving

from cropplan.cli.root import run
from cropplan.desk import keys
from cropplan.desk.plantings import rename

AT = "https://house.example:8427"


def scanned(picture: Path) -> set[str]:
    """What zbarimg reads from all the codes of a picture."""
    program = needed("zbarimg", "zbar-tools")
    words = [program, "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", str(picture)]
    return set(subprocess.run(words, capture_output=True, text=True, check=False).stdout.split())


def test_labels_are_printed_on_one_page_and_read_back(record: Path, tmp_path: Path) -> None:
    """Tag, crop, when begun and a code, for every living planting; through zbarimg."""
    desk = desk_over(record)
    with desk.record:
        rename(desk, "tom1", "<b>Red & Ripe</b>", chain=False, new_cultivar=True)
    file = tmp_path / "labels.html"
    assert run(["planting", "labels", str(file), "--at", AT, "--record", str(record)]) == 0
    with phone((800, 500)) as one:
        one.open(file.as_uri())
        labels = one.script(
            "return [...document.querySelectorAll('.label')].map((l) => l.innerText)"
        )
        shown = tmp_path / "labels.png"
        one.driver.save_screenshot(str(shown))
        one.picture("labels")
        pdf = base64.b64decode(one.command("Page.printToPDF", preferCSSPageSize=True)["data"])
    assert [label.split("\n")[0] for label in labels] == ["tom1", "tom2", "let1", "tom3"]
    assert "Tomato '<b>Red & Ripe</b>'" in labels[0]
    assert "struck 2026-03-02" in labels[0]
    assert "brought in on a day not known" in labels[1]
    assert "struck 2026-05-20 from tom1" in labels[3]
    assert scanned(shown) == {f"{AT}/at/plant/{tag}" for tag in ("tom1", "tom2", "let1", "tom3")}
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) == 1


def test_places_have_labels_too(record: Path, tmp_path: Path) -> None:
    """Those named, in the order named; kind, house, medium and when it was filled."""
    file = tmp_path / "labels.html"
    words = ["place", "labels", str(file), "B1-B2,T1", "--at", AT, "--record", str(record)]
    assert run(words) == 0
    text = file.read_text(encoding="utf-8")
    assert re.findall(r"<b>(\w+)</b>", text) == ["B1", "B2", "T1"]
    assert "bucket, north" in text
    assert "perlite, filled 2026-03-02" in text
    assert "http" not in re.sub(r"http://www\.w3\.org/2000/svg", "", text)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("planting", "labels", "x.html", "tom99"), "no planting has the tag 'tom99'"),
        (("place", "labels", "x.html", "B99"), "no place is called 'B99'"),
        (("place", "labels", "no/such/folder/x.html", "--at", AT), "no/such/folder"),
        (("planting", "labels", "x.html", "--at", "house"), "'house' is no address of a server"),
    ],
)
def test_labels_that_cannot_be_are_refused(
    made: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    """One line, and no file left behind."""
    assert run([*words, "--record", str(made)]) in {1, 2}
    assert said in capsys.readouterr().err
    assert not Path("x.html").exists()


def test_a_label_leads_only_a_phone_that_was_let_in(served: Served) -> None:
    """No key is in the code: without one there is nothing, with one the planting's page."""
    with phone() as one:
        one.open(f"{served.origin}/at/plant/tom1")
        assert one.text("body") == "There is nothing here."
        one.open(f"{served.origin}{served.phone}")
        one.open(f"{served.origin}/at/plant/tom1")
        one.says("tom1: tomato", "h1")
        one.open(f"{served.origin}/at/place/B2")
        one.says("What stands where", "h1")
        assert one.script("return document.querySelector(':target').id") == "B2"
        desk = desk_over(served.record)
        with desk.record:
            keys.revoke(desk, "Mina")
        one.open(f"{served.origin}/at/plant/tom1")
        assert one.text("body") == "There is nothing here."


def test_a_label_opens_nothing_by_itself(served: Served) -> None:
    """A wrong, a feed's or no cookie gets the one 404; no POST is led on; no other path is."""
    key = served.phone.split("/")[2]
    feed = served.feed.split("/")[2]
    nothing = ask(served, "/").body
    for cookie in ("", f"let-in={'A' * 43}", f"let-in={feed}", f"other={key}", "let-in"):
        reply = ask(served, "/at/plant/tom1", Cookie=cookie)
        assert (reply.status, reply.body) == (404, nothing), cookie
    led = ask(served, "/at/plant/tom1", Cookie=f"a=b; let-in={key}")
    assert (led.status, led.headers["location"]) == (303, f"{served.phone}plant/tom1")
    assert (
        ask(served, "/at/plant/x%0d%0aY:%20z", Cookie=f"let-in={key}")
        .headers["location"]
        .endswith("/plant/x%0D%0AY%3A%20z")
    )
    assert ask(served, "/at/other/tom1", Cookie=f"let-in={key}").status == 404
    assert ask(served, "/p/x/", Cookie=f"let-in={key}").status == 404
    assert post(served, "/at/plant/tom1", [], Cookie=f"let-in={key}").status == 404


def test_the_cookie_is_for_labels_alone(record: Path) -> None:
    """Sent to no other path, read by no script, not sent from other sites' requests."""
    neighbour = make_key(record, "wall", KeyKind.FEED)
    with serving(record) as running:
        told = ask(running, running.phone).headers["set-cookie"]
        key = running.phone.split("/")[2]
        assert told.split("; ") == [
            f"let-in={key}",
            "Path=/at/",
            "HttpOnly",
            "SameSite=Lax",
            "Max-Age=31536000",
        ]
        assert "set-cookie" not in ask(running, neighbour).headers
        assert "set-cookie" not in ask(running, f"{running.phone}s/page.css").headers
