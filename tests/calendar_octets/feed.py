"""What a feed that phones subscribe to must hold beyond the bare standard."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from tests.calendar_octets.content import Component, ContentLine, Finding
from tests.calendar_octets.relations import When, when
from tests.calendar_octets.values import UUID, a_duration, a_moment, an_integer

SHORTEST_REFRESH = timedelta(hours=1)
NEEDED = {
    "NAME": "RFC 7986 §5.1",
    "X-WR-CALNAME": "RFC 7986 §5.1 (its older form)",
    "UID": "RFC 7986 §5.3",
    "LAST-MODIFIED": "RFC 7986 §5.4",
    "REFRESH-INTERVAL": "RFC 7986 §5.7",
    "X-PUBLISHED-TTL": "RFC 7986 §5.7 (its older form)",
}
# They repeat the feed's secret address inside a file that gets forwarded.
ADDRESSES = ("SOURCE", "URL", "X-ORIGINAL-URL")
NEEDED_IN_AN_EVENT = {
    "LAST-MODIFIED": "RFC 5545 §3.8.7.3",
    "SEQUENCE": "RFC 5545 §3.8.7.4",
    "SUMMARY": "RFC 5545 §3.8.1.12",
    "STATUS": "RFC 5545 §3.8.1.11",
    "DTEND": "RFC 5545 §3.8.2.2",
}


def calendar_findings(calendar: Component) -> Iterator[Finding]:
    """What one calendar lacks, or has too much of, to be a feed."""
    for name, section in NEEDED.items():
        if calendar.first(name) is None:
            yield _fault(calendar, section, f"calendar without {name}")
    method = calendar.first("METHOD")
    if method is not None:
        yield _fault(method, "RFC 5546 §3.2.1", "a feed with METHOD")
    for name in ADDRESSES:
        for content in calendar.all_of(name):
            yield _fault(content, "RFC 7986 §8", f"a feed that tells its address in {name}")
    yield from _maker(calendar)
    yield from _names(calendar)
    yield from _intervals(calendar)
    yield from _identities(calendar)
    for component in calendar.children:
        if component.name == "VEVENT":
            yield from _event(component)
        elif component.name != "VTIMEZONE":
            yield _fault(component, "RFC 5545 §3.6", f"a feed of events with {component.name}")


def _maker(calendar: Component) -> Iterator[Finding]:
    maker = calendar.first("PRODID")
    if maker is not None and "cropplan" not in maker.value.casefold():
        yield _fault(maker, "RFC 5545 §3.7.3", f"PRODID names another maker: {maker.value!r}")


def _names(calendar: Component) -> Iterator[Finding]:
    named, older = calendar.first("NAME"), calendar.first("X-WR-CALNAME")
    if named and older and named.value != older.value:
        yield _fault(older, "RFC 7986 §5.1", "X-WR-CALNAME differs from NAME")
    languages = [content.parameter("LANGUAGE") for content in calendar.all_of("NAME")]
    if len(set(languages)) != len(languages):
        yield _fault(calendar, "RFC 7986 §5.1", "NAME stands twice for one language")


def _intervals(calendar: Component) -> Iterator[Finding]:
    for name in ("REFRESH-INTERVAL", "X-PUBLISHED-TTL"):
        for content in calendar.all_of(name):
            length = a_duration(content.value)
            if length is None or length < SHORTEST_REFRESH:
                yield _fault(
                    content, "RFC 7986 §7", f"{name} is shorter than an hour or unreadable"
                )


def _identities(calendar: Component) -> Iterator[Finding]:
    for component in calendar.walk():
        for content in component.all_of("UID"):
            if UUID.fullmatch(content.value) is None:
                yield _fault(content, "RFC 7986 §5.3", f"UID is no UUID: {content.value!r}")


def _event(event: Component) -> Iterator[Finding]:
    for name, section in NEEDED_IN_AN_EVENT.items():
        if event.first(name) is None:
            yield _fault(event, section, f"VEVENT without {name}")
    shown = event.first("TRANSP")
    if shown is None or shown.value.upper() != "TRANSPARENT":
        yield _fault(event, "RFC 5545 §3.8.2.7", "a chore that is not TRANSP:TRANSPARENT")
    for name in ("DTSTART", "DTEND"):
        content = event.first(name)
        known = when(content)
        if content is not None and known is not None and known.form == "FLOATING":
            yield _fault(content, "RFC 5545 §3.3.5", f"{name} floats, read as another hour by some")
    title = event.first("SUMMARY")
    if title is not None and not title.value.strip():
        yield _fault(title, "RFC 5545 §3.8.1.12", "SUMMARY is empty")
    yield from _one_day(event)
    start = when(event.first("DTSTART"))
    for content in event.all_of("RDATE"):
        is_day = (content.parameter("VALUE") or "").upper() == "DATE"
        if start is not None and is_day != (start.form == "DATE"):
            yield _fault(content, "RFC 5545 §3.8.5.2", "RDATE is not of the type of DTSTART")


def _one_day(event: Component) -> Iterator[Finding]:
    end_line = event.first("DTEND")
    start, end = when(event.first("DTSTART")), when(end_line)
    if end_line is None or start is None or end is None or start.form != "DATE":
        return
    if end.form == "DATE" and end.at - start.at != timedelta(days=1):
        yield _fault(end_line, "RFC 5545 §3.6.1", "DTEND of a day's work is not the next day")


def succession_findings(before: Component, after: Component) -> Iterator[Finding]:
    """What the later of two files of one feed breaks of the earlier one's promises."""
    for name, section in (("UID", "RFC 7986 §5.3"), ("PRODID", "RFC 5545 §3.7.3")):
        if _value(before, name) != _value(after, name):
            yield _fault(after, section, f"the calendar's {name} has changed")
    if _shown(before) != _shown(after) and _stamp(before) >= _stamp(after):
        yield _fault(after, "RFC 7986 §5.4", "the calendar's LAST-MODIFIED has not moved")
    earlier = {_identity(event): event for event in before.children}
    for event in after.children:
        old = earlier.get(_identity(event))
        if old is not None:
            yield from _revision(old, event)


def _revision(old: Component, new: Component) -> Iterator[Finding]:
    if _value(old, "CREATED") != _value(new, "CREATED"):
        yield _fault(new, "RFC 5545 §3.8.7.1", "CREATED has changed")
    was, now = (an_integer(_value(event, "SEQUENCE")) or 0 for event in (old, new))
    if now < was:
        yield _fault(new, "RFC 5545 §3.8.7.4", f"SEQUENCE has fallen from {was} to {now}")
    moved = (_day(old), _value(old, "STATUS")) != (_day(new), _value(new, "STATUS"))
    if moved and now <= was:
        yield _fault(new, "RFC 5546 §2.1.4", "a new day or STATUS without a higher SEQUENCE")
    changed = _without_stamps(old) != _without_stamps(new)
    if changed and _stamp(old) >= _stamp(new):
        yield _fault(new, "RFC 5545 §3.8.7.3", "changed without a later LAST-MODIFIED")
    if not changed and _stamp(old) != _stamp(new):
        yield _fault(new, "RFC 5545 §3.8.7.2", "DTSTAMP has moved though nothing was revised")


def _without_stamps(event: Component) -> list[tuple[str, str]]:
    stamps = {"DTSTAMP", "LAST-MODIFIED"}
    return [(c.name, c.value) for c in event.properties if c.name not in stamps]


def _shown(calendar: Component) -> list[list[tuple[str, str]]]:
    events = [[(c.name, c.value) for c in event.properties] for event in calendar.children]
    return [_without_stamps(calendar), *events]


def _identity(event: Component) -> tuple[str, str, str]:
    return event.name, _value(event, "UID"), _value(event, "RECURRENCE-ID")


def _value(component: Component, name: str) -> str:
    content = component.first(name)
    return content.value if content else ""


def _day(event: Component) -> When | None:
    return when(event.first("DTSTART"))


def _stamp(component: Component) -> str:
    value = _value(component, "LAST-MODIFIED")
    # Fixed-width UTC text sorts as time; an unreadable one counts as the oldest.
    return value if a_moment(value) else ""


def _fault(where: Component | ContentLine, section: str, message: str) -> Finding:
    return Finding(line=where.line, section=section, message=message)
