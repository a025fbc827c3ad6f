"""Each property's value against its type (RFC 5545 §3.3 and §3.8, RFC 7986 §5)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta

from tests.calendar_octets.content import Component, ContentLine, Finding
from tests.calendar_octets.values import (
    OFFSET,
    a_date,
    a_duration,
    a_moment,
    an_integer,
    split_items,
    text_faults,
)

Fault = tuple[str, str]

DAY_OR_MOMENT = {
    "DTSTART": "3.8.2.4",
    "DTEND": "3.8.2.2",
    "DUE": "3.8.2.3",
    "RECURRENCE-ID": "3.8.4.4",
    "EXDATE": "3.8.5.1",
    "RDATE": "3.8.5.2",
}
IN_UTC = {
    "DTSTAMP": "RFC 5545 §3.8.7.2",
    "CREATED": "RFC 5545 §3.8.7.1",
    "LAST-MODIFIED": "RFC 5545 §3.8.7.3",
    "COMPLETED": "RFC 5545 §3.8.2.1",
    "ACKNOWLEDGED": "RFC 9074 §6.1",
}
ONE_TEXT = {
    "COMMENT",
    "CONTACT",
    "DESCRIPTION",
    "LOCATION",
    "NAME",
    "PRODID",
    "RELATED-TO",
    "SUMMARY",
    "TZID",
    "TZNAME",
    "UID",
    "X-WR-CALDESC",
    "X-WR-CALNAME",
}
TEXT_LIST = frozenset({"CATEGORIES", "RESOURCES"})
RANGES = {
    "SEQUENCE": ("3.8.7.4", 0, 2147483647),
    "PRIORITY": ("3.8.1.9", 0, 9),
    "PERCENT-COMPLETE": ("3.8.1.8", 0, 100),
    "REPEAT": ("3.8.6.2", 0, 2147483647),
}
WORDS = {
    ("VEVENT", "STATUS"): ("3.8.1.11", "TENTATIVE CONFIRMED CANCELLED"),
    ("VTODO", "STATUS"): ("3.8.1.11", "NEEDS-ACTION COMPLETED IN-PROCESS CANCELLED"),
    ("VEVENT", "TRANSP"): ("3.8.2.7", "OPAQUE TRANSPARENT"),
    ("VCALENDAR", "VERSION"): ("3.7.4", "2.0"),
    ("VCALENDAR", "CALSCALE"): ("3.7.1", "GREGORIAN"),
}


def value_findings(calendar: Component) -> Iterator[Finding]:
    """Every value in a calendar that is not of its property's type."""
    for owner in calendar.walk():
        for content in owner.properties:
            for section, message in _faults(owner.name, content):
                yield Finding(
                    line=content.line, section=section, message=f"{content.name} {message}"
                )


def _faults(owner: str, content: ContentLine) -> Iterator[Fault]:
    name = content.name
    if name in DAY_OR_MOMENT:
        yield from _day_or_moment(content)
    elif name in IN_UTC:
        yield from _utc(content)
    elif name in ONE_TEXT:
        for fault in text_faults(content.value):
            yield "RFC 5545 §3.3.11", fault
    elif name in TEXT_LIST:
        yield from _list(content)
    elif name in RANGES:
        yield from _number(content)
    elif (owner, name) in WORDS:
        section, words = WORDS[owner, name]
        if content.value.upper() not in words.split():
            yield f"RFC 5545 §{section}", f"is {content.value!r}, not one of {words}"
    elif name in SPECIAL:
        yield from SPECIAL[name](content)


def _day_or_moment(content: ContentLine) -> Iterator[Fault]:
    section = f"RFC 5545 §{DAY_OR_MOMENT[content.name]}"
    zone = content.parameter("TZID")
    kind = (content.parameter("VALUE") or "DATE-TIME").upper()
    if content.name == "RDATE" and kind == "PERIOD":
        return
    if kind not in {"DATE", "DATE-TIME"}:
        yield section, f"has the value type {kind}"
        return
    for value in content.value.split(","):
        if kind == "DATE":
            if a_date(value) is None:
                yield "RFC 5545 §3.3.4", f"is {value!r}, no DATE"
            if zone is not None:
                yield "RFC 5545 §3.2.19", "is a DATE with a TZID"
            continue
        moment = a_moment(value)
        if moment is None and a_date(value) is not None:
            yield section, f"is the DATE {value!r} without VALUE=DATE"
        elif moment is None:
            yield "RFC 5545 §3.3.5", f"is {value!r}, no DATE-TIME"
        elif moment.utc and zone is not None:
            yield "RFC 5545 §3.2.19", "is in UTC with a TZID"


def _utc(content: ContentLine) -> Iterator[Fault]:
    section = IN_UTC[content.name]
    moment = a_moment(content.value)
    if moment is None:
        yield section, f"is {content.value!r}, no DATE-TIME"
    elif not moment.utc:
        yield section, "is not in UTC"
    if content.parameter("TZID") is not None:
        yield "RFC 5545 §3.2.19", "is in UTC with a TZID"
    if (content.parameter("VALUE") or "DATE-TIME").upper() != "DATE-TIME":
        yield section, "has a value type other than DATE-TIME"


def _list(content: ContentLine) -> Iterator[Fault]:
    for item in split_items(content.value):
        for fault in text_faults(item):
            yield "RFC 5545 §3.3.11", fault
        if not item:
            yield "RFC 5545 §3.8.1.2", "has an empty item"


def _number(content: ContentLine) -> Iterator[Fault]:
    section, low, high = RANGES[content.name]
    number = an_integer(content.value)
    if number is None or not low <= number <= high:
        yield f"RFC 5545 §{section}", f"is {content.value!r}, not from {low} to {high}"


def _length(content: ContentLine) -> Iterator[Fault]:
    length = a_duration(content.value)
    if length is None:
        yield "RFC 5545 §3.3.6", f"is {content.value!r}, no DURATION"
    elif length <= timedelta():
        yield "RFC 5545 §3.8.2.5", "is not positive"


def _refresh(content: ContentLine) -> Iterator[Fault]:
    if (content.parameter("VALUE") or "").upper() != "DURATION":
        yield "RFC 7986 §5.7", "has no VALUE=DURATION"
    length = a_duration(content.value)
    if length is None or length <= timedelta():
        yield "RFC 7986 §5.7", f"is {content.value!r}, no positive DURATION"


def _trigger(content: ContentLine) -> Iterator[Fault]:
    if (content.parameter("VALUE") or "DURATION").upper() == "DURATION":
        if a_duration(content.value) is None:
            yield "RFC 5545 §3.8.6.3", f"is {content.value!r}, no DURATION"
        return
    moment = a_moment(content.value)
    if moment is None or not moment.utc:
        yield "RFC 5545 §3.8.6.3", f"is {content.value!r}, no DATE-TIME in UTC"


def _colour(content: ContentLine) -> Iterator[Fault]:
    # The names of CSS3 §4.3 are all letters; `#228b22` is the fault met in practice.
    if not content.value.isascii() or not content.value.isalpha():
        yield "RFC 7986 §5.9", f"is {content.value!r}, no colour name"


def _offset(content: ContentLine) -> Iterator[Fault]:
    if OFFSET.fullmatch(content.value) is None:
        yield "RFC 5545 §3.3.14", f"is {content.value!r}, no UTC offset"


SPECIAL: dict[str, Callable[[ContentLine], Iterator[Fault]]] = {
    "DURATION": _length,
    "REFRESH-INTERVAL": _refresh,
    "TRIGGER": _trigger,
    "COLOR": _colour,
    "TZOFFSETFROM": _offset,
    "TZOFFSETTO": _offset,
}
