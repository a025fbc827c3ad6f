"""Recurrence rules (RFC 5545 §3.3.10)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from tests.calendar_octets.content import Component, Finding
from tests.calendar_octets.relations import When, when
from tests.calendar_octets.values import a_date, a_moment

SECTION = "RFC 5545 §3.3.10"
_DAY = r"(?:SU|MO|TU|WE|TH|FR|SA)"
_ORDINAL = r"[+-]?\d{1,3}"
PARTS = {
    "FREQ": re.compile("SECONDLY|MINUTELY|HOURLY|DAILY|WEEKLY|MONTHLY|YEARLY"),
    "UNTIL": re.compile(r"\d{8}(?:T\d{6}Z?)?"),
    "COUNT": re.compile(r"[1-9]\d*"),
    "INTERVAL": re.compile(r"[1-9]\d*"),
    "BYSECOND": re.compile(r"\d{1,2}(?:,\d{1,2})*"),
    "BYMINUTE": re.compile(r"\d{1,2}(?:,\d{1,2})*"),
    "BYHOUR": re.compile(r"\d{1,2}(?:,\d{1,2})*"),
    "BYDAY": re.compile(rf"(?:[+-]?\d{{1,2}})?{_DAY}(?:,(?:[+-]?\d{{1,2}})?{_DAY})*"),
    "BYMONTHDAY": re.compile(rf"{_ORDINAL}(?:,{_ORDINAL})*"),
    "BYYEARDAY": re.compile(rf"{_ORDINAL}(?:,{_ORDINAL})*"),
    "BYWEEKNO": re.compile(rf"{_ORDINAL}(?:,{_ORDINAL})*"),
    "BYMONTH": re.compile(r"\d{1,2}(?:,\d{1,2})*"),
    "BYSETPOS": re.compile(rf"{_ORDINAL}(?:,{_ORDINAL})*"),
    "WKST": re.compile(_DAY),
}
OF_THE_CLOCK = ("BYSECOND", "BYMINUTE", "BYHOUR")


def recurrence_findings(calendar: Component) -> Iterator[Finding]:
    """What is wrong with the recurrence rules of events and to-dos."""
    for component in calendar.children:
        for content in component.all_of("RRULE"):
            start = when(component.first("DTSTART"))
            rule = content.value.upper()
            for message in [*_part_faults(rule), *_whole_faults(rule, start)]:
                yield Finding(line=content.line, section=SECTION, message=f"RRULE {message}")


def _part_faults(rule: str) -> Iterator[str]:
    met: set[str] = set()
    for position, part in enumerate(rule.split(";")):
        name, _, value = part.partition("=")
        if position == 0 and name != "FREQ":
            yield "does not begin with FREQ"
        if name in met:
            yield f"gives {name} twice"
        met.add(name)
        if name not in PARTS:
            yield f"has the unknown part {name!r}"
        elif PARTS[name].fullmatch(value) is None:
            yield f"has {name}={value}, which is no such value"


def _whole_faults(rule: str, start: When | None) -> Iterator[str]:
    parts = dict(part.partition("=")[::2] for part in rule.split(";"))
    if "FREQ" not in parts:
        yield "has no FREQ"
    if "COUNT" in parts and "UNTIL" in parts:
        yield "has both COUNT and UNTIL"
    if start is None:
        return
    if start.form == "DATE":
        for name in OF_THE_CLOCK:
            if name in parts:
                yield f"has {name} on a DATE"
    if "UNTIL" in parts and not _until_fits(parts["UNTIL"], start):
        yield f"has UNTIL={parts['UNTIL']} while DTSTART is {start.form}"


def _until_fits(until: str, start: When) -> bool:
    if start.form == "DATE":
        return a_date(until) is not None
    moment = a_moment(until)
    return moment is not None and moment.utc == (start.form != "FLOATING")
