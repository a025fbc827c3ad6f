"""Rules that tie one property or component to another (RFC 5545 §3.6 and §3.8, RFC 5546)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time

from tests.calendar_octets.content import Component, ContentLine, Finding
from tests.calendar_octets.values import a_date, a_duration, a_moment


@dataclass(frozen=True, slots=True)
class When:
    """A DTSTART-like value: its form (DATE, UTC, LOCAL with a zone, FLOATING) and its order."""

    form: str
    at: datetime


def when(content: ContentLine | None) -> When | None:
    """The value of a date property; None when it is missing or unreadable."""
    if content is None:
        return None
    if (content.parameter("VALUE") or "").upper() == "DATE":
        day = a_date(content.value)
        return When("DATE", datetime.combine(day, time())) if day else None
    moment = a_moment(content.value)
    if moment is None:
        return None
    if moment.utc:
        return When("UTC", moment.at)
    return When("LOCAL" if content.parameter("TZID") else "FLOATING", moment.at)


def day_of(content: ContentLine | None) -> date | None:
    """The day of a date property; None when it is missing or unreadable."""
    known = when(content)
    return known.at.date() if known else None


def relation_findings(calendar: Component) -> Iterator[Finding]:
    """Every broken tie in one calendar."""
    yield from _method_rules(calendar)
    yield from _identities(calendar)
    yield from _zones(calendar)
    yield from _instance_types(calendar)
    for component in calendar.walk():
        if component.name in {"VEVENT", "VTODO"}:
            yield from _ends(component)
            yield from _stamps(component, calendar)
        if component.name == "VALARM":
            yield from _alarm(component)


def _method_rules(calendar: Component) -> Iterator[Finding]:
    method = calendar.first("METHOD")
    for component in calendar.children:
        if component.name == "VEVENT" and method is None and component.first("DTSTART") is None:
            yield _fault(component, "RFC 5545 §3.6.1", "VEVENT without DTSTART")
        if method is None or method.value.upper() != "PUBLISH" or component.name == "VTIMEZONE":
            continue
        if component.first("ORGANIZER") is None:
            yield _fault(component, "RFC 5546 §3.2.1", "METHOD:PUBLISH without ORGANIZER")
        if component.first("ATTENDEE") is not None:
            yield _fault(component, "RFC 5546 §3.2.1", "METHOD:PUBLISH with ATTENDEE")


def _identities(calendar: Component) -> Iterator[Finding]:
    met: set[tuple[str, str]] = set()
    for component in calendar.children:
        uid, instance = component.first("UID"), component.first("RECURRENCE-ID")
        if uid is None:
            continue
        identity = (uid.value, instance.value if instance else "")
        if identity in met:
            yield _fault(uid, "RFC 5545 §3.8.4.4 and §3.8.4.7", f"UID {uid.value!r} is not unique")
        met.add(identity)


def _zones(calendar: Component) -> Iterator[Finding]:
    defined: set[str] = set()
    for zone in (child for child in calendar.children if child.name == "VTIMEZONE"):
        named = zone.first("TZID")
        if named is not None and named.value in defined:
            yield _fault(named, "RFC 5545 §3.6.5", f"time zone {named.value!r} is defined twice")
        if named is not None:
            defined.add(named.value)
        if not zone.children:
            yield _fault(zone, "RFC 5545 §3.6.5", "VTIMEZONE without STANDARD or DAYLIGHT")
        for observance in zone.children:
            start = when(observance.first("DTSTART"))
            if start is not None and start.form != "FLOATING":
                yield _fault(observance, "RFC 5545 §3.6.5", "DTSTART is not a bare local time")
    for component in calendar.walk():
        for content in component.properties:
            zone_name = content.parameter("TZID")
            if zone_name is not None and zone_name not in defined:
                yield _fault(content, "RFC 5545 §3.2.19", f"TZID {zone_name!r} has no VTIMEZONE")


def _ends(component: Component) -> Iterator[Finding]:
    name, section = ("DTEND", "3.8.2.2") if component.name == "VEVENT" else ("DUE", "3.8.2.3")
    end_line, length_line = component.first(name), component.first("DURATION")
    start, end = when(component.first("DTSTART")), when(end_line)
    if end_line is not None and length_line is not None:
        yield _fault(length_line, "RFC 5545 §3.6.1 and §3.6.2", f"DURATION together with {name}")
    if length_line is not None and start is None and component.name == "VTODO":
        yield _fault(length_line, "RFC 5545 §3.6.2", "DURATION without DTSTART")
    if length_line is not None and start is not None and start.form == "DATE":
        length = a_duration(length_line.value)
        if length is not None and ("T" in length_line.value):
            yield _fault(length_line, "RFC 5545 §3.6.1", "DURATION of a DATE holds hours")
    if end_line is None or start is None or end is None:
        return
    if end.form != start.form:
        yield _fault(
            end_line, f"RFC 5545 §{section}", f"{name} is {end.form} and DTSTART {start.form}"
        )
    elif end.at <= start.at:
        yield _fault(end_line, f"RFC 5545 §{section}", f"{name} is not later than DTSTART")


def _stamps(component: Component, calendar: Component) -> Iterator[Finding]:
    stamp, changed = component.first("DTSTAMP"), component.first("LAST-MODIFIED")
    created = component.first("CREATED")
    if calendar.first("METHOD") is None and stamp and changed and stamp.value != changed.value:
        yield _fault(stamp, "RFC 5545 §3.8.7.2", "DTSTAMP differs from LAST-MODIFIED")
    made, revised = (a_moment(content.value) if content else None for content in (created, changed))
    if created is not None and made is not None and revised is not None and made > revised:
        yield _fault(created, "RFC 5545 §3.8.7.1", "CREATED is later than LAST-MODIFIED")


def _instance_types(calendar: Component) -> Iterator[Finding]:
    series: dict[str, When | None] = {}
    for component in calendar.children:
        uid = component.first("UID")
        if uid is not None and component.first("RECURRENCE-ID") is None:
            series[uid.value] = when(component.first("DTSTART"))
    for component in calendar.children:
        uid = component.first("UID")
        own = when(component.first("DTSTART"))
        # §3.8.4.4: an override answers to the DTSTART of the series, not to its own.
        whole = series.get(uid.value, own) if uid else own
        yield from _of_the_type(component, "EXDATE", "3.8.5.1", own)
        yield from _of_the_type(component, "RECURRENCE-ID", "3.8.4.4", whole)


def _of_the_type(
    component: Component, name: str, section: str, start: When | None
) -> Iterator[Finding]:
    for content in component.all_of(name):
        is_day = (content.parameter("VALUE") or "").upper() == "DATE"
        if start is not None and is_day != (start.form == "DATE"):
            yield _fault(content, f"RFC 5545 §{section}", f"{name} is not of the type of DTSTART")


def _alarm(alarm: Component) -> Iterator[Finding]:
    action = alarm.first("ACTION")
    kind = action.value.upper() if action else ""
    needed = {"DISPLAY": ("DESCRIPTION",), "EMAIL": ("DESCRIPTION", "SUMMARY", "ATTENDEE")}
    for name in needed.get(kind, ()):
        if alarm.first(name) is None:
            yield _fault(alarm, "RFC 5545 §3.6.6", f"{kind} alarm without {name}")
    if (alarm.first("DURATION") is None) != (alarm.first("REPEAT") is None):
        yield _fault(alarm, "RFC 5545 §3.6.6", "DURATION and REPEAT do not stand together")


def _fault(where: Component | ContentLine, section: str, message: str) -> Finding:
    return Finding(line=where.line, section=section, message=message)
