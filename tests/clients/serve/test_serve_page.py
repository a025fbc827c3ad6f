"""The page in Debian's Chromium: read and pressed, with and without scripts, light and dark."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from at_the_phone import PHONE, WIDE, Phone, phone
from raw_http import ask, post, token_on
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from served_house import TODAY, KeyKind, Served, desk_over, make_key, serving

from cropplan.desk.premises import go_away
from cropplan.holding.planting import Origin
from cropplan.holding.season import PlannedStrike, PlannedWeek, SeasonAccepted, SeasonPlan
from cropplan.record.store import open_record
from tests.builders import on

_MEASURE = Path(__file__).with_name("measured_in_the_page.js").read_text(encoding="utf-8")
_PAGES = ("", "week", "plants", "season", "plant/tom1", "plant/tom4")


@pytest.fixture(scope="module")
def screen() -> Iterator[Phone]:
    """One browser for the tests that only look."""
    with phone() as one:
        yield one


def url(house: Served, path: str = "") -> str:
    """The address of a page of the phone's key."""
    return f"{house.origin}{house.phone}{path}"


def measured(one: Phone) -> dict[str, Any]:
    """What the page shows, with everything that can be opened open."""
    one.script("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    found: dict[str, Any] = one.script(_MEASURE)
    return found


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, WIDE], ids=["phone", "wide"])
@pytest.mark.parametrize("path", _PAGES)
def test_every_word_can_be_read_and_every_target_pressed(
    looked_at: Served, screen: Phone, path: str, size: tuple[int, int], dark: bool
) -> None:
    """WCAG 2.2: 1.4.3 words 4.5:1 (large 3:1), 1.4.11 edges 3:1, 2.5.8 targets; ours 48 px."""
    screen.screen(size, dark=dark)
    screen.open(url(looked_at, path))
    name = f"{path.replace('/', '-') or 'today'}-{size[0]}-{'dark' if dark else 'light'}"
    screen.picture(name)
    found = measured(screen)
    screen.picture(f"{name}-open")
    assert len(found["words"]) >= 8
    assert [one for one in found["words"] if one["ratio"] < one["needed"]] == []
    assert [one for one in found["words"] if one["size"] < 15] == []
    assert [one for one in found["edges"] if one["ratio"] < 3] == []
    small = [one for one in found["targets"] if min(one["width"], one["height"]) < 48]
    assert small == []
    assert found["nameless"] == []
    assert found["twice"] == []
    assert found["heads"][0] == 1
    assert all(
        after - before <= 1
        for before, after in zip(found["heads"], found["heads"][1:], strict=False)
    )
    assert found["width"] <= found["screen"] == size[0]


def test_the_page_reflows_on_a_screen_of_320_px(looked_at: Served, screen: Phone) -> None:
    """WCAG 2.2, 1.4.10: nothing to scroll sideways at 320 CSS px, which is 1280 px at 400 %."""
    screen.screen((320, 640))
    for path in _PAGES:
        screen.open(url(looked_at, path))
        found = measured(screen)
        assert found["width"] <= 320, path


def test_nothing_comes_from_elsewhere(looked_at: Served, screen: Phone) -> None:
    """No outside resource; and the policy would stop one, and any script in the page."""
    screen.open(url(looked_at))
    fetched = measured(screen)["fetched"]
    assert any(one.endswith(".js") or ".js?" in one for one in fetched)
    assert [one for one in fetched if not one.startswith(looked_at.origin)] == []
    stopped = screen.driver.execute_async_script(
        """
        const done = arguments[arguments.length - 1];
        const stopped = [];
        const note = (event) => stopped.push(event.effectiveDirective);
        document.addEventListener("securitypolicyviolation", note);
        const script = document.createElement("script");
        script.textContent = "window.reached = true";
        const picture = document.createElement("img");
        picture.src = "http://127.0.0.1:9/picture.png";
        document.body.append(script, picture);
        setTimeout(() => done([stopped.sort(), window.reached ?? false]), 500);
        """
    )
    assert stopped == [["img-src", "script-src-elem"], False]


def test_the_policy_is_the_strict_one(looked_at: Served) -> None:
    """Content-Security-Policy and its companions, on every page and on a refusal."""
    token = token_on(ask(looked_at, looked_at.phone).text)
    refused = post(looked_at, f"{looked_at.phone}answer", [("form", token)])
    for reply in (*(ask(looked_at, looked_at.phone + path) for path in _PAGES), refused):
        policy = reply.headers["content-security-policy"].split("; ")
        assert policy[0] == "default-src 'none'"
        assert {"form-action 'self'", "frame-ancestors 'none'", "base-uri 'none'"} <= set(policy)
        assert not re.search(r"unsafe|\*|http|data:", reply.headers["content-security-policy"])
        assert reply.headers["cache-control"] == "no-store"
        assert reply.headers["cross-origin-opener-policy"] == "same-origin"
        assert reply.headers["referrer-policy"] == "same-origin"
        assert reply.headers["content-type"] == "text/html; charset=utf-8"


def test_the_page_can_be_installed(looked_at: Served, screen: Phone) -> None:
    """The browser itself finds no reason against it: manifest, icons, worker."""
    screen.open(url(looked_at))
    screen.wait(lambda: screen.script("return navigator.serviceWorker.controller !== null"))
    told = screen.command("Page.getAppManifest")
    assert told["errors"] == []
    assert '"display": "standalone"' in told["data"]
    assert screen.command("Page.getInstallabilityErrors")["installabilityErrors"] == []


def test_focus_is_seen_and_comes_in_order(looked_at: Served, screen: Phone) -> None:
    """WCAG 2.2, 2.4.7 and 2.4.3: the first stop leads past the links, each stop has an outline."""
    screen.screen(PHONE)
    screen.open(url(looked_at))
    body = screen.one("body")
    seen = []
    for _ in range(8):
        body.send_keys(Keys.TAB)
        seen.append(
            screen.script(
                "const a = document.activeElement; const s = getComputedStyle(a);"
                "return [a.innerText, s.outlineStyle, parseFloat(s.outlineWidth)]"
            )
        )
        body = screen.driver.switch_to.active_element
    assert [one[0] for one in seen[:4]] == ["To the work", "Today", "Week", "Plants"]
    assert all(style != "none" and width >= 2 for _, style, width in seen)


def test_lines_stand_by_part_of_the_day_with_their_cautions(
    looked_at: Served, screen: Phone
) -> None:
    """Fish and water first, then late, then by part of the day; cautions with their task."""
    screen.screen(PHONE)
    screen.open(url(looked_at))
    heads = [one.text for one in screen.driver.find_elements(By.CSS_SELECTOR, "section > h2")]
    assert heads == ["First", "Late", "Morning", "Any time"]
    shown = [one.get_attribute("id") for one in screen.driver.find_elements(By.TAG_NAME, "article")]
    assert shown[:2] == ["fi-main", "pm-main"]
    assert shown.index("he") < shown.index("pk-tom")
    assert shown.index("o1") > shown.index("pk-let")
    assert "B1 · B2 Pick tomatoes" in screen.text("#pk-tom h3")
    assert "gloves over cuts" in screen.text("#fi-main")
    assert "230 g" in screen.text("#fi-main")
    assert "Unplug before putting a hand in the water" in screen.text("#pm-main")


def test_everything_can_be_answered_without_scripts(served: Served) -> None:
    """Tick with a note, pick with amounts, some places only, skip, put off, undo: plain forms."""
    before = len(served.entries())
    with phone() as one:
        one.without_scripts()
        one.open(url(served))
        one.press("#fi-main summary")
        one.one("#fi-main [name='note']").send_keys("ate all")
        one.press("#fi-main .done")
        one.says("fi-main: Feed the fish, watch them eat, done on Wed 10 Jun", "#told")
        one.press("#told button")
        one.says("undone: fed main", "#told")
        one.one("#pk-tom [name='amount-tom2']").send_keys("0,3")
        one.press("#pk-tom .done")
        one.says("tom2: picked 0.3 kg", "#told")
        one.driver.refresh()
        one.press("#po-tom summary")
        one.press("#po-tom [type='checkbox'][value*='tom2']")
        one.press("#po-tom .done")
        one.says("po-tom: Pollinate tomatoes: B1, done", "#told")
        one.press("#po-tom summary")
        one.one("#po-tom [name='why']").send_keys("too damp")
        one.press("#po-tom form:nth-of-type(1) fieldset button")
        one.says("skipped (too damp)", "#told")
        one.press("#o1 summary")
        one.one("#o1 [name='to']").send_keys("06122026")
        one.press("#o1 form:nth-of-type(2) fieldset button")
        one.says("put off to Fri 12 Jun", "#told")
        one.press("#o2 summary")
        one.press("#o2 form:nth-of-type(1) fieldset button")
        one.says("say in a word why it was not done")
    made = [kind for kind, _ in served.entries()[before:]]
    assert made == ["Fed", "Voided", "Picked", "Done", "Skipped", "PutOff"]
    desk = desk_over(served.record)
    with desk.record:
        entries = desk.record.journal(last=6)
        assert entries[0].note == "ate all"
        assert {entry.by for entry in entries} == {"Mina"}


def test_pressing_twice_and_loading_again_write_once(served: Served) -> None:
    """Every form has a name of its own, so that a doubled press is one answer."""
    page = ask(served, served.phone).text
    form = page.split('id="tick-fi-main"', 1)[1].split("</form>", 1)[0]
    fields = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]+)"', form)
    before = len(served.entries())
    replies = [post(served, f"{served.phone}answer", fields) for _ in range(3)]
    assert {reply.status for reply in replies} == {303}
    assert len({reply.headers["location"] for reply in replies}) == 1
    assert len(served.entries()) == before + 1


def test_what_was_looked_for_is_told_on_the_page(served: Served) -> None:
    """A watch has two answers: looked and not yet, or seen, planting by planting."""
    before = len(served.entries())
    with phone() as one:
        one.open(url(served))
        assert one.text("#cr-tom .done") == "Looked: not yet"
        one.press("#cr-tom form:first-of-type button")
        one.says("tom3: rooted on Wed 10 Jun", "#told")
    assert served.entries()[before:] == [("Seen", "Mina")]


def test_cuttings_and_setting_out_are_told_with_how_many_and_where(served: Served) -> None:
    """What a tick cannot say has its own fields."""
    before = len(served.entries())
    token = token_on(ask(served, served.phone).text)
    struck = [("what", "struck"), ("tick", "struck-1"), ("tag", "tom1"), ("count", "6")]
    struck += [("place", "T2"), ("handle", "st-tom")]
    out = [("what", "set-out"), ("tick", "set-out-1"), ("tag", "tom3"), ("handle", "so-tom")]
    out += [("place", "B3"), ("place", "B4")]
    said = []
    for fields in (struck, out):
        reply = post(
            served, f"{served.phone}answer", [("form", token), *fields], Accept="application/json"
        )
        assert reply.status == 200, reply.text
        said.append(reply.text)
    assert "6 tomatoes struck in T2" in said[0]
    assert "set out in B3" in said[1]
    assert served.entries()[before:] == [("Began", "Mina"), ("SetOut", "Mina")]


def test_a_tick_with_scripts_says_what_it_did_and_is_undone(served: Served) -> None:
    """The answer appears where the thumb is, with the places ticked and a way back."""
    before = len(served.entries())
    with phone() as one:
        one.open(url(served))
        one.press("#po-tom .done")
        one.says("po-tom: Pollinate tomatoes: B1 and B2, done on Wed 10 Jun", "#told")
        one.wait(lambda: not one.driver.find_elements(By.CSS_SELECTOR, "section.late #po-tom"))
        one.picture("ticked")
        bar = one.script("return document.getElementById('told').getBoundingClientRect().bottom")
        assert bar <= PHONE[1] + 1
        one.press("#told button")
        one.says("undone", "#told")
        one.wait(lambda: one.driver.find_elements(By.CSS_SELECTOR, "section.late #po-tom"))
    assert [kind for kind, _ in served.entries()[before:]] == ["Done", "Voided"]


def test_a_planting_shows_its_life_its_kin_and_its_picks(looked_at: Served, screen: Phone) -> None:
    """Seen days stand, days to come have their span; parent and children lead to their pages."""
    screen.screen(PHONE)
    screen.open(url(looked_at, "plant/tom1"))
    said = screen.text()
    assert "first ripe fruit\nMon 25 May" in said
    assert re.search(r"spent\nabout .* \(.* to .*, eight times in ten\)", said)
    assert "Picked 1 kg in 2" in said
    assert "Fri 5 Jun: 0.6 kg Mina" in said
    screen.open(url(looked_at, "plant/tom3"))
    screen.press("dd a")
    screen.says("tom1: tomato", "h1")
    assert re.search(r"taken from it\ntom3.*tom4", screen.text(), re.DOTALL)
    screen.open(url(looked_at, "plant/tom4"))
    assert "lost on Wed 20 May" in screen.text()


def test_the_season_is_shown_as_a_picture_and_in_words(record: Path) -> None:
    """The plan in force, drawn from the record; what to strike, for whoever cannot see it."""
    strike = PlannedStrike(
        number=1,
        crop="tomato",
        way=Origin.CUTTING,
        on=date(2026, 6, 20),
        count=3,
        plants=2,
        mothers=("tom1",),
        place="T1",
        places=("B3", "B4"),
        set_out=date(2026, 7, 8),
        first_pick=date(2026, 9, 1),
        last_pick=date(2026, 12, 20),
    )
    weeks = tuple(
        PlannedWeek(
            week=TODAY + timedelta(weeks=n), crop="tomato", goal=1, expected=1, low=0, high=2
        )
        for n in range(30)
    )
    plan = SeasonPlan(
        made=TODAY, until=date(2026, 12, 31), last_number=1, strikes=(strike,), weeks=weeks
    )
    with open_record(record) as opened:
        opened.append(on(TODAY, SeasonAccepted(plan=plan)))
    with serving(record) as running, phone() as one:
        one.open(url(running, "season"))
        assert "Sat 20 Jun: 3 tomato from tom1" in one.text()
        assert "for B3, B4, set out Wed 8 Jul" in one.text()
        one.wait(lambda: one.script("return document.querySelector('main img').naturalWidth") > 300)
        one.picture("season-drawn")
        found = measured(one)
        assert found["width"] <= found["screen"]
        drawn = ask(running, f"{running.phone}season.svg")
        assert drawn.headers["content-type"] == "image/svg+xml"
        assert "sandbox" in drawn.headers["content-security-policy"]
        assert drawn.body == ask(running, f"{running.phone}season.svg").body


def test_a_neighbours_sheet_prints_on_one_page(record: Path, tmp_path: Path) -> None:
    """Ten days of errands with a box a day, cautions included, on one A4 page."""
    desk = desk_over(record)
    with desk.record:
        go_away(desk, date(2026, 6, 11), date(2026, 6, 24))
    path = make_key(record, "Ines next door", KeyKind.NEIGHBOUR)
    with serving(record) as running, phone() as one:
        one.open(f"{running.origin}{path}")
        assert "Nothing is asked of you today" in one.text()
        one.picture("neighbour")
        one.open(f"{running.origin}{path}sheet")
        one.picture("sheet")
        said = one.text()
        assert "230 g" in said
        assert said.count("Thu 11 Jun") >= 3
        assert "gloves over cuts" in said
        printed = one.command("Page.printToPDF", preferCSSPageSize=True)["data"]
    pdf = base64.b64decode(printed)
    (tmp_path / "sheet.pdf").write_bytes(pdf)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) == 1


def test_the_week_lists_each_days_work(looked_at: Served, screen: Phone) -> None:
    """Day by day, from tomorrow on, each with why."""
    screen.open(url(looked_at, "week"))
    heads = [one.text for one in screen.driver.find_elements(By.CSS_SELECTOR, "main h2")]
    days = [date(2026, 6, int(head.split()[1])) for head in heads]
    assert len(days) >= 3
    assert days == sorted(set(days))
    assert date(2026, 6, 11) <= days[0]
    assert days[-1] <= date(2026, 6, 17)
    assert "wipe the lamps" in screen.text()
    assert "every 5 days" in screen.text()
