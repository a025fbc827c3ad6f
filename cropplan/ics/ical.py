"""Notices to the bytes of an iCalendar file (RFC 5545 and RFC 7986)."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from cropplan.holding.notice import Notice, Published
from cropplan.ics.text import (
    NOTHING_DUE,
    NOTHING_DUE_TEXT,
    escaped,
    one_line,
    plain,
    plain_notice,
)

if TYPE_CHECKING:
    from icalendar import Calendar, Component, Event

# No version in it: a new release of the program must not change a feed that says the same.
PRODUCT = "-//cropplan//calendar of work//EN"

REFRESH = timedelta(hours=6)
"""How often a client is asked to look again. RFC 7986 §7 lets it warn below a day and must not
be hurried below an hour; six hours shows the morning's ticks by noon."""


def render(
    live: Sequence[tuple[Notice, Published]],
    *,
    name: str,
    calendar_uid: UUID,
    revised: datetime,
    about: str,
) -> bytes:
    """The calendar file: the same bytes for the same arguments, with no clock in it.

    live : as `published.compare` gives it, in the order to write.
    name, about : what the phone shows for the whole calendar.
    revised : when the calendar as a whole last changed, with its time zone.
    """
    # 50 ms to import, so the morning list must not pay for it.
    from icalendar import Calendar

    calendar = Calendar()
    _head(calendar, name=name, calendar_uid=calendar_uid, revised=revised, about=about)
    for notice, told in live:
        calendar.add_component(_told_event(plain_notice(notice), told))
    if not live:
        # RFC 5545 §3.6: at least one component, so an empty list of work is one quiet event.
        calendar.add_component(_placeholder(calendar_uid, revised))
    written: bytes = calendar.to_ical(sorted=False)
    return written


def _head(
    calendar: Calendar, *, name: str, calendar_uid: UUID, revised: datetime, about: str
) -> None:
    from icalendar import vDuration

    # No METHOD: with it DTSTAMP would mean "now" (RFC 5545 §3.8.7.2) and ORGANIZER would be
    # required (RFC 5546 §3.2.1). No SOURCE: it would repeat a secret address inside the file.
    calendar.add("version", "2.0")
    _add_text(calendar, "prodid", PRODUCT)
    calendar.add("uid", str(calendar_uid))
    calendar.add("last-modified", revised)
    _add_text(calendar, "name", one_line(name))
    _add_text(calendar, "x-wr-calname", one_line(name))
    if plain(about):
        _add_text(calendar, "description", plain(about))
        _add_text(calendar, "x-wr-caldesc", plain(about))
    # RFC 7986 §5.7: VALUE=DURATION is required, and the library leaves it out by itself.
    calendar.add("refresh-interval", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", vDuration(REFRESH))


def _told_event(notice: Notice, told: Published) -> Event:
    event = _event(notice, uid=told.uid, sequence=told.sequence, stamp=told.stamp)
    event.add("created", told.created)
    return event


def _event(notice: Notice, *, uid: str, sequence: int, stamp: datetime) -> Event:
    from icalendar import Event

    event = Event()
    event.add("uid", uid)
    # RFC 5545 §3.8.7.2: without METHOD, DTSTAMP is the last revision, as LAST-MODIFIED is.
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", sequence)
    event.add("dtstart", notice.day)
    # RFC 5545 §3.6.1: the end is not included, and §3.8.2.2 wants it later than the start.
    event.add("dtend", notice.day + timedelta(days=1))
    _add_text(event, "summary", notice.summary)
    if notice.text:
        _add_text(event, "description", notice.text)
    if notice.kinds:
        _add_written(event, "categories", ",".join(map(escaped, notice.kinds)))
    event.add("status", "TENTATIVE" if notice.tentative else "CONFIRMED")
    # RFC 5545 §3.8.2.7: opaque is the default and would block the grower's day.
    event.add("transp", "TRANSPARENT")
    return event


def _placeholder(calendar_uid: UUID, revised: datetime) -> Event:
    """One event that stands while there is no work.

    Nothing is stored for it. Its day is the day of the revision, so that day's number rises
    exactly when it moves and serves as SEQUENCE; when it was created is not known, so not said.
    """
    day = revised.astimezone(UTC).date()
    notice = Notice(
        key=NOTHING_DUE,
        day=day,
        summary=NOTHING_DUE,
        text=NOTHING_DUE_TEXT,
        kinds=(),
        tentative=False,
    )
    uid = str(uuid5(calendar_uid, NOTHING_DUE))
    return _event(notice, uid=uid, sequence=day.toordinal(), stamp=revised)


def _add_text(component: Component, name: str, words: str) -> None:
    _add_written(component, name, escaped(words))


def _add_written(component: Component, name: str, value: str) -> None:
    # The library's own text type takes a typed backslash and capital N for a line break, and so
    # loses letters of "C:\New tray"; its inline type writes what it is given.
    from icalendar.prop import vInline

    component.add(name, vInline(value))
