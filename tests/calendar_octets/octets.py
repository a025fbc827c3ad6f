"""A judge of iCalendar files that works on octets, written from the text of the standards.

It shares no code with the writer and none with any calendar library, because a reader that
forgives cannot prove anything. It gives verdicts on whole files, and its own reading of the events
in them. The standards read: RFC 5545 (Desruisseaux 2009), RFC 5546 (Daboo 2009), RFC 7986 (Daboo
2016) and RFC 9074 (Daboo and Murchison 2021).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from tests.calendar_octets.content import Component, Finding, read
from tests.calendar_octets.feed import calendar_findings, succession_findings
from tests.calendar_octets.presence import presence_findings
from tests.calendar_octets.recurrence import recurrence_findings
from tests.calendar_octets.relations import day_of, relation_findings
from tests.calendar_octets.typed import value_findings
from tests.calendar_octets.values import unescaped, unescaped_items


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadEvent:
    """One event as the judge reads it, its texts unfolded and unescaped.

    properties : name and raw value of every property, in the order written.
    """

    uid: str
    day: date
    end: date
    summary: str
    text: str
    kinds: tuple[str, ...]
    properties: tuple[tuple[str, str], ...]

    def value(self, name: str) -> str:
        """The raw value of the first property of that name; KeyError when there is none."""
        return dict(reversed(self.properties))[name]


def standard_findings(octets: bytes) -> list[Finding]:
    """What RFC 5545, and RFC 7986 where it adds to it, forbid in any iCalendar file."""
    reading = read(octets)
    findings = list(reading.findings)
    if not reading.calendars:
        findings.append(
            Finding(line=1, section="RFC 5545 §3.4", message="a file without a calendar")
        )
    for calendar in reading.calendars:
        findings.extend(_standard(calendar))
    return sorted(findings, key=lambda finding: finding.line)


def feed_findings(octets: bytes) -> list[Finding]:
    """What the standards forbid, and what a subscribed feed of chores must have besides."""
    findings = standard_findings(octets)
    calendars = read(octets).calendars
    if len(calendars) > 1:
        findings.append(
            Finding(
                line=calendars[1].line,
                section="RFC 5545 §3.4",
                message="a second calendar, which most clients drop",
            )
        )
    for calendar in calendars:
        findings.extend(calendar_findings(calendar))
    return sorted(findings, key=lambda finding: finding.line)


def findings_between(before: bytes, after: bytes) -> list[Finding]:
    """What a later file of one feed breaks of an earlier one's promises."""
    (old,), (new,) = read(before).calendars, read(after).calendars
    return list(succession_findings(old, new))


def read_events(octets: bytes) -> list[ReadEvent]:
    """The events of a faultless file, in the order written."""
    return [
        _event(component)
        for calendar in read(octets).calendars
        for component in calendar.children
        if component.name == "VEVENT"
    ]


def calendar_value(octets: bytes, name: str) -> str:
    """The raw value of a property of the one calendar in the file."""
    (calendar,) = read(octets).calendars
    content = calendar.first(name)
    if content is None:
        raise KeyError(name)
    return content.value


def _standard(calendar: Component) -> Iterator[Finding]:
    yield from presence_findings(calendar)
    yield from value_findings(calendar)
    yield from relation_findings(calendar)
    yield from recurrence_findings(calendar)


def _event(component: Component) -> ReadEvent:
    day, end = day_of(component.first("DTSTART")), day_of(component.first("DTEND"))
    if day is None or end is None:
        raise ValueError(f"the event at line {component.line} has no readable day")
    kinds = [
        item for line in component.all_of("CATEGORIES") for item in unescaped_items(line.value)
    ]
    return ReadEvent(
        uid=_text(component, "UID"),
        day=day,
        end=end,
        summary=_text(component, "SUMMARY"),
        text=_text(component, "DESCRIPTION"),
        kinds=tuple(kinds),
        properties=tuple((content.name, content.value) for content in component.properties),
    )


def _text(component: Component, name: str) -> str:
    content = component.first(name)
    return unescaped(content.value) if content else ""
