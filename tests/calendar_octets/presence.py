"""Which properties and components may stand where, and how often (RFC 5545 §3.6, RFC 7986 §4)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from tests.calendar_octets.content import Component, Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """What one kind of component may hold.

    section : where the standard says so.
    required : exactly once. once : at most once. many : any number of times.
    inside : names of the components it may stand in; empty for the outermost.
    """

    section: str
    required: frozenset[str]
    once: frozenset[str]
    many: frozenset[str]
    inside: frozenset[str]


def _names(text: str) -> frozenset[str]:
    return frozenset(text.split())


_EVENT_AND_TODO_ONCE = _names(
    "CLASS CREATED DESCRIPTION DTSTART GEO LAST-MODIFIED LOCATION ORGANIZER PRIORITY SEQUENCE"
    " STATUS SUMMARY URL RECURRENCE-ID RRULE DURATION COLOR"
)
_EVENT_AND_TODO_MANY = _names(
    "ATTACH ATTENDEE CATEGORIES COMMENT CONTACT EXDATE REQUEST-STATUS RELATED-TO RESOURCES RDATE"
    " CONFERENCE IMAGE"
)
_CALENDAR = frozenset({"VCALENDAR"})
_OBSERVANCE = Allowed(
    section="RFC 5545 §3.6.5",
    required=_names("DTSTART TZOFFSETTO TZOFFSETFROM"),
    once=_names("RRULE"),
    many=_names("COMMENT RDATE TZNAME"),
    inside=frozenset({"VTIMEZONE"}),
)

KNOWN = {
    "VCALENDAR": Allowed(
        section="RFC 5545 §3.6 and RFC 7986 §4",
        required=_names("PRODID VERSION"),
        once=_names("CALSCALE METHOD UID LAST-MODIFIED URL REFRESH-INTERVAL SOURCE COLOR"),
        many=_names("NAME DESCRIPTION CATEGORIES IMAGE"),
        inside=frozenset(),
    ),
    "VEVENT": Allowed(
        section="RFC 5545 §3.6.1",
        required=_names("UID DTSTAMP"),
        once=_EVENT_AND_TODO_ONCE | _names("TRANSP DTEND"),
        many=_EVENT_AND_TODO_MANY,
        inside=_CALENDAR,
    ),
    "VTODO": Allowed(
        section="RFC 5545 §3.6.2",
        required=_names("UID DTSTAMP"),
        once=_EVENT_AND_TODO_ONCE | _names("COMPLETED DUE PERCENT-COMPLETE"),
        many=_EVENT_AND_TODO_MANY,
        inside=_CALENDAR,
    ),
    "VALARM": Allowed(
        section="RFC 5545 §3.6.6 and RFC 9074",
        required=_names("ACTION TRIGGER"),
        once=_names("DESCRIPTION SUMMARY DURATION REPEAT UID ACKNOWLEDGED PROXIMITY"),
        many=_names("ATTACH ATTENDEE RELATED-TO"),
        inside=_names("VEVENT VTODO"),
    ),
    "VTIMEZONE": Allowed(
        section="RFC 5545 §3.6.5",
        required=_names("TZID"),
        once=_names("LAST-MODIFIED TZURL"),
        many=frozenset(),
        inside=_CALENDAR,
    ),
    "STANDARD": _OBSERVANCE,
    "DAYLIGHT": _OBSERVANCE,
}


def presence_findings(calendar: Component) -> Iterator[Finding]:
    """What is missing, repeated or out of place in one calendar and all inside it."""
    if calendar.name != "VCALENDAR":
        yield Finding(
            line=calendar.line,
            section="RFC 5545 §3.4",
            message=f"the outermost component is {calendar.name}, not VCALENDAR",
        )
    if not calendar.children:
        yield Finding(
            line=calendar.line, section="RFC 5545 §3.6", message="a calendar without a component"
        )
    for owner in calendar.walk():
        yield from _properties_of(owner)
        for child in owner.children:
            yield from _place_of(child, owner)


def _properties_of(owner: Component) -> Iterator[Finding]:
    allowed = KNOWN.get(owner.name)
    if allowed is None:
        return
    counts = Counter(content.name for content in owner.properties)
    for name in sorted(allowed.required - counts.keys()):
        yield Finding(
            line=owner.line, section=allowed.section, message=f"{owner.name} without {name}"
        )
    seen: set[str] = set()
    for content in owner.properties:
        single = content.name in allowed.required | allowed.once
        if single and content.name in seen:
            yield Finding(
                line=content.line,
                section=allowed.section,
                message=f"{content.name} stands more than once in {owner.name}",
            )
        seen.add(content.name)
        if not (single or content.name in allowed.many or content.name.startswith("X-")):
            yield Finding(
                line=content.line,
                section=allowed.section,
                message=f"{content.name} is no property of {owner.name}",
            )


def _place_of(child: Component, owner: Component) -> Iterator[Finding]:
    allowed = KNOWN.get(child.name)
    if allowed is None:
        return
    if owner.name not in allowed.inside:
        yield Finding(
            line=child.line,
            section=allowed.section,
            message=f"{child.name} may not stand in {owner.name}",
        )
