"""Tasks as a server holds them: what is written, what is read, what a phone adds and keeps."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest
import vobject

from cropplan.holding.notice import Notice
from cropplan.holding.synced import Mark
from cropplan.ics import todo
from cropplan.ics.published import compare
from cropplan.problems import BadData
from tests.calendar_octets.octets import standard_findings

ZONE = "Europe/London"
NAMESPACE = UUID("5d0c2f0e-93c6-4d0b-8d4c-6c0b3f9f1a77")
AT = datetime(2026, 3, 5, 7, 30, tzinfo=UTC)
LATER = AT + timedelta(hours=2)
KEYS = ("pick/planting:tom1/3", "pick/planting:tom2/1")
NOTICE = Notice(
    key=KEYS[0],
    day=date(2026, 3, 6),
    summary="Pick tomatoes: B1, B2; before noon",
    text="Plants: tom1, tom2\nWhy: every 3 days, reckoned from Tuesday when they were last picked",
    kinds=("picking",),
    tentative=False,
)
UID = todo.uid_of(NAMESPACE, NOTICE.key)


def sent() -> bytes:
    """A task as it is first sent."""
    return todo.new(NOTICE, uid=UID, keys=KEYS, at=AT)


def lines_of(content: bytes) -> list[str]:
    """The unfolded lines."""
    return re.sub("\r\n[ \t]", "", content.decode()).split("\r\n")


def with_line(content: bytes, *lines: str, without: str = "") -> bytes:
    """The copy with lines of a phone's own, and without those that begin so."""
    kept = [line for line in lines_of(content) if not (without and line.startswith(without))]
    at = kept.index("END:VTODO")
    return "\r\n".join([*kept[:at], *lines, *kept[at:]]).encode()


def test_a_task_sent_has_the_uid_of_its_event_in_the_feed() -> None:
    """One thing to a phone that shows both; RFC 7986 §5.3 asks for a UUID, with no host in it."""
    ((_, told),) = compare([NOTICE], {}, AT, NAMESPACE).live
    assert told.uid == UID
    assert str(UUID(UID)) == UID


def test_a_task_sent_breaks_no_rule_of_the_standard() -> None:
    """Judged octet by octet by the tests' own reading of RFC 5545, and by vobject."""
    for content in (
        sent(),
        todo.revised(sent(), NOTICE, keys=KEYS, done=LATER, at=LATER),
        todo.revised(sent(), None, keys=KEYS, done=LATER, at=LATER),
    ):
        assert standard_findings(content) == []
        vobject.readOne(content.decode()).vtodo.validate(raiseException=True)


def test_a_task_is_due_on_a_day_and_begins_on_none() -> None:
    """RFC 5545 §3.8.2.3: DUE must be later than DTSTART, so work of one day has no DTSTART."""
    lines = lines_of(sent())
    assert "DUE;VALUE=DATE:20260306" in lines
    assert not [line for line in lines if line.startswith(("DTSTART", "RRULE", "METHOD"))]


def test_a_finished_task_says_so_in_all_three_ways() -> None:
    """RFC 5545 §3.8.2.1: COMPLETED in UTC; programs differ in which of the three they read."""
    lines = lines_of(todo.revised(sent(), NOTICE, keys=KEYS, done=LATER, at=LATER))
    assert {"STATUS:COMPLETED", "COMPLETED:20260305T093000Z", "PERCENT-COMPLETE:100"} <= {*lines}


@pytest.mark.parametrize(
    ("added", "stamp", "day"),
    [
        (("STATUS:COMPLETED",), None, None),
        (("PERCENT-COMPLETE:100",), None, None),
        (("COMPLETED:20260305T061500Z",), datetime(2026, 3, 5, 6, 15, tzinfo=UTC), None),
        (
            ("status:completed", "completed:20260305T061500z"),
            datetime(2026, 3, 5, 6, 15, tzinfo=UTC),
            None,
        ),
        (
            ("STATUS:COMPLETED", "COMPLETED;TZID=America/New_York:20260305T011500"),
            datetime(2026, 3, 5, 6, 15, tzinfo=UTC),
            None,
        ),
        (("COMPLETED:20260705T061500",), datetime(2026, 7, 5, 5, 15, tzinfo=UTC), None),
        (
            ("COMPLETED;TZID=Nowhere/Here:20260305T061500",),
            datetime(2026, 3, 5, 6, 15, tzinfo=UTC),
            None,
        ),
        (("COMPLETED;VALUE=DATE:20260305",), None, date(2026, 3, 5)),
        (("COMPLETED:yesterday",), None, None),
    ],
)
def test_a_tick_is_read_in_whichever_way_a_phone_writes_it(
    added: tuple[str, ...], stamp: datetime | None, day: date | None
) -> None:
    """Checklist row 40: STATUS, COMPLETED or PERCENT-COMPLETE; a time of no zone is the house's."""
    bare = with_line(sent(), without="STATUS")
    copy = todo.read(with_line(bare, *added, without="PERCENT"), ZONE)
    assert (copy.mark, copy.stamp, copy.day) == (Mark.DONE, stamp, day)


@pytest.mark.parametrize(
    ("status", "mark"),
    [
        ("STATUS:NEEDS-ACTION", Mark.OPEN),
        ("STATUS:IN-PROCESS", Mark.OPEN),
        ("STATUS:CANCELLED", Mark.CANCELLED),
        ("X-STATUS:COMPLETED", Mark.OPEN),
        ("PERCENT-COMPLETE:99", Mark.OPEN),
    ],
)
def test_what_is_not_finished_is_not_taken_as_done(status: str, mark: Mark) -> None:
    """RFC 5545 §3.8.1.11 knows four words for a task; one of them means done."""
    bare = with_line(sent(), without="STATUS")
    assert todo.read(with_line(bare, status, without="PERCENT"), ZONE).mark is mark


def test_a_copy_gives_back_what_it_was_told() -> None:
    """UID, the turns it stands for, when it was made, what it is called."""
    copy = todo.read(sent(), ZONE)
    assert (copy.uid, copy.keys, copy.mark) == (UID, KEYS, Mark.OPEN)
    assert (copy.created, copy.modified) == (AT, AT)
    assert copy.summary == NOTICE.summary


def test_a_tick_written_as_a_second_component_counts() -> None:
    """Some programs finish a task that way, under the same UID (RFC 5545 §3.8.4.4)."""
    twin = (
        f"BEGIN:VTODO\r\nUID:{UID}\r\nRECURRENCE-ID;VALUE=DATE:20260306\r\n"
        "STATUS:COMPLETED\r\nEND:VTODO\r\n"
    )
    content = sent().replace(b"END:VCALENDAR", f"{twin}END:VCALENDAR".encode())
    assert todo.read(content, ZONE).mark is Mark.DONE
    told = todo.revised(content, NOTICE, keys=KEYS, done=None, at=LATER)
    assert told.count(b"BEGIN:VTODO") == 1
    assert todo.read(told, ZONE).mark is Mark.OPEN


ADDED = (
    "X-APPLE-SORT-ORDER:694224000",
    'X-PHONE;X-NOTE="a;b:c, d":value\\, with\\; escapes and no fold at all, however long it gets',
    "PRIORITY:1",
    "RELATED-TO:5FC53010-1267-4F8E-BC28-1D7AE55A7C99",
    "BEGIN:VALARM",
    "ACTION:DISPLAY",
    "TRIGGER;RELATED=END:PT8H",
    "DESCRIPTION:ring at eight",
    "X-SUMMARY:an alarm's own",
    "END:VALARM",
)


def test_what_a_phone_added_is_kept_to_the_octet_when_the_task_is_told_anew() -> None:
    """Checklist row 40: unknown properties and alarms survive, and nothing of an alarm is taken
    for the task's own."""
    told = todo.revised(with_line(sent(), *ADDED), NOTICE, keys=KEYS, done=None, at=LATER)
    lines = lines_of(told)
    kept = [line for line in lines if line in ADDED]
    assert kept == list(ADDED)
    assert standard_findings(told) == []


def test_a_phones_own_kinds_stand_beside_ours() -> None:
    """A tag that somebody gave a task is not ours to take away."""
    copy = with_line(sent(), "CATEGORIES:wet hands\\, cold,picking", without="CATEGORIES")
    told = lines_of(todo.revised(copy, NOTICE, keys=KEYS, done=None, at=LATER))
    assert "CATEGORIES:picking,wet hands\\, cold" in told


@pytest.mark.parametrize(
    ("line", "stays"),
    [
        ("DTSTART;VALUE=DATE:20260301", True),
        ("DTSTART;VALUE=DATE:20260306", False),
        ("DTSTART:20260301T080000Z", False),
        ("RRULE:FREQ=DAILY", False),
        ("DURATION:P1D", False),
    ],
)
def test_what_cannot_stand_beside_our_due_day_goes(line: str, stays: bool) -> None:
    """RFC 5545 §3.6.2, §3.8.2.3: one type, DUE the later, no DURATION; and no turn repeats."""
    told = todo.revised(with_line(sent(), line), NOTICE, keys=KEYS, done=None, at=LATER)
    assert (line in lines_of(told)) == stays
    assert standard_findings(told) == []


@pytest.mark.parametrize(
    ("day", "summary", "done", "raised"),
    [
        (NOTICE.day, "Pick tomatoes: B1", None, 0),
        (date(2026, 3, 8), NOTICE.summary, None, 1),
        (NOTICE.day, NOTICE.summary, LATER, 1),
    ],
)
def test_sequence_rises_with_the_day_and_the_status_but_not_with_words(
    day: date, summary: str, done: datetime | None, raised: int
) -> None:
    """RFC 5545 §3.8.7.4 with RFC 5546 §2.1.4; counted from what a phone has raised it to."""
    copy = sent().replace(b"SEQUENCE:0", b"SEQUENCE:4")
    notice = Notice(
        key=NOTICE.key,
        day=day,
        summary=summary,
        text=NOTICE.text,
        kinds=NOTICE.kinds,
        tentative=False,
    )
    told = lines_of(todo.revised(copy, notice, keys=KEYS, done=done, at=LATER))
    assert f"SEQUENCE:{4 + raised}" in told


def test_a_task_shown_as_done_keeps_the_words_it_was_known_by() -> None:
    """Its line is gone from the rounds, so there are no new ones."""
    told = lines_of(todo.revised(sent(), None, keys=KEYS, done=LATER, at=LATER))
    before = lines_of(sent())
    for name in ("SUMMARY", "DESCRIPTION", "DUE", "CATEGORIES"):
        (line,) = [line for line in before if line.startswith(name)]
        assert line in told


def test_an_untick_leaves_no_trace_of_the_tick() -> None:
    """STATUS back, COMPLETED gone, nothing done of a hundred."""
    done = todo.revised(sent(), NOTICE, keys=KEYS, done=LATER, at=LATER)
    again = lines_of(todo.revised(done, NOTICE, keys=KEYS, done=None, at=LATER))
    assert "STATUS:NEEDS-ACTION" in again
    assert not [line for line in again if line.startswith("COMPLETED")]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"hello",
        b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:1\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        b"BEGIN:VCALENDAR\r\nBEGIN:VTODO\r\nSUMMARY:no identity\r\nEND:VTODO\r\nEND:VCALENDAR",
        b"BEGIN:VCALENDAR\r\nBEGIN:VTODO\r\nUID:1\r\nSUMMARY:cut off",
        b"\xff\xfe\x00",
    ],
)
def test_what_is_no_task_is_said_to_be_none(content: bytes) -> None:
    """One bad resource is told of by name, and never stops the others."""
    with pytest.raises(BadData, match="it"):
        todo.read(content, ZONE)
    if b"VTODO" not in content:
        with pytest.raises(BadData, match="no task"):
            todo.revised(content, NOTICE, keys=KEYS, done=None, at=LATER)


def test_a_copy_with_bare_line_feeds_and_folds_inside_a_letter_is_read() -> None:
    """RFC 5545 §3.1: implementations have folded in the middle of a UTF-8 sequence."""
    name = "Gießen".encode()
    cut = name.index(b"\xc3") + 1
    folded = name[:cut] + b"\n " + name[cut:]
    content = sent().replace(b"\r\n", b"\n").replace(b"SUMMARY:Pick", b"SUMMARY:" + folded)
    assert todo.read(content, ZONE).summary.startswith("Gießen tomatoes")
