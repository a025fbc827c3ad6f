"""The calendar writer and its judge against what the standards print.

RFC 5545 (Desruisseaux 2009), RFC 7986 (Daboo 2016), RFC 9074 (Daboo and Murchison 2021).
"""

from __future__ import annotations

from datetime import date

import pytest

from cropplan.ics.text import escaped
from tests.calendar_octets.content import read
from tests.calendar_octets.octets import feed_findings, standard_findings
from tests.calendar_octets.values import a_date, a_duration, a_moment, unescaped
from tests.published.ics_printed_objects import (
    BUSY_TIME,
    CONFERENCE,
    INTEROPERABILITY,
    JOURNAL,
    MEETING,
    MINIMAL,
    NEW_YORK,
    SNOOZED,
    TAXES,
    TO_DO_DONE,
    TO_DO_DUE,
    in_a_calendar,
    printed,
)


@pytest.mark.parametrize(
    "calendar", [MINIMAL, CONFERENCE, MEETING, INTEROPERABILITY, JOURNAL, BUSY_TIME]
)
def test_the_judge_passes_the_calendars_the_standard_prints(calendar: str) -> None:
    """RFC 5545 §3.4 and §4: an object printed as an example is no breach of the rules."""
    assert standard_findings(printed(calendar)) == []


def test_the_judge_finds_the_slip_in_the_printed_alarm() -> None:
    """RFC 5545 §4, to-do with an alarm: §3.8.6.3 requires VALUE=DATE-TIME on that TRIGGER."""
    (found,) = standard_findings(printed(TAXES))
    assert (found.line, found.section) == (15, "RFC 5545 §3.8.6.3")
    put_right = TAXES.replace("TRIGGER:", "TRIGGER;VALUE=DATE-TIME:")
    assert standard_findings(printed(put_right)) == []


@pytest.mark.parametrize("to_do", [TO_DO_DUE, TO_DO_DONE])
def test_the_judge_passes_the_printed_to_dos(to_do: str) -> None:
    """RFC 5545 §3.6.2: due on a DATE, and completed before its time."""
    assert standard_findings(in_a_calendar(to_do)) == []


def test_the_judge_passes_the_printed_snooze() -> None:
    """RFC 9074 §7.2: two alarms with UIDs, both acknowledged; the time zone is RFC 5545 §4's."""
    assert standard_findings(in_a_calendar(NEW_YORK, SNOOZED)) == []


def test_a_feed_may_not_be_what_the_older_standard_printed() -> None:
    """RFC 7986 §5.3 updates RFC 5545: a UID holds no domain, as the printed one does."""
    sections = {found.section for found in feed_findings(printed(MINIMAL))}
    assert {"RFC 7986 §5.3", "RFC 7986 §5.4", "RFC 7986 §5.7"} <= sections


def test_the_printed_fold_is_one_line() -> None:
    """RFC 5545 §3.1, the DESCRIPTION printed on three lines."""
    folded = "DESCRIPTION:This is a lo\n ng description\n  that exists on a long line.\n"
    component = read(in_a_calendar("BEGIN:VEVENT\n" + folded + "END:VEVENT\n")).calendars[0]
    line = component.children[0].first("DESCRIPTION")
    assert line is not None
    assert line.value == "This is a long description that exists on a long line."


def test_the_printed_text_is_escaped_and_unescaped() -> None:
    r"""RFC 5545 §3.3.11: three lines become one with `\n`; writer and judge agree with the page."""
    lines = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    page = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert escaped(lines) == page
    assert unescaped(page) == lines


def test_the_printed_conference_reads_as_meant() -> None:
    """RFC 5545 §4, first calendar: a fold, two breaks and an escaped comma in one text."""
    line = read(printed(CONFERENCE)).calendars[0].children[0].first("DESCRIPTION")
    assert line is not None
    assert unescaped(line.value) == (
        "Networld+Interop Conference and Exhibit\nAtlanta World Congress Center\nAtlanta, Georgia"
    )


def test_printed_values_are_read_as_the_page_says() -> None:
    """RFC 5545 §3.3.4 (14 July 1997), §3.3.5 (19 January 1998, 07:00 UTC), §3.3.6 (two lengths)."""
    assert a_date("19970714") == date(1997, 7, 14)
    moment = a_moment("19980119T070000Z")
    assert moment is not None
    assert (moment.at.isoformat(), moment.utc) == ("1998-01-19T07:00:00", True)
    length, weeks = a_duration("P15DT5H0M20S"), a_duration("P7W")
    assert length is not None
    assert weeks is not None
    assert length.total_seconds() == ((15 * 24 + 5) * 60 * 60) + 20
    assert weeks.days == 49


@pytest.mark.parametrize(
    "line",
    [
        "UID:5FC53010-1267-4F8E-BC28-1D7AE55A7C99",
        "NAME:Company Vacation Days",
        "REFRESH-INTERVAL;VALUE=DURATION:P1W",
        "SOURCE;VALUE=URI:https://example.com/holidays.ics",
        "COLOR:turquoise",
    ],
)
def test_the_judge_passes_the_printed_calendar_properties(line: str) -> None:
    """RFC 7986 §5.3, §5.1, §5.7, §5.8 and §5.9, each in the minimal object of RFC 5545 §3.4."""
    calendar = MINIMAL.replace("VERSION:2.0\n", f"VERSION:2.0\n{line}\n")
    assert standard_findings(printed(calendar)) == []
