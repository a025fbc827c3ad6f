"""Values of iCalendar properties, read strictly by the grammar of RFC 5545 §3.3."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

DATE = re.compile(r"(\d{4})(\d{2})(\d{2})")
DATE_TIME = re.compile(r"(\d{8}T\d{6})(Z?)")
_TIME = r"(?:\d+H(?:\d+M(?:\d+S)?)?|\d+M(?:\d+S)?|\d+S)"
DURATION = re.compile(rf"[+-]?P(?:\d+W|\d+D(?:T{_TIME})?|T{_TIME})")
_PARTS = re.compile(r"(\d+)([WDHMS])")
_UNITS = {"W": "weeks", "D": "days", "H": "hours", "M": "minutes", "S": "seconds"}
INTEGER = re.compile(r"[+-]?\d+")
UUID = re.compile(r"[0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")
OFFSET = re.compile(r"[+-]\d{4}(?:\d{2})?")
ESCAPES = {"\\": "\\", ";": ";", ",": ",", "n": "\n", "N": "\n"}


@dataclass(frozen=True, slots=True, order=True)
class Moment:
    """A date and time of day, and whether it is in UTC (§3.3.5, form 2)."""

    at: datetime
    utc: bool


def a_date(text: str) -> date | None:
    """The DATE (§3.3.4); None when the text is none or no such day exists."""
    matched = DATE.fullmatch(text)
    if matched is None:
        return None
    try:
        return date(*(int(part) for part in matched.groups()))
    except ValueError:
        return None


def a_moment(text: str) -> Moment | None:
    """The DATE-TIME (§3.3.5); None when the text is none or no such moment exists."""
    matched = DATE_TIME.fullmatch(text)
    if matched is None:
        return None
    day = a_date(text[:8])
    hours, minutes, seconds = int(text[9:11]), int(text[11:13]), int(text[13:15])
    # §3.3.12: the second 60 is a leap second, which datetime cannot hold.
    if day is None or hours > 23 or minutes > 59 or seconds > 60:
        return None
    at = datetime(day.year, day.month, day.day, hours, minutes, min(seconds, 59))  # noqa: DTZ001
    return Moment(at, matched.group(2) == "Z")


def a_duration(text: str) -> timedelta | None:
    """The DURATION (§3.3.6); None when the text is none."""
    if DURATION.fullmatch(text) is None:
        return None
    total = timedelta()
    for count, unit in _PARTS.findall(text):
        total += timedelta(**{_UNITS[unit]: int(count)})
    return -total if text.startswith("-") else total


def an_integer(text: str) -> int | None:
    """The INTEGER (§3.3.8); None when the text is none."""
    return int(text) if INTEGER.fullmatch(text) else None


def unescaped(text: str) -> str:
    """The TEXT (§3.3.11) as a person reads it; ValueError at the first fault of its escaping."""
    for fault in text_faults(text):
        raise ValueError(fault)
    return _unescape(text)


def unescaped_items(text: str) -> list[str]:
    """The TEXT values of a comma list, as a person reads them."""
    return [unescaped(item) for item in split_items(text)]


def split_items(text: str) -> list[str]:
    """The items of a comma list, still escaped; an escaped comma does not part them."""
    items = [""]
    pairs = _marks(text)
    for mark in pairs:
        if mark == ",":
            items.append("")
        else:
            items[-1] += mark
    return items


def text_faults(text: str) -> Iterator[str]:
    """What §3.3.11 forbids in one TEXT value."""
    for mark in _marks(text):
        if mark in {",", ";"}:
            yield f"holds a bare '{mark}'"
        elif mark.startswith("\\") and mark[1:] not in ESCAPES:
            yield f"escapes {mark[1:] or 'nothing'!r}, which may not be escaped"


def _unescape(text: str) -> str:
    return "".join(ESCAPES[mark[1:]] if mark.startswith("\\") else mark for mark in _marks(text))


def _marks(text: str) -> Iterator[str]:
    at = 0
    while at < len(text):
        size = 2 if text[at] == "\\" else 1
        yield text[at : at + size]
        at += size
