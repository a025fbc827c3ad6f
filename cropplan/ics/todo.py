"""Notices as tasks on a calendar server (RFC 5545 §3.6.2), and what a phone has made of them.

A copy is changed line by line: only the properties that are ours are written anew, and all that a
phone has added stays as it came, to the octet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from cropplan.holding.notice import Notice
from cropplan.holding.synced import Mark
from cropplan.ics.text import escaped, plain_notice
from cropplan.problems import BadData

PRODUCT = "-//cropplan//tasks//EN"
#: The turns that a task stands for, one a line, so that a tick means what the phone showed.
KEY = "X-CROPPLAN-KEY"

#: RFC 5545 §3.1. [octets]
_LONGEST = 75
_FOLD = re.compile(rb"\r?\n[ \t]")
# RFC 5545 §3.1: a name, parameters whose values may be quoted, a colon, the value.
_LINE = re.compile(r"([A-Za-z0-9-]+)((?:;(?:[^\":;]|\"[^\"]*\")*)*):(.*)")
_ITEM = re.compile(r"(?:\\.|[^,\\])+")
_ESCAPED = re.compile(r"\\(.)")

#: A turn never repeats, the next one is a task of its own; and DURATION excludes DUE (§3.6.2).
_BARRED = frozenset({"RRULE", "RDATE", "EXDATE", "EXRULE", "RECURRENCE-ID", "DURATION"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """What a server's copy of a task says.

    mark : open, done or cancelled. stamp : its COMPLETED as a moment, if it has one. [UTC]
    day : its COMPLETED as a day, where it is no more than that.
    created, modified : its CREATED and LAST-MODIFIED, if it has them. [UTC]
    keys : of the turns it stands for; empty when it does not say.
    """

    uid: str
    mark: Mark
    stamp: datetime | None = None
    day: date | None = None
    created: datetime | None = None
    modified: datetime | None = None
    summary: str = ""
    keys: tuple[str, ...] = ()


def uid_of(namespace: UUID, key: str) -> str:
    """The UID of the task with that key, the same as its event has in the feed."""
    return str(uuid5(namespace, f"task:{key}"))


def read(content: bytes, zone: str) -> Copy:
    """What a copy says, whichever way its program marks a finished task.

    zone : of the house, for times that name no zone of their own.
    Raises BadData when it holds no task.
    """
    todos = _todos(_lines(content))
    if not todos:
        raise BadData("it holds no task (VTODO)")
    mains = [todo for todo in todos if _value(todo, "RECURRENCE-ID") is None]
    main = mains[0] if mains else todos[0]
    uid = _value(main, "UID")
    if not uid:
        raise BadData("its task has no UID")
    # Some programs finish a task by adding a second component beside it.
    ticked = next((todo for todo in (main, *todos) if _is_done(todo)), None)
    stamp, day = (None, None) if ticked is None else _completed(ticked, zone)
    modified = _moment(main if ticked is None else ticked, "LAST-MODIFIED", zone)
    created = _moment(main, "CREATED", zone)
    return Copy(
        uid=uid,
        mark=_mark(main, ticked is not None),
        stamp=stamp,
        day=day,
        created=created if isinstance(created, datetime) else None,
        modified=modified if isinstance(modified, datetime) else None,
        summary=_unescaped(_value(main, "SUMMARY") or ""),
        keys=tuple(_unescaped(line.value) for line in main if line.name == KEY),
    )


def new(notice: Notice, *, uid: str, keys: Sequence[str], at: datetime) -> bytes:
    """A task to be done, as it is first sent.

    at : the moment, with its time zone.
    """
    bare = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "BEGIN:VTODO",
        f"UID:{uid}",
        f"CREATED:{_stamp(at)}",
        "END:VTODO",
        "END:VCALENDAR",
    ]
    return _written(_told([_line(text) for text in bare], notice, keys, None, at))


def revised(
    content: bytes,
    notice: Notice | None,
    *,
    keys: Sequence[str],
    done: datetime | None,
    at: datetime,
) -> bytes:
    """A copy as it should read now; all that is not ours stays as it is.

    notice : what it shows; None to leave its words and its day.
    done : when it was finished; None while it is to be done. at : the moment of the change.
    Raises BadData when it holds no task.
    """
    return _written(_told(_lines(content), notice, keys, done, at))


@dataclass(frozen=True, slots=True)
class _Line:
    """One unfolded line: its name in capitals, its parameters, its value, and as it came."""

    name: str
    parameters: str
    value: str
    text: str


def _line(text: str) -> _Line:
    match = _LINE.fullmatch(text)
    if match is None:
        # Not for us to mend: it is passed on as it came.
        return _Line("", "", "", text)
    return _Line(match[1].upper(), match[2], match[3], text)


def _lines(content: bytes) -> list[_Line]:
    # Folds may fall inside a UTF-8 character (§3.1), so they are undone before decoding.
    text = _FOLD.sub(b"", content.removeprefix(b"\xef\xbb\xbf")).decode("utf-8", "replace")
    return [_line(line) for line in re.split("\r\n|\n|\r", text) if line]


def _todos(lines: Sequence[_Line]) -> list[list[_Line]]:
    """The properties of each task, without those of its alarms."""
    return [
        [line for _, line, depth in part if depth == 1]
        for part in _parts(lines)
        if part and part[0][1].value.upper() == "VTODO"
    ]


def _parts(lines: Sequence[_Line]) -> Iterator[list[tuple[int, _Line, int]]]:
    """Each component of the calendar: its lines, each with its place and its depth.

    Depth 0 are its own BEGIN and END, 1 its properties, 2 and more what it holds, as alarms.
    """
    part: list[tuple[int, _Line, int]] = []
    depth = 0
    for place, line in enumerate(lines):
        if line.value.upper() == "VCALENDAR":
            continue
        if line.name == "BEGIN":
            part.append((place, line, depth + 1 if depth else 0))
            depth += 1
        elif depth:
            closes = line.name == "END"
            part.append((place, line, 0 if closes and depth == 1 else depth))
            depth -= closes
            if depth == 0:
                yield part
                part = []


def _value(todo: Sequence[_Line], name: str) -> str | None:
    return next((line.value.strip() for line in todo if line.name == name), None)


def _is_done(todo: Sequence[_Line]) -> bool:
    return (
        (_value(todo, "STATUS") or "").upper() == "COMPLETED"
        or _value(todo, "COMPLETED") is not None
        or _value(todo, "PERCENT-COMPLETE") == "100"
    )


def _mark(todo: Sequence[_Line], ticked: bool) -> Mark:
    if ticked:
        return Mark.DONE
    cancelled = (_value(todo, "STATUS") or "").upper() == "CANCELLED"
    return Mark.CANCELLED if cancelled else Mark.OPEN


def _completed(todo: Sequence[_Line], zone: str) -> tuple[datetime | None, date | None]:
    moment = _moment(todo, "COMPLETED", zone)
    return (moment, None) if isinstance(moment, datetime) else (None, moment)


def _moment(todo: Sequence[_Line], name: str, zone: str) -> datetime | date | None:
    """A day or a moment in UTC; None for what cannot be read, which is as good as not said."""
    line = next((line for line in todo if line.name == name), None)
    if line is None:
        return None
    text = line.value.strip()
    try:
        if len(text) == 8:
            # §3.8.2.1 allows a date-time only, yet days have been seen.
            return datetime.strptime(text, "%Y%m%d").replace(tzinfo=UTC).date()
        there = UTC if text[-1:] in {"Z", "z"} else _zone_named(line, zone)
        local = datetime.strptime(text.rstrip("Zz"), "%Y%m%dT%H%M%S").replace(tzinfo=there)
        return local.astimezone(UTC)
    except ValueError:
        return None


def _zone_named(line: _Line, zone: str) -> ZoneInfo:
    named = re.search(r";TZID=\"?([^\";:]+)", line.parameters, re.IGNORECASE)
    try:
        return ZoneInfo(named[1] if named else zone)
    except (ZoneInfoNotFoundError, ValueError):
        return ZoneInfo(zone)


def _told(
    lines: Sequence[_Line],
    notice: Notice | None,
    keys: Sequence[str],
    done: datetime | None,
    at: datetime,
) -> list[str]:
    parts = [part for part in _parts(lines) if part[0][1].value.upper() == "VTODO"]
    if not parts:
        raise BadData("it holds no task (VTODO)")
    mains = [
        part for part in parts if _value([line for _, line, _ in part], "RECURRENCE-ID") is None
    ]
    main = mains[0] if mains else parts[0]
    todo = [line for _, line, depth in main if depth == 1]
    due = f"{notice.day:%Y%m%d}" if notice is not None else (_value(todo, "DUE") or "")
    ours = _properties(todo, notice, keys, done, at)
    dropped = {place for part in parts if part is not main for place, _, _ in part}
    dropped |= {
        place
        for place, line, depth in main
        if depth == 1 and (line.name in _BARRED or _begins_late(line, due))
    }
    dropped |= {place for place, line, depth in main if depth == 1 and line.name in ours}
    begins = main[0][0]
    told: list[str] = []
    for place, line in enumerate(lines):
        # §4.1 of RFC 4791: a calendar object on a server has no METHOD.
        if place in dropped or line.name == "METHOD":
            continue
        told.append(line.text)
        if place == begins:
            # Before what is kept, so that properties stay ahead of a phone's alarms (§3.6.2).
            told += [text for texts in ours.values() for text in texts]
    return told


def _begins_late(line: _Line, due: str) -> bool:
    """Whether a DTSTART does not go with the DUE: §3.8.2.3 wants one type, and DUE the later."""
    if line.name != "DTSTART":
        return False
    value = line.value.strip()
    return len(value) != len(due) or value >= due


def _properties(
    todo: Sequence[_Line],
    notice: Notice | None,
    keys: Sequence[str],
    done: datetime | None,
    at: datetime,
) -> dict[str, list[str]]:
    """The lines of each property that is written anew; none to take it out."""
    shown = {} if notice is None else _shown(todo, plain_notice(notice))
    due_before = _value(todo, "DUE")
    moved = notice is not None and due_before != f"{notice.day:%Y%m%d}"
    turned = (_mark(todo, _is_done(todo)) is Mark.DONE) != (done is not None)
    before = _value(todo, "SEQUENCE")
    # §3.8.7.4 and RFC 5546 §2.1.4: DUE and STATUS raise SEQUENCE, words alone do not.
    number = int(before) + (moved or turned) if before and before.isdecimal() else 0
    return {
        "DTSTAMP": [f"DTSTAMP:{_stamp(at)}"],
        "LAST-MODIFIED": [f"LAST-MODIFIED:{_stamp(at)}"],
        "SEQUENCE": [f"SEQUENCE:{number}"],
        **shown,
        # §3.8.2.1: COMPLETED is a moment in UTC; programs differ in which of the three they read.
        "STATUS": ["STATUS:NEEDS-ACTION" if done is None else "STATUS:COMPLETED"],
        "COMPLETED": [] if done is None else [f"COMPLETED:{_stamp(done)}"],
        "PERCENT-COMPLETE": [f"PERCENT-COMPLETE:{0 if done is None else 100}"],
        KEY: [f"{KEY}:{escaped(key)}" for key in keys],
    }


def _shown(todo: Sequence[_Line], notice: Notice) -> dict[str, list[str]]:
    theirs = [
        item for line in todo if line.name == "CATEGORIES" for item in _ITEM.findall(line.value)
    ]
    kinds = dict.fromkeys([*map(escaped, notice.kinds), *theirs])
    return {
        # §3.8.2.3: DUE must be later than DTSTART, so work of one day has no DTSTART.
        "DUE": [f"DUE;VALUE=DATE:{notice.day:%Y%m%d}"],
        "SUMMARY": [f"SUMMARY:{escaped(notice.summary)}"],
        "DESCRIPTION": [f"DESCRIPTION:{escaped(notice.text)}"] if notice.text else [],
        "CATEGORIES": [f"CATEGORIES:{','.join(kinds)}"] if kinds else [],
    }


def _written(lines: Sequence[str]) -> bytes:
    return b"".join(_folded(line.encode("utf-8", "replace")) + b"\r\n" for line in lines)


def _folded(octets: bytes) -> bytes:
    """A line in pieces of at most 75 octets (§3.1), none of which cuts a UTF-8 character."""
    pieces: list[bytes] = []
    room = _LONGEST
    while len(octets) > room:
        cut = room
        while octets[cut] & 0b1100_0000 == 0b1000_0000:
            cut -= 1
        pieces.append(octets[:cut])
        octets = octets[cut:]
        room = _LONGEST - 1  # the space that follows a fold is part of the next line
    return b"\r\n ".join([*pieces, octets])


def _stamp(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _unescaped(value: str) -> str:
    return _ESCAPED.sub(lambda match: "\n" if match[1] in "nN" else match[1], value)
