"""The calendar over real HTTP while the record changes, is busy, spoilt, restored or copied."""

from __future__ import annotations

import sqlite3
import time
from email.utils import parsedate_to_datetime
from itertools import pairwise
from pathlib import Path

from raw_http import ask, events_in, post, ticked, token_on
from served_house import Served, desk_over, serving

from cropplan.desk import duties, keys
from cropplan.desk.keeping import backup, restore
from cropplan.desk.plantings import rename
from tests.calendar_octets.octets import findings_between, read_events


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
