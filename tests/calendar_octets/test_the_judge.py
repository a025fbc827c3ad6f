"""The judge of calendar files is itself tried: clean files pass, every broken one is caught."""

from __future__ import annotations

import pytest

from tests.calendar_octets.breaking import Broken, break_in
from tests.calendar_octets.broken_frames import LINES, NESTING, PRESENCE
from tests.calendar_octets.broken_promises import FEED_ONLY, TO_DOS
from tests.calendar_octets.broken_values import RULES, TIES, VALUES
from tests.calendar_octets.octets import (
    feed_findings,
    findings_between,
    read_events,
    standard_findings,
)
from tests.calendar_octets.samples import FEED, TO_DO, file_of

BROKEN_FEEDS = [*LINES, *NESTING, *PRESENCE, *VALUES, *TIES, *RULES, *FEED_ONLY]


def test_the_clean_feed_has_no_finding() -> None:
    """A judge that cries at a good file proves nothing (RFC 5545, RFC 7986)."""
    assert feed_findings(file_of(FEED)) == []


def test_the_clean_to_do_has_no_finding() -> None:
    """A to-do of RFC 5545 §3.6.2 passes the standard, though not the feed's rules."""
    assert standard_findings(file_of(TO_DO)) == []
    assert feed_findings(file_of(TO_DO)) != []


@pytest.mark.parametrize("case", BROKEN_FEEDS, ids=lambda case: case.what)
def test_each_broken_feed_is_caught_by_the_rule_it_breaks(case: Broken) -> None:
    """One fault at a time; the finding names the rule's section and what is wrong."""
    found = feed_findings(break_in(file_of(FEED), case))
    assert [f for f in found if case.section in f.section and case.says in f.message], found


@pytest.mark.parametrize("case", TO_DOS, ids=lambda case: case.what)
def test_each_broken_to_do_is_caught_by_the_rule_it_breaks(case: Broken) -> None:
    """RFC 5545 §3.6.2 and the properties it names, one fault at a time."""
    found = standard_findings(break_in(file_of(TO_DO), case))
    assert [f for f in found if case.section in f.section and case.says in f.message], found


def test_a_finding_names_the_physical_line() -> None:
    """The line is the one an editor shows, also after a folded line."""
    lines = file_of(FEED).split(b"\r\n")
    at = lines.index(b"CATEGORIES:cuttings,trays\\, small")
    lines[at] = b"CATEGORIES:a;b"
    (found,) = feed_findings(b"\r\n".join(lines))
    assert found.line == at + 1
    assert str(found) == f"line {at + 1}: CATEGORIES holds a bare ';' (RFC 5545 §3.3.11)"


OPTIONAL = (
    b"COLOR:", b"CREATED:", b"DESCRIPTION:From", b"  March.", b"CATEGORIES:", b"RRULE:", b"EXDATE;",
    b"RDATE;",
    b"UID:3b1e54c2-6f2a-5d0f-8a2a-5d1f6d0e9b0a",
)  # fmt: skip


@pytest.mark.parametrize("at", range(len(file_of(FEED).splitlines())))
def test_no_line_of_the_feed_can_be_lost_unseen(at: int) -> None:
    """Every line but the optional ones is needed, so its loss is a finding."""
    lines = file_of(FEED).splitlines(keepends=True)
    lost = lines.pop(at)
    found = feed_findings(b"".join(lines))
    assert bool(found) != lost.startswith(OPTIONAL), (lost, found)


@pytest.mark.parametrize("octets", [b"", b"\r\n", b"\xff\xfe", b"<html>\r\n</html>\r\n"])
def test_what_is_no_calendar_is_said_to_be_none(octets: bytes) -> None:
    """RFC 5545 §3.4: a file without a calendar, such as an error page, is never a clean feed."""
    assert any("without a calendar" in found.message for found in feed_findings(octets))


def test_an_empty_calendar_is_caught() -> None:
    """RFC 5545 §3.6: at least one component."""
    empty = FEED[: FEED.index("BEGIN:VTIMEZONE")] + "END:VCALENDAR\n"
    assert any("without a component" in found.message for found in feed_findings(file_of(empty)))


def test_the_judge_reads_what_a_person_would() -> None:
    """RFC 5545 §3.1 and §3.3.11: unfolded, then unescaped; the end of a day is the next day."""
    first = read_events(file_of(FEED))[0]
    assert first.summary == "Strike twelve cuttings; trays C1, C2 🍅"
    assert first.text == "From the tops of B3: no flower on them.\nSpan 26 February to 4 March."
    assert first.kinds == ("cuttings", "trays, small")
    assert (first.day.isoformat(), first.end.isoformat()) == ("2028-02-29", "2028-03-01")


LATER = "LAST-MODIFIED:20270401T060000Z\nNAME"
SUCCESSIONS = [
    ("SEQUENCE falls", "SEQUENCE:2", "SEQUENCE:1", "3.8.7.4"),
    ("a new day without a number", "VALUE=DATE:20280229\nDTEND;VALUE=DATE:20280301",
     "VALUE=DATE:20280301\nDTEND;VALUE=DATE:20280302", "2.1.4"),
    ("a new STATUS without a number", "STATUS:TENTATIVE", "STATUS:CONFIRMED", "2.1.4"),
    ("a new title without a stamp", "SUMMARY:Test the water", "SUMMARY:Test it", "3.8.7.3"),
    ("another CREATED", "CREATED:20270220T060000Z", "CREATED:20270219T060000Z", "3.8.7.1"),
    ("stamps that moved for nothing", "DTSTAMP:20270305T060000Z\nLAST-MODIFIED:20270305T060000Z",
     "DTSTAMP:20270306T060000Z\nLAST-MODIFIED:20270306T060000Z", "3.8.7.2"),
    ("another calendar UID", "UID:0f8c1f52", "UID:1f8c1f52", "5.3"),
]  # fmt: skip


@pytest.mark.parametrize(("what", "old", "new", "section"), SUCCESSIONS)
def test_a_broken_promise_between_two_files_is_caught(
    what: str, old: str, new: str, section: str
) -> None:
    """What may not change from one file of a feed to the next (RFC 5545, 5546 and 7986)."""
    later = FEED.replace("LAST-MODIFIED:20270301T060000Z\nNAME", LATER, 1)
    assert old in later, what
    found = findings_between(file_of(FEED), file_of(later.replace(old, new, 1)))
    assert [f for f in found if f.section.endswith(f"§{section}")], found


def test_a_removal_that_leaves_the_calendar_unrevised_is_caught() -> None:
    """RFC 7986 §5.4: the calendar's own LAST-MODIFIED moves when an event only goes."""
    shorter = FEED[: FEED.rindex("BEGIN:VEVENT")] + "END:VCALENDAR\n"
    (found,) = findings_between(file_of(FEED), file_of(shorter))
    assert found.section == "RFC 7986 §5.4"


def test_an_unchanged_feed_breaks_no_promise() -> None:
    """The same file again is the ordinary answer to a poll."""
    assert findings_between(file_of(FEED), file_of(FEED)) == []
