"""The reader that unrolls repeats, and the judge of rules, against the days RFC 5545 prints."""

from __future__ import annotations

from datetime import date, datetime

import pytest
import recurring_ical_events  # type: ignore[import-untyped]
from icalendar import Calendar

from tests.calendar_octets.octets import standard_findings
from tests.published.ics_printed_objects import NEW_YORK, in_a_calendar

RECURRENCES = [
    ("19970902", "FREQ=DAILY;COUNT=10", "9/2 9/3 9/4 9/5 9/6 9/7 9/8 9/9 9/10 9/11"),
    ("19970902", "FREQ=DAILY;INTERVAL=10;COUNT=5", "9/2 9/12 9/22 10/2 10/12"),
    (
        "19970902",
        "FREQ=WEEKLY;COUNT=10",
        "9/2 9/9 9/16 9/23 9/30 10/7 10/14 10/21 10/28 11/4",
    ),
    (
        "19970902",
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "9/2 9/16 9/30 10/14 10/28 11/11 11/25 12/9 12/23",
    ),
    (
        "19970902",
        "FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH",
        "9/2 9/4 9/9 9/11 9/16 9/18 9/23 9/25 9/30 10/2",
    ),
    (
        "19970901",
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR",
        (
            "9/1 9/3 9/5 9/15 9/17 9/19 9/29 10/1 10/3 10/13 10/15 10/17 10/27 10/29 10/31"
            " 11/10 11/12 11/14 11/24 11/26 11/28 12/8 12/10 12/12 12/22"
        ),
    ),
    ("19970905", "FREQ=MONTHLY;UNTIL=19971224T000000Z;BYDAY=1FR", "9/5 10/3 11/7 12/5"),
    ("19970928", "FREQ=MONTHLY;BYMONTHDAY=-3", "9/28 10/29 11/28 12/29"),
    (
        "19970902",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
        "9/2 9/15 10/2 10/15 11/2 11/15 12/2 12/15",
    ),
]


@pytest.mark.parametrize(("start", "rule", "days"), RECURRENCES)
def test_the_reader_that_unrolls_repeats_agrees_with_the_page(
    start: str, rule: str, days: str
) -> None:
    """RFC 5545 §3.8.5.3, the days printed for 1997, all at 9 in New York; the judge passes them."""
    event = (
        "BEGIN:VEVENT\nUID:1@example.com\nDTSTAMP:19970101T000000Z\n"
        f"DTSTART;TZID=America/New_York:{start}T090000\nRRULE:{rule}\nEND:VEVENT\n"
    )
    octets = in_a_calendar(NEW_YORK, event)
    assert standard_findings(octets) == []
    unrolled = recurring_ical_events.of(Calendar.from_ical(octets)).between(
        date(1997, 1, 1), date(1998, 1, 1)
    )
    seen: list[datetime] = sorted(each["DTSTART"].dt for each in unrolled)
    assert [f"{at.month}/{at.day}" for at in seen] == days.split()
    assert {at.hour for at in seen} == {9}
