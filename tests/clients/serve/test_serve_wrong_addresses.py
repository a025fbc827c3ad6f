"""Attacks by address over real HTTP: wrong keys, tricks with paths, foreign hosts, keys in logs."""

from __future__ import annotations

from pathlib import Path

import pytest
from raw_http import Reply, ask, send, ticked
from served_house import KeyKind, Served, desk_over, make_key

from cropplan.desk import keys

WRONG = "A" * 43


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
