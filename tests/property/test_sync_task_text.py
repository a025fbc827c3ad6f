"""Tasks as text: any words come back, anything a phone adds stays, anything read is survived."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime

from hypothesis import given
from hypothesis import strategies as st

from cropplan.holding.notice import Notice
from cropplan.holding.synced import Mark
from cropplan.ics import todo
from cropplan.ics.text import one_line
from cropplan.problems import BadData
from tests.calendar_octets.octets import standard_findings

AT = datetime(2026, 3, 5, 7, 30, tzinfo=UTC)
UID = "5d0c2f0e-93c6-4d0b-8d4c-6c0b3f9f1a77"
WORDS = st.text(max_size=120)
KEYS = st.lists(st.text("abc/:;,\\ é-\n", min_size=1, max_size=90), min_size=1, max_size=3)
DAYS = st.dates(date(2020, 1, 1), date(2060, 12, 31))
MOMENTS = st.datetimes(datetime(2020, 1, 1), datetime(2060, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001 - bounds are naive, values are not
NOTICES = st.builds(
    Notice,
    key=st.just("k"),
    day=DAYS,
    summary=WORDS,
    text=WORDS,
    kinds=st.lists(WORDS, max_size=2).map(tuple),
    tentative=st.booleans(),
)
#: Lines that a phone may add: a name that is none of ours, any value that is legal on a line.
VALUES = st.text(st.characters(blacklist_categories=["Cc", "Cs", "Zl", "Zp"]), max_size=150)
ADDED = st.builds(
    lambda name, value: f"X-{name}:{value}", st.text("ABCDEFGH-", min_size=1, max_size=12), VALUES
).filter(lambda line: not line.startswith(todo.KEY))


def unfolded(content: bytes) -> list[str]:
    """The lines, by splitting at CRLF only."""
    return re.sub(b"\r\n[ \t]", b"", content).decode().split("\r\n")


@given(notice=NOTICES, keys=KEYS, done=st.none() | MOMENTS)
def test_whatever_the_words_the_task_is_legal_and_comes_back(
    notice: Notice, keys: list[str], done: datetime | None
) -> None:
    """Written, judged octet by octet, read: the same UID, turns, summary and state."""
    content = todo.new(notice, uid=UID, keys=keys, at=AT)
    if done is not None:
        content = todo.revised(content, notice, keys=keys, done=done, at=AT)
    assert standard_findings(content) == []
    copy = todo.read(content, "Europe/London")
    assert (copy.uid, copy.keys) == (UID, tuple(keys))
    assert copy.summary == one_line(notice.summary)
    assert copy.mark is (Mark.OPEN if done is None else Mark.DONE)
    assert copy.stamp == (done and done.replace(microsecond=0))


@given(notice=NOTICES, again=NOTICES, added=st.lists(ADDED, max_size=4), done=st.none() | MOMENTS)
def test_whatever_a_phone_adds_stays_when_the_task_is_told_anew(
    notice: Notice, again: Notice, added: list[str], done: datetime | None
) -> None:
    """Every line that is not ours is there to the letter, in its order."""
    content = todo.new(notice, uid=UID, keys=["k"], at=AT).decode()
    theirs = content.replace("END:VTODO", "".join(f"{line}\r\n" for line in added) + "END:VTODO")
    told = todo.revised(theirs.encode(), again, keys=["k"], done=done, at=AT)
    kept = [line for line in unfolded(told) if line.startswith("X-") and todo.KEY not in line]
    assert kept == added


@given(notice=NOTICES)
def test_telling_the_same_again_changes_nothing_but_where_it_stands(notice: Notice) -> None:
    """Twice is as once: the same lines, the same SEQUENCE."""
    once = todo.revised(
        todo.new(notice, uid=UID, keys=["k"], at=AT), notice, keys=["k"], done=None, at=AT
    )
    assert todo.revised(once, notice, keys=["k"], done=None, at=AT) == once
    assert b"SEQUENCE:0\r\n" in once


LINES = st.lists(
    st.sampled_from(
        [
            "BEGIN:VCALENDAR",
            "END:VCALENDAR",
            "BEGIN:VTODO",
            "END:VTODO",
            "BEGIN:VALARM",
            "END:VALARM",
            "END",
            "BEGIN:",
            "UID:1",
            "STATUS:COMPLETED",
            "COMPLETED:20260230T250000Z",
            "COMPLETED:20260305",
            "COMPLETED;TZID=:20260305T010000",
            "LAST-MODIFIED:x",
            "RECURRENCE-ID:1",
            "SEQUENCE:-",
            " fold",
            ":",
            "",
        ]
    )
    | st.text(max_size=20),
    max_size=14,
)


@given(lines=LINES, raw=st.binary(max_size=60))
def test_whatever_a_server_gives_is_read_or_refused_in_one_line(
    lines: list[str], raw: bytes
) -> None:
    """No copy, however broken, stops a run."""
    text = "\r\n".join(lines).encode("utf-8", "replace")
    for content in (text, raw, text + raw):
        copy = read_or_fault(content)
        if isinstance(copy, str):
            assert "\n" not in copy
        else:
            assert copy.uid
            told = todo.revised(content, None, keys=["k"], done=AT, at=AT)
            assert todo.read(told, "Europe/London").mark is Mark.DONE


def read_or_fault(content: bytes) -> todo.Copy | str:
    """What a copy says, or why it cannot be read."""
    try:
        return todo.read(content, "Europe/London")
    except BadData as fault:
        return str(fault)
