"""The written calendar, octet by octet."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID

import pytest

from cropplan.holding.notice import Notice
from cropplan.ics.ical import render
from cropplan.ics.published import compare
from tests.calendar_octets.octets import (
    calendar_value,
    feed_findings,
    findings_between,
    read_events,
)

RECORD = UUID("5d0c2f0e-93c6-4d0b-8d4c-6c0b3f9f1a77")
CALENDAR = UUID("a2b7d7cf-3f0e-4b52-9a9f-6f6f2f5a1b11")
NOW = datetime(2027, 3, 1, 6, 30, 15, tzinfo=UTC)
CUTTINGS = Notice(
    key="strike/planting:tom7/2",
    day=date(2027, 3, 10),
    summary="Strike 12 cuttings; trays C1, C2",
    text="From the tops of B3: none with a flower, none that is woody, all as long as a hand.\n"
    "Span 8 to 14 March.",
    kinds=("tomato", "cuttings, tops"),
    tentative=True,
)
DRAIN = Notice(
    key="drain/loop:pond/40",
    day=date(2027, 12, 31),
    summary="Drain the solids",
    text="",
    kinds=(),
    tentative=False,
)


def written(*notices: Notice, now: datetime = NOW, revised: datetime = NOW) -> bytes:
    """The file of these notices, published for the first time."""
    live = compare(notices, {}, now, RECORD).live
    return render(live, name="West house", calendar_uid=CALENDAR, revised=revised, about="Work.")


GOLDEN = r"""BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//cropplan//calendar of work//EN
UID:a2b7d7cf-3f0e-4b52-9a9f-6f6f2f5a1b11
LAST-MODIFIED:20270301T063015Z
NAME:West house
X-WR-CALNAME:West house
DESCRIPTION:Work.
X-WR-CALDESC:Work.
REFRESH-INTERVAL;VALUE=DURATION:PT6H
X-PUBLISHED-TTL:PT6H
BEGIN:VEVENT
UID:78e0720d-e325-5907-ab8a-e299dc28ead6
DTSTAMP:20270301T063015Z
LAST-MODIFIED:20270301T063015Z
SEQUENCE:0
DTSTART;VALUE=DATE:20270310
DTEND;VALUE=DATE:20270311
SUMMARY:Strike 12 cuttings\; trays C1\, C2
DESCRIPTION:From the tops of B3: none with a flower\, none that is woody\, all as long as a hand.\nSpan 8 to 14 March.
CATEGORIES:cuttings\, tops,tomato
STATUS:TENTATIVE
TRANSP:TRANSPARENT
CREATED:20270301T063015Z
END:VEVENT
BEGIN:VEVENT
UID:78ab8817-a26d-5b16-a9a9-a5337016ac3f
DTSTAMP:20270301T063015Z
LAST-MODIFIED:20270301T063015Z
SEQUENCE:0
DTSTART;VALUE=DATE:20271231
DTEND;VALUE=DATE:20280101
SUMMARY:Drain the solids
STATUS:CONFIRMED
TRANSP:TRANSPARENT
CREATED:20270301T063015Z
END:VEVENT
END:VCALENDAR
"""  # noqa: E501


def test_the_whole_file_is_as_expected() -> None:
    """Unfolded, since a fold may stand at any octet up to 75 (RFC 5545 §3.1)."""
    octets = written(CUTTINGS, DRAIN)
    assert octets.replace(b"\r\n ", b"").decode() == GOLDEN.replace("\n", "\r\n")
    assert feed_findings(octets) == []


def test_an_empty_name_of_what_it_is_about_is_left_out() -> None:
    """A DESCRIPTION without words would show as an empty box."""
    octets = render((), name="West", calendar_uid=CALENDAR, revised=NOW, about="")
    assert b"X-WR-CALDESC" not in octets
    assert feed_findings(octets) == []


@pytest.mark.parametrize(
    ("day", "end"),
    [
        (date(2028, 2, 28), date(2028, 2, 29)),
        (date(2028, 2, 29), date(2028, 3, 1)),
        (date(2027, 2, 28), date(2027, 3, 1)),
        (date(2027, 12, 31), date(2028, 1, 1)),
        (date(2027, 4, 30), date(2027, 5, 1)),
        (date(2027, 3, 28), date(2027, 3, 29)),
    ],
)
def test_a_day_ends_on_the_next(day: date, end: date) -> None:
    """RFC 5545 §3.6.1: DTEND is not included; month, year, leap and clock-change days."""
    (event,) = read_events(written(replace(DRAIN, day=day)))
    assert (event.day, event.end) == (day, end)


def test_what_is_sure_is_confirmed_and_what_is_predicted_tentative() -> None:
    """RFC 5545 §3.8.1.11."""
    first, second = read_events(written(CUTTINGS, DRAIN))
    assert (first.value("STATUS"), second.value("STATUS")) == ("TENTATIVE", "CONFIRMED")


def test_a_typed_backslash_is_kept() -> None:
    r"""RFC 5545 §3.3.11: `\` is written `\\`, also before an N (the library would break a line)."""
    words = r"Labels in C:\New and C:\now; 50\50, \\ \n \; \,"
    (event,) = read_events(written(replace(DRAIN, summary=words, text=words, kinds=(words,))))
    assert (event.summary, event.text, event.kinds) == (words, words, (words,))


def test_notices_are_made_writable_whoever_hands_them_over() -> None:
    """RFC 5545 §3.1: the file is sound even if its notices did not come through `compare`."""
    ((_, told),) = compare([DRAIN], {}, NOW, RECORD).live
    noisy = replace(DRAIN, summary="Drain\x07 the\nsolids", text="\x00", kinds=("", "water\ud83c"))
    octets = render(
        [(noisy, told)], name="West\x07", calendar_uid=CALENDAR, revised=NOW, about="\x1b"
    )
    assert feed_findings(octets) == []
    (event,) = read_events(octets)
    assert (event.summary, event.text, event.kinds) == ("Drain the solids", "", ("water",))


def test_nothing_due_is_one_quiet_event_with_one_uid() -> None:
    """RFC 5545 §3.6: never a calendar without a component; its SEQUENCE rises with its day."""
    today = written()
    tomorrow = written(revised=NOW + timedelta(days=1))
    assert [feed_findings(octets) for octets in (today, tomorrow)] == [[], []]
    assert findings_between(today, tomorrow) == []
    (first,), (second,) = read_events(today), read_events(tomorrow)
    assert first.uid == second.uid
    assert (first.day, second.day) == (date(2027, 3, 1), date(2027, 3, 2))


def test_the_same_moment_in_another_zone_writes_the_same_octets() -> None:
    """RFC 5545 §3.8.7.2 and .3: stamps are in UTC."""
    yesterday_there = NOW.astimezone(timezone(timedelta(hours=-8)))
    assert written(DRAIN, revised=yesterday_there) == written(DRAIN)
    assert written(revised=yesterday_there) == written()


def test_a_removal_shows_in_the_calendars_own_revision() -> None:
    """RFC 7986 §5.4: what is left is unchanged, the calendar as a whole is not."""
    before = written(CUTTINGS, DRAIN)
    after = written(DRAIN, revised=NOW + timedelta(hours=1))
    assert findings_between(before, after) == []
    assert calendar_value(after, "LAST-MODIFIED") == "20270301T073015Z"
    assert read_events(after) == read_events(before)[1:]


SAME_AGAIN = """
import sys
from tests.unit.ics.test_ics_ical import CUTTINGS, DRAIN, written
sys.stdout.buffer.write(written(CUTTINGS, DRAIN))
"""


@pytest.mark.parametrize(
    ("zone", "seed", "place"), [("Pacific/Kiritimati", "1", "C"), ("America/Adak", "2", "C.UTF-8")]
)
def test_another_process_in_another_zone_writes_the_same_octets(
    zone: str, seed: str, place: str
) -> None:
    """One state, one file: whatever the clock's zone, the hash seed and the locale."""
    surroundings = {**os.environ, "TZ": zone, "PYTHONHASHSEED": seed, "LC_ALL": place}
    surroundings["PYTHONPATH"] = os.pathsep.join(sys.path)
    done = subprocess.run(
        [sys.executable, "-c", SAME_AGAIN], capture_output=True, env=surroundings, check=True
    )
    assert done.stdout == written(CUTTINGS, DRAIN)


def test_the_calendar_library_is_loaded_only_to_write() -> None:
    """The morning list passes through `published` and must not pay for icalendar's import."""
    asked = (
        "import sys, cropplan.ics.published, cropplan.ics.ical, cropplan.ics.text;"
        "print('icalendar' in sys.modules)"
    )
    surroundings = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(
        [sys.executable, "-c", asked], capture_output=True, text=True, env=surroundings, check=True
    )
    assert done.stdout.strip() == "False"
