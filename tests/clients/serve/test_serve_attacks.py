"""Attacks over real HTTP: refused or served, memory flat, nothing written, no key told."""

from __future__ import annotations

import contextlib
import random
import socket
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from raw_http import Reply, ask, keys_of, parted, post, send, ticked, token_on
from served_house import TODAY, KeyKind, Served, desk_over, house_record, make_key, serving

from cropplan.desk import keys
from cropplan.desk.keeping import check
from cropplan.desk.premises import go_away

WRONG = "A" * 43
CHUNKED_TOO = "Transfer-Encoding: chunked\r\nConnection: close\r\n\r\n0\r\n\r\n"
ANOTHERS = "of-another-key"


@pytest.fixture(scope="module")
def attacked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A small house served with little patience, sound before and after every attack."""
    record = house_record(tmp_path_factory.mktemp("attacked") / "house.db")
    with serving(record, options={"head_seconds": 2.0, "body_seconds": 2.0}) as running:
        yield running


@pytest.fixture(autouse=True)
def unharmed(request: pytest.FixtureRequest) -> Iterator[None]:
    """After each attack the server answers, the record is sound, and no line holds a key."""
    served: Served | None = None
    if "attacked" in request.fixturenames:
        served = request.getfixturevalue("attacked")
        before = served.entries()
    yield
    if served is not None:
        assert served.alive()
        assert ask(served, served.feed).status == 200
        assert served.entries() == before
        desk = desk_over(served.record)
        with desk.record:
            assert check(desk) == []
        written = served.log.read_text(encoding="utf-8")
        assert written.count(" GET ") > 0
        assert not [secret for secret in served.secrets if secret in written]


def seen(reply: Reply) -> tuple[int, dict[str, str], bytes]:
    """A reply as an attacker compares it: without the moment of sending."""
    return reply.status, {n: v for n, v in reply.headers.items() if n != "date"}, reply.body


def test_every_wrong_way_in_gets_the_same_answer(attacked: Served) -> None:
    """404 with one body, whatever was wrong (W3C TAG, Good Practices for Capability URLs)."""
    gone = make_key(attacked.record, "lost phone", KeyKind.PHONE)
    attacked.secrets.append(gone.split("/")[2])
    desk = desk_over(attacked.record)
    with desk.record:
        keys.revoke(desk, "lost phone")
    feed, phone = (path.split("/")[2] for path in (attacked.feed, attacked.phone))
    ways = [
        "/",
        "/robots.txt",
        "/favicon.ico",
        "/admin",
        f"/f/{WRONG}/house.ics",
        f"/p/{WRONG}/",
        f"/p/{WRONG}/plant/tom1",
        gone,
        f"/p/{feed}/",
        f"/p/{feed}/answer",
        f"/f/{phone}/house.ics",
        f"/f/{feed}/other.ics",
        f"/f/{feed}/",
        f"/f/{feed[:-1]}/house.ics",
        f"/f/{feed.swapcase()}/house.ics",
        f"/p/{phone}/plant/no-such-plant",
        f"/p/{phone}/no-such-page",
        f"/p/{phone}/week/more",
        f"/p/{phone}/sheet",
        "/" + "x" * 4000,
    ]
    answers = {way: seen(ask(attacked, way)) for way in ways}
    assert {answer[0] for answer in answers.values()} == {404}
    assert len({repr(answer) for answer in answers.values()}) == 1
    posted = [seen(ask(attacked, way, method="POST", Origin=attacked.origin)) for way in ways[:9]]
    assert {repr(answer) for answer in posted} == {repr(answers["/"])}


@pytest.mark.parametrize(
    "trick",
    [
        "{p}s/../../../../etc/passwd",
        "{p}s/%2e%2e/%2e%2e/pages.py",
        "{p}s/..%2f..%2fpages.py",
        "{p}s//page.css",
        "{p}s/page.css/",
        "{p}../{f}",
        "{p}plant/..%2f..%2fweek",
        "{p}plant/%00",
        "{p}plant/%ff%fe",
        "{p}plant/<script>alert(1)</script>",
        "{p}plant/tom1%0d%0aX-Evil:%20yes",
        "/{p}",
        "//p/{k}/",
        "/P/{k}/",
        "/p/{k}%00/",
        "/p/{k}%20/",
        "/p//{k}/",
        "/p/../p/{k}/",
        "http://evil.example{p}",
    ],
)
def test_tricks_with_paths_lead_nowhere(attacked: Served, trick: str) -> None:
    """No path reaches a file, another page or a header; each is the one 404, or a refused line."""
    key = attacked.phone.split("/")[2]
    path = trick.format(p=attacked.phone, f=attacked.feed, k=key)
    reply = ask(attacked, path)
    assert reply.status in {400, 404}
    assert "x-evil" not in reply.headers
    assert b"alert" not in reply.body
    assert b"root:" not in reply.body


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:{port}",
        "127.0.0.1",
        "127.0.0.1:1",
        "localhost.evil.example:{port}",
        "127.0.0.1:{port}@evil.example",
        "[::ffff:127.0.0.1]:{port}",
        "0.0.0.0:{port}",
        "",
    ],
)
def test_a_foreign_host_is_refused_before_any_key_is_looked_at(attacked: Served, host: str) -> None:
    """DNS rebinding: a stranger's name made to lead here (nccgroup/singularity wiki)."""
    named = host.format(port=attacked.port)
    for path in (attacked.feed, attacked.phone, f"/p/{WRONG}/", "/"):
        reply = ask(attacked, path, host=named)
        assert reply.status in {400, 421}
        assert b"VCALENDAR" not in reply.body


@pytest.mark.parametrize(
    ("head", "status"),
    [
        ("GET {f} HTTP/1.1\r\n\r\n", {400}),
        ("GET {f} HTTP/1.0\r\n\r\n", {421}),
        ("GET {f} HTTP/1.1\r\nHost: {h}\r\nHost: evil.example\r\n\r\n", {400, 421}),
        ("BREW {f} HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\n\r\n", {405}),
        ("PUT {f} HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\n\r\n", {405}),
        ("DELETE {p} HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\n\r\n", {405}),
        ("OPTIONS * HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\n\r\n", {405}),
        (
            "GET {f} HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\nX: " + "a" * 70000 + "\r\n\r\n",
            {431},
        ),
        (
            "POST {p}answer HTTP/1.1\r\nHost: {h}\r\nContent-Length: 5\r\n" + CHUNKED_TOO,
            {400, 403},
        ),
        ("\x16\x03\x01\x02\x00\x01\x00", {400}),
    ],
)
def test_heads_that_should_not_be_are_refused(
    attacked: Served, head: str, status: set[int]
) -> None:
    """Missing or doubled Host, odd methods, a head without end, a body of two lengths, TLS."""
    octets = head.format(f=attacked.feed, p=attacked.phone, h=f"127.0.0.1:{attacked.port}").encode(
        "latin-1"
    )
    reply = parted(send(attacked, octets))
    assert reply.status in status
    if reply.status == 405:
        assert reply.headers["allow"] == "GET, HEAD, POST"


def test_a_calendars_key_cannot_tick(attacked: Served) -> None:
    """Two rights: what may be read by everybody in the kitchen writes nothing."""
    page = ask(attacked, attacked.phone).text
    fields = [("form", token_on(page)), ("tick", "by-a-feed-key"), ("what", "done")]
    fields += [("handle", "fi-main"), *(("key", key) for key in keys_of(page, "fi-main"))]
    to_feed = post(attacked, attacked.feed, fields)
    assert to_feed.status == 405
    assert to_feed.headers["allow"] == "GET, HEAD"
    secret = attacked.feed.split("/")[2]
    assert post(attacked, f"/p/{secret}/answer", fields).status == 404
    assert post(attacked, f"/f/{secret}/answer", fields).status == 404


@pytest.mark.parametrize(
    ("origin", "sent_site"),
    [
        ("https://evil.example", None),
        ("http://127.0.0.1:1", None),
        ("http://127.0.0.1", None),
        ("http://localhost.evil.example", None),
        ("null", None),
        ("", None),
        (None, None),
        (None, "cross-site"),
        (None, "same-site"),
        ("https://evil.example", "same-origin"),
    ],
)
def test_a_strangers_page_cannot_tick(
    attacked: Served, origin: str | None, sent_site: str | None
) -> None:
    """Even with key and token known: POST from another origin, or from none at all, is refused."""
    page = ask(attacked, attacked.phone).text
    fields = [("form", token_on(page)), ("tick", "by-a-stranger"), ("what", "done")]
    fields += [("handle", "fi-main"), *(("key", key) for key in keys_of(page, "fi-main"))]
    more = {} if sent_site is None else {"Sec_Fetch_Site": sent_site}
    reply = post(attacked, f"{attacked.phone}answer", fields, origin=origin, **more)
    assert reply.status == 403


@pytest.mark.parametrize("token", ["", "0" * 64, ANOTHERS])
def test_a_form_without_the_pages_token_is_refused(attacked: Served, token: str) -> None:
    """The token is made from the key, so a page of one key cannot speak for another."""
    page = ask(attacked, attacked.phone).text
    sent = token
    if token == ANOTHERS:
        other = make_key(attacked.record, "another phone", KeyKind.PHONE)
        sent = token_on(ask(attacked, other).text)
    fields = [("form", sent), ("tick", "without-token"), ("what", "done"), ("handle", "fi-main")]
    fields += [("key", key) for key in keys_of(page, "fi-main")]
    assert post(attacked, f"{attacked.phone}answer", fields).status == 403


def test_no_get_changes_anything(attacked: Served) -> None:
    """Link previews and pollers follow every GET."""
    token = token_on(ask(attacked, attacked.phone).text)
    query = f"?form={token}&tick=by-a-get-12&what=done&handle=fi-main"
    for path in ("answer", "", "week", "undo", "done"):
        assert ask(attacked, f"{attacked.phone}{path}{query}").status in {200, 404}


@pytest.mark.parametrize(
    "fields",
    [
        [],
        [("what", "done")],
        [("what", "done"), ("tick", "x")],
        [("what", "done"), ("tick", "a-good-name-1"), ("key", "no key at all")],
        [("what", "done"), ("tick", "a-good-name-2"), ("key", "fish/moon:main/1")],
        [("what", "done"), ("tick", "a-good-name-3"), ("key", "fish/loop:main/1e9")],
        [("what", "done"), ("tick", "a-good-name-4"), ("handle", "fi-main")],
        [("what", "done"), ("tick", "a-good-name-5"), ("key", "fish/loop:main/999"), ("day", "?")],
        [("what", "done"), ("tick", "a-good-name-6"), ("amount-tom1", "a lot")],
        [("what", "done"), ("tick", "a-good-name-7"), ("amount-tom1", "-1")],
        [("what", "done"), ("tick", "a-good-name-8"), ("amount-tom1", "nan")],
        [("what", "done"), ("tick", "a-good-name-9"), ("amount-tom1", "1e400")],
        [("what", "done"), ("tick", "a-good-name-10"), ("amount-none", "1")],
        [("what", "seen"), ("tick", "a-good-name-11"), ("tag", "tom1"), ("stage", "moon")],
        [("what", "struck"), ("tick", "a-good-name-12"), ("tag", "tom1"), ("count", "-4")],
        [("what", "set-out"), ("tick", "a-good-name-13"), ("tag", "tom1")],
        [("what", "undo"), ("tick", "a-good-name-14"), ("entry", "99999")],
        [("what", "undo"), ("tick", "a-good-name-15"), ("undo", "no-such-tick")],
        [("what", "later"), ("tick", "a-good-name-16"), ("to", "2026-13-45")],
        [("what", "explode"), ("tick", "a-good-name-17")],
        [("what", "done"), ("what", "skip"), ("tick", "a-good-name-18")],
        [
            ("what", "skip"),
            ("tick", "a-good-name-19"),
            ("key", "fish/loop:main/999"),
            ("why", "x" * 5000),
        ],
        [("what", "done"), ("tick", "a-good-name-20"), ("day", "2999-01-01"), ("amount-tom1", "1")],
    ],
)
def test_forms_that_make_no_sense_are_refused_in_a_line(
    attacked: Served, fields: list[tuple[str, str]]
) -> None:
    """Whatever a form says, the answer is one line of why, and never a fault of ours."""
    token = token_on(ask(attacked, attacked.phone).text)
    told = [("form", token), *fields]
    reply = post(attacked, f"{attacked.phone}answer", told, Accept="application/json")
    assert reply.status in {400, 409}, reply.text
    assert reply.text.startswith('{"refused": "')
    shown = post(attacked, f"{attacked.phone}answer", told)
    assert shown.status in {400, 409}
    assert "Not written" in shown.text


def test_a_body_that_is_no_form_is_refused(attacked: Served) -> None:
    """Octets that are no text, and more fields than any page of ours has."""
    for body in (b"\xff\xfe\x00", b"&".join(b"a=1" for _ in range(2000))):
        reply = ask(
            attacked, f"{attacked.phone}answer", method="POST", body=body, Origin=attacked.origin
        )
        assert reply.status == 400


@pytest.mark.parametrize("chunked", [False, True])
def test_ten_megabytes_are_refused_unread(attacked: Served, chunked: bool) -> None:
    """A body of 10 MB is refused as soon as its size shows, and is never held in memory."""
    before = attacked.memory_kb()
    size = 10 * 1024 * 1024
    told = "Transfer-Encoding: chunked" if chunked else f"Content-Length: {size}"
    head = (
        f"POST {attacked.phone}answer HTTP/1.1\r\nHost: 127.0.0.1:{attacked.port}\r\n{told}\r\n\r\n"
    )
    got = b""
    with socket.create_connection(("127.0.0.1", attacked.port), 10) as line:
        line.sendall(head.encode())
        piece = b"x" * 65536
        with contextlib.suppress(OSError):
            for _ in range(size // len(piece)):
                line.sendall(b"10000\r\n" + piece + b"\r\n" if chunked else piece)
        with contextlib.suppress(OSError):
            got = line.recv(65536)
    # The reply may be lost when the server hangs up on what is still being sent.
    assert got == b"" or b" 413 " in got.split(b"\r\n")[0]
    assert attacked.memory_kb() < before + 4096


def test_a_client_that_never_ends_its_head_is_hung_up_on(attacked: Served) -> None:
    """One octet at a time: others are served meanwhile, and the line is cut in the end."""
    head = f"GET {attacked.feed} HTTP/1.1\r\nHost: 127.0.0.1:{attacked.port}\r\n"
    with socket.create_connection(("127.0.0.1", attacked.port), 10) as line:
        begun = time.monotonic()
        cut = False
        for octet in head.encode():
            try:
                line.sendall(bytes([octet]))
                line.settimeout(0.1)
                cut = line.recv(1) == b""
            except TimeoutError:
                pass
            except OSError:
                cut = True
            if cut:
                break
            assert ask(attacked, attacked.feed).status == 200
        assert cut, f"still open after {time.monotonic() - begun:.0f} s"


def test_a_client_that_never_ends_its_body_is_told_so(attacked: Served) -> None:
    """408 after a while, as for a head."""
    head = (
        f"POST {attacked.phone}answer HTTP/1.1\r\nHost: 127.0.0.1:{attacked.port}\r\n"
        f"Origin: {attacked.origin}\r\nContent-Length: 100\r\n\r\nform="
    )
    assert parted(send(attacked, head.encode())).status == 408


def test_five_hundred_connections_at_once(attacked: Served) -> None:
    """All are served or told to ask again; what they cost is given back."""
    asked = (
        f"GET {attacked.feed} HTTP/1.1\r\nHost: 127.0.0.1:{attacked.port}\r\n"
        "Connection: close\r\n\r\n"
    ).encode()

    def storm() -> list[int]:
        lines = [socket.create_connection(("127.0.0.1", attacked.port), 30) for _ in range(500)]
        statuses = []
        for line in lines:
            line.sendall(asked)
        for line in lines:
            with line:
                got = b""
                while part := line.recv(65536):
                    got += part
            reply = parted(got)
            assert reply.status == 503 or len(reply.body) == int(reply.headers["content-length"])
            statuses.append(reply.status)
        return statuses

    first = storm()
    assert set(first) <= {200, 503}
    assert first.count(200) >= 400
    after_one = attacked.memory_kb()
    for _ in range(3):
        storm()
    assert attacked.memory_kb() < after_one + 8192


def test_octets_of_chance_do_no_harm(attacked: Served) -> None:
    """Two hundred connections of noise, half of them begun like a request."""
    chance = random.Random(7)  # noqa: S311 - noise, not a secret
    for number in range(200):
        noise = chance.randbytes(chance.randrange(1, 400))
        begun = f"GET {attacked.feed} HTTP/1.1\r\n".encode() if number % 2 else b""
        with (
            contextlib.suppress(OSError),
            socket.create_connection(("127.0.0.1", attacked.port), 5) as line,
        ):
            line.sendall(begun + noise)
    assert attacked.alive()


def test_what_a_person_writes_is_never_markup(served: Served) -> None:
    """A reason or a note with tags in it is shown as it was typed."""
    page = ask(served, served.phone).text
    nasty = "<img src=x onerror=alert(1)>&\"'"
    told = [("form", token_on(page))]
    skipped = [("tick", "nasty-reason-1"), ("what", "skip"), ("handle", "po-tom"), ("why", nasty)]
    skipped += [("key", key) for key in keys_of(page, "po-tom")]
    picked = [("tick", "nasty-note-1"), ("what", "done"), ("amount-tom1", "0.2"), ("note", nasty)]
    for fields in (skipped, picked):
        reply = post(served, f"{served.phone}answer", told + fields, Accept="application/json")
        assert reply.status == 200
    for path in ("?told=nasty-reason-1", "plant/tom1"):
        text = ask(served, served.phone + path).text
        assert "<img" not in text
        assert "&lt;img src=x" in text


def test_no_key_is_ever_written_down(served: Served, tmp_path: Path) -> None:
    """Not for what is served, refused or broken, nor for a key with a letter too many."""
    secret = served.phone.split("/")[2]
    ask(served, served.feed)
    ask(served, served.phone)
    ticked(served, "fi-main", "written-down-1")
    ask(served, f"/x/{secret}/")
    ask(served, f"/p/{secret}x/week?key={secret}")
    ask(served, f"/{secret}")
    ask(served, f"{served.phone}plant/{secret}", Referer=f"{served.origin}{served.phone}")
    served.record.with_suffix(".own.toml").write_text(f"[{secret}", encoding="utf-8")
    assert ask(served, served.feed).status == 503
    assert ask(served, served.phone).status == 503
    send(served, f"GET {served.phone}\r\n\r\n".encode())
    lines = served.lines()
    assert sum(" 503 " in line for line in lines) == 2
    assert any(line.split(" ", 1)[1].startswith("! ") for line in lines)
    for key in served.secrets:
        assert not [line for line in lines if key in line or key[:8] in line]


def test_a_neighbour_can_do_the_errands_and_nothing_else(tmp_path: Path) -> None:
    """Survival work of the absence, on its days; no other page, no other act."""
    record = house_record(tmp_path / "house.db")
    desk = desk_over(record)
    with desk.record:
        go_away(desk, TODAY, date(2026, 6, 17))
    path = make_key(record, "Ines next door", KeyKind.NEIGHBOUR)
    with serving(record) as running:
        page = ask(running, path).text
        assert 'id="fi-main"' in page
        assert 'id="po-tom"' not in page
        assert ask(running, f"{path}sheet").status == 200
        for other in ("week", "plants", "plant/tom1"):
            assert ask(running, path + other).status == 404
        assert ticked(running, "fi-main", "by-ines-1", page, path).status == 200
        assert running.entries()[-1] == ("Fed", "Ines next door")
        whole = ask(running, running.phone).text
        tried = [
            [("what", "done"), ("handle", "po-tom"), ("key", "pollinate/planting:tom1/1")],
            [("what", "done"), ("amount-tom1", "1")],
            [
                ("what", "later"),
                ("handle", "he"),
                ("to", "2026-06-12"),
                ("key", "heat/house:north/1"),
            ],
            [("what", "undo"), ("entry", "1")],
            [("what", "seen"), ("tag", "tom1"), ("stage", "spent")],
            [
                ("what", "done"),
                ("handle", "pm-main"),
                ("key", keys_of(whole, "pm-main")[0]),
                ("day", "2026-06-09"),
            ],
        ]
        before = running.entries()
        for number, fields in enumerate(tried):
            sent = [("form", token_on(page)), ("tick", f"not-yours-{number}"), *fields]
            reply = post(running, f"{path}answer", sent, Accept="application/json")
            assert reply.status in {400, 409}, fields
        assert running.entries() == before
        undo = [
            ("form", token_on(page)),
            ("tick", "take-back-1"),
            ("what", "undo"),
            ("undo", "by-ines-1"),
        ]
        assert post(running, f"{path}answer", undo, Accept="application/json").status == 200
        assert running.entries()[-1] == ("Voided", "Ines next door")
