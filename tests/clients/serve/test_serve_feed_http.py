"""The calendar over real HTTP, octet by octet: what phones and importers need."""

from __future__ import annotations

import gzip
import sqlite3
import time
from datetime import timedelta
from email.utils import parsedate_to_datetime
from itertools import pairwise
from pathlib import Path

import pytest
from raw_http import Reply, ask, parted, post, send, ticked, token_on
from served_house import TODAY, KeyKind, Served, desk_over, make_key, serving

from cropplan.desk import duties, keys
from cropplan.desk.calendar import KINDS
from cropplan.desk.keeping import backup, restore
from cropplan.desk.plantings import rename
from cropplan.desk.serving import MOST_OCTETS
from tests.calendar_octets.octets import feed_findings, findings_between, read_events
from tests.clients.readers import assert_all_readers_agree


def events_in(body: bytes) -> set[str]:
    """The UIDs of a calendar's events."""
    lines = body.decode().split("\r\n")
    return {line for line in lines if line.startswith("UID:")} - {lines[3]}


def without_date(reply: Reply) -> dict[str, str]:
    """The headers but the moment of sending."""
    return {name: value for name, value in reply.headers.items() if name != "date"}


def test_a_calendar_is_sent_with_the_headers_that_clients_need(looked_at: Served) -> None:
    """Calendar text with its charset (RFC 5545 §3.1.4), inline, private but kept, no CORS."""
    reply = ask(looked_at, looked_at.feed)
    assert reply.status == 200
    assert reply.headers["content-type"] == "text/calendar; charset=utf-8"
    assert reply.headers["content-disposition"] == 'inline; filename="house.ics"'
    assert reply.headers["cache-control"] == "private, no-cache"
    assert reply.headers["vary"] == "Accept-Encoding"
    assert reply.headers["x-content-type-options"] == "nosniff"
    assert reply.headers["referrer-policy"] == "no-referrer"
    assert reply.headers["x-robots-tag"] == "noindex"
    assert int(reply.headers["content-length"]) == len(reply.body) > 10_000
    assert not any(name.startswith("access-control") for name in reply.headers)
    assert "server" not in reply.headers
    assert reply.body.startswith(b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n")
    assert reply.body.endswith(b"END:VCALENDAR\r\n")


def test_an_importer_that_accepts_nothing_in_particular_is_served(looked_at: Served) -> None:
    """Google's importer sends no Accept header (github.com/aaronpk/Meetable/issues/138)."""
    plain = ask(looked_at, looked_at.feed, User_Agent="Google-Calendar-Importer")
    odd = ask(looked_at, looked_at.feed, Accept="image/png")
    assert plain.status == odd.status == 200
    assert plain.body == odd.body


def test_head_has_the_headers_of_get_and_no_body(looked_at: Served) -> None:
    """RFC 9110 §9.3.2, for the calendar and for the page."""
    for path in (looked_at.feed, f"{looked_at.phone}week"):
        got = ask(looked_at, path)
        head = ask(looked_at, path, method="HEAD")
        assert head.body == b""
        assert head.status == got.status == 200
        told = (without_date(got), without_date(head))
        if path == looked_at.feed:
            assert told[0] == told[1]
        else:
            assert told[0].keys() == told[1].keys()
    # An If-None-Match that holds is answered alike too.
    etag = ask(looked_at, looked_at.feed).headers["etag"]
    assert ask(looked_at, looked_at.feed, method="HEAD", If_None_Match=etag).status == 304


def test_an_unchanged_calendar_is_not_sent_again(looked_at: Served) -> None:
    """304 for either validator (RFC 9110 §13.1.2, §13.1.3), without a body, validators kept."""
    first = ask(looked_at, looked_at.feed)
    etag, revised = first.headers["etag"], first.headers["last-modified"]
    assert etag.startswith('"')
    assert len(etag) == 66
    assert parsedate_to_datetime(revised).tzinfo is not None
    same = [
        {"If_None_Match": etag},
        {"If_None_Match": f'"other", {etag}'},
        {"If_None_Match": f"W/{etag}"},
        {"If_None_Match": "*"},
        {"If_Modified_Since": revised},
        {"If_None_Match": etag, "If_Modified_Since": "Sun, 06 Nov 1994 08:49:37 GMT"},
    ]
    for asked in same:
        reply = ask(looked_at, looked_at.feed, **asked)
        assert (reply.status, reply.body) == (304, b""), asked
        assert "content-type" not in reply.headers
        assert reply.headers["etag"] == etag
        assert reply.headers["last-modified"] == revised
        assert reply.headers["cache-control"] == "private, no-cache"
    changed = [
        {"If_None_Match": '"other"'},
        {"If_None_Match": '"other"', "If_Modified_Since": revised},
        {"If_Modified_Since": "Sun, 06 Nov 1994 08:49:37 GMT"},
        {"If_Modified_Since": "no date"},
    ]
    for asked in changed:
        assert ask(looked_at, looked_at.feed, **asked).status == 200, asked


def test_a_polling_client_keeps_its_connection(looked_at: Served) -> None:
    """Two requests on one connection get two whole replies, the 304 ending where it should."""
    etag = ask(looked_at, looked_at.feed).headers["etag"]
    head = f"GET {looked_at.feed} HTTP/1.1\r\nHost: 127.0.0.1:{looked_at.port}\r\n"
    asked = f"{head}If-None-Match: {etag}\r\n\r\n{head}Connection: close\r\n\r\n"
    got = send(looked_at, asked.encode())
    first, rest = got.split(b"\r\n\r\n", 1)
    assert b" 304 " in first
    assert parted(rest).status == 200


@pytest.mark.parametrize(
    ("accepted", "packed"),
    [
        (None, False),
        ("gzip", True),
        ("deflate, gzip;q=0.5", True),
        ("br, deflate", False),
        ("gzip;q=0", False),
        ("gzip;q=0.0, identity", False),
        ("identity", False),
        ("*", False),
    ],
)
def test_gzip_is_sent_only_when_asked_for(
    looked_at: Served, accepted: str | None, packed: bool
) -> None:
    """Its body is the same once unpacked, its validator another, and caches are told (Vary)."""
    plain = ask(looked_at, looked_at.feed)
    wanted = {} if accepted is None else {"Accept_Encoding": accepted}
    reply = ask(looked_at, looked_at.feed, **wanted)
    assert reply.headers["vary"] == "Accept-Encoding"
    assert (reply.headers.get("content-encoding") == "gzip") is packed
    assert int(reply.headers["content-length"]) == len(reply.body)
    if packed:
        assert gzip.decompress(reply.body) == plain.body
        assert len(reply.body) < len(plain.body) / 4
        assert reply.headers["etag"] != plain.headers["etag"]
        again = ask(looked_at, looked_at.feed, If_None_Match=reply.headers["etag"], **wanted)
        assert again.status == 304
    else:
        assert reply.body == plain.body


def test_a_pure_removal_changes_both_validators(served: Served) -> None:
    """The work leaves, nothing comes: ETag and Last-Modified move (sabre-io/dav issue 969)."""
    before = ask(served, served.feed)
    desk = desk_over(served.record)
    with desk.record:
        duties.stop_duty(desk, "o1")
    after = ask(
        served,
        served.feed,
        If_None_Match=before.headers["etag"],
        If_Modified_Since=before.headers["last-modified"],
    )
    assert after.status == 200
    assert events_in(after.body) < events_in(before.body)
    assert b"STATUS:CANCELLED" not in after.body
    old, new = before.headers, after.headers
    assert parsedate_to_datetime(new["last-modified"]) > parsedate_to_datetime(old["last-modified"])
    assert ask(served, served.feed, If_Modified_Since=old["last-modified"]).status == 200


def test_two_changes_within_a_second_are_told_apart(served: Served) -> None:
    """Dates in HTTP have whole seconds (RFC 9110 §8.8.2.2 warns of it); each change has its own."""
    seen = [ask(served, served.feed).headers["last-modified"]]
    page = ask(served, served.phone).text
    for number, handle in enumerate(("o1", "po-tom")):
        assert ticked(served, handle, f"within-a-second-{number}", page).status == 200
        seen.append(ask(served, served.feed).headers["last-modified"])
    moments = [parsedate_to_datetime(one) for one in seen]
    assert moments == sorted(set(moments))


def test_what_was_done_stays_with_a_mark_under_its_old_identity(served: Served) -> None:
    """Done work keeps its UID and moves to the day it was done, so that a phone shows no twin."""
    before = ask(served, served.feed).text
    uid = before.split("SUMMARY:wipe the lamps", 1)[0].rsplit("UID:", 1)[1].split("\r\n")[0]
    assert ticked(served, "o1", "wiped-the-lamps").status == 200
    after = ask(served, served.feed).text
    event = after.split(f"UID:{uid}\r\n", 1)[1].split("END:VEVENT", 1)[0]
    assert "SUMMARY:✓ wipe the lamps\r\n" in event
    assert "DTSTART;VALUE=DATE:20260610\r\n" in event
    assert "by Mina" in event
    assert "STATUS:CONFIRMED" in event


def test_while_the_record_cannot_answer_calendars_are_left_as_they_are(served: Served) -> None:
    """A fault is 503 in plain text, never an empty calendar or a page; then all is as before."""
    good = ask(served, served.feed)
    figures = served.record.with_suffix(".own.toml")
    figures.write_text("this is no figure", encoding="utf-8")
    bad = ask(served, served.feed)
    assert bad.status == 503
    assert bad.headers["content-type"] == "text/plain; charset=utf-8"
    assert bad.headers["retry-after"] == "60"
    assert b"VCALENDAR" not in bad.body
    assert b"<" not in bad.body
    figures.unlink()
    again = ask(served, served.feed, If_None_Match=good.headers["etag"])
    assert again.status == 304


def test_a_record_that_another_program_writes_is_still_read(served: Served) -> None:
    """The journal's write-ahead log lets a poll read while a long write goes on."""
    ask(served, served.feed)
    with sqlite3.connect(served.record, isolation_level=None) as other:
        other.execute("BEGIN IMMEDIATE")
        assert ask(served, served.feed).status == 200
        other.execute("ROLLBACK")


def test_a_restored_record_is_served_without_a_restart(served: Served, tmp_path: Path) -> None:
    """A restore puts another file in the record's place; the server opens that one."""
    copy = tmp_path / "copy.db"
    desk = desk_over(served.record)
    with desk.record:
        backup(desk, copy)
        keys.revoke(desk, "Mina")
    assert ask(served, served.phone).status == 404
    time.sleep(2.5)  # the server lets go of a record that nobody asks for
    restore(copy, served.record)
    assert ask(served, served.phone).status == 200


def test_a_key_for_a_kind_of_work_shows_that_and_nothing_else(served: Served) -> None:
    """A feed of chosen kinds: its events are among the whole feed's, under the same UIDs."""
    some = make_key(served.record, "some work", KeyKind.FEED, works=("pollinating", "solids"))
    whole, part = ask(served, served.feed), ask(served, some)
    assert events_in(part.body) < events_in(whole.body)
    kinds = {line for line in part.text.split("\r\n") if line.startswith("CATEGORIES:")}
    assert kinds == {"CATEGORIES:pollinating", "CATEGORIES:solids"}
    assert "NAME:north: pollinating and solids\r\n" in part.text
    assert part.headers["etag"] != whole.headers["etag"]


def test_a_feed_stays_within_what_phones_take(looked_at: Served) -> None:
    """At most 1,000 events and 512 KiB (roed314/seminars 777; JM-Lemmi/ical-relay 212)."""
    body = ask(looked_at, looked_at.feed).body
    assert len(body) <= MOST_OCTETS
    assert 0 < body.count(b"BEGIN:VEVENT") <= 1000
    events = read_events(body)
    assert max(event.day for event in events) <= TODAY + timedelta(days=120)
    done = [event for event in events if event.summary.startswith("✓")]
    assert all(event.day >= TODAY - timedelta(days=14) for event in done)


def test_the_same_day_told_twice_is_the_same_octets_even_after_a_restart(record: Path) -> None:
    """No moment of sending, no order of chance: what is the same is the same file."""
    with serving(record) as first:
        told = ask(first, first.feed)
    desk = desk_over(record)
    with desk.record:
        for label in ("kitchen wall", "Mina"):
            keys.revoke(desk, label)
    time.sleep(1.1)
    with serving(record) as second:
        again = ask(second, second.feed)
    assert again.body == told.body
    assert again.headers["last-modified"] == told.headers["last-modified"]
    assert again.headers["etag"] == told.headers["etag"]


def test_every_calendar_that_is_served_keeps_the_standards(served: Served) -> None:
    """RFC 5545 and 7986 judged octet by octet: whole, in part, unpacked, and with nothing due."""
    some = make_key(served.record, "solids", KeyKind.FEED, works=("solids",))
    shown = {kind for event in read_events(ask(served, served.feed).body) for kind in event.kinds}
    idle = min(set(KINDS.values()) - shown)
    none = make_key(served.record, "nothing", KeyKind.FEED, works=(idle,))
    bodies = [ask(served, path).body for path in (served.feed, some, none)]
    bodies.append(gzip.decompress(ask(served, served.feed, Accept_Encoding="gzip").body))
    for body in bodies:
        assert feed_findings(body) == []
    assert len(read_events(bodies[0])) > len(read_events(bodies[1])) > 0
    assert [event.summary for event in read_events(bodies[2])] == ["Nothing falls due"]


def test_what_a_day_of_work_changes_breaks_no_promise(served: Served) -> None:
    """From poll to poll: UIDs stay, SEQUENCE never falls, stamps rise with what changed."""
    polls = [ask(served, served.feed).body]
    page = ask(served, served.phone).text
    for number, handle in enumerate(("po-tom", "o2")):
        assert ticked(served, handle, f"a-day-of-work-{number}", page).status == 200
        polls.append(ask(served, served.feed).body)
    undo = [("form", token_on(page)), ("tick", "undo-of-a-day"), ("what", "undo")]
    post(served, f"{served.phone}answer", [*undo, ("undo", "a-day-of-work-0")])
    polls.append(ask(served, served.feed).body)
    desk = desk_over(served.record)
    with desk.record:
        duties.stop_duty(desk, "o3")
        duties.set_duty(desk, "pollinate", every_days=3)
    polls.append(ask(served, served.feed).body)
    assert len(set(polls)) == len(polls)
    for before, after in pairwise(polls):
        assert findings_between(before, after) == []


def test_identities_outlive_a_copy_of_the_record_and_a_new_name(
    record: Path, tmp_path: Path
) -> None:
    """UIDs come from the record and the task alone (RFC 5545 §3.8.4.7): no path, host or name."""
    with serving(record) as running:
        before = {event.uid for event in read_events(ask(running, running.feed).body)}
        host = running.host
    desk = desk_over(record)
    moved = tmp_path / "elsewhere" / "copy.db"
    moved.parent.mkdir()
    with desk.record:
        rename(desk, "tom1", "Harbour Red", chain=True, new_cultivar=True)
        backup(desk, moved)
        for label in ("kitchen wall", "Mina"):
            keys.revoke(desk, label)
    desk = desk_over(moved)
    with desk.record:
        for label in ("kitchen wall", "Mina"):
            keys.revoke(desk, label)
    with serving(moved) as running:
        after = {event.uid for event in read_events(ask(running, running.feed).body)}
    assert after == before
    assert not [uid for uid in after if host in uid or "@" in uid]


def test_every_reader_sees_the_served_days_alike(looked_at: Served) -> None:
    """Programs of other people agree on UID, day and words of what is served."""
    path = make_key(looked_at.record, "fewer events", KeyKind.FEED, works=("pollinating",))
    body = ask(looked_at, path).body
    lines = [(event.uid, event.day, event.summary) for event in read_events(body)]
    assert_all_readers_agree(body, lines)


def test_a_served_calendar_holds_neither_alarms_to_dos_nor_its_own_address(
    looked_at: Served,
) -> None:
    """Nothing that clients of a subscription misread, and no secret in a file that is passed on."""
    text = ask(looked_at, looked_at.feed).text
    unfolded = text.replace("\r\n ", "")
    for never in ("VALARM", "VTODO", "METHOD", "RRULE", "VTIMEZONE", "TZID", "SOURCE", "http"):
        assert never not in unfolded
    assert not [secret for secret in looked_at.secrets if secret in unfolded]
