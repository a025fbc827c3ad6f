"""Who may write over real HTTP: no feed, no stranger, no GET; a neighbour the errands only."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from raw_http import ask, keys_of, post, ticked, token_on
from served_house import TODAY, KeyKind, Served, desk_over, house_record, make_key, serving

from cropplan.desk.premises import go_away

ANOTHERS = "of-another-key"


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
