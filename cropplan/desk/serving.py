"""The calendar as it is served: told once, cut to what a key may see, built once a change."""

from __future__ import annotations

import gzip
import uuid
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from hashlib import sha256

from cropplan.desk.calendar import DAYS_AHEAD, KINDS, OTHER_KIND, notice_of
from cropplan.desk.desk import Desk, first_house, today_in
from cropplan.desk.look import scene_today
from cropplan.holding.holding import Holding, Turn
from cropplan.holding.house import House
from cropplan.holding.notice import Notice, Published
from cropplan.holding.task import Subject, SubjectKind, TaskKey
from cropplan.record.keys import Key
from cropplan.schedule.outlook import outlook
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import at_large, day_text, list_text

#: How long work that was done stays in the calendar, with a mark. [d]
DAYS_BACK = 14
#: What one of the great calendars was seen to take: 1 MB and 1,111 events. A feed half as large
#: is safe (github.com/roed314/seminars/issues/777, github.com/JM-Lemmi/ical-relay/issues/212).
MOST_EVENTS = 1000
MOST_OCTETS = 512 * 1024
_MARK = "✓"
_ABOUT = "The work of the house, as the record knows it. The morning list comes first."


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """One calendar ready to be sent.

    body, packed : the same octets, plain and in gzip. etag, packed_etag : of each, strong.
    revised : when what calendars are told last changed. events : how many it shows.
    warning : what was left out so that phones take it; None when nothing was.
    """

    body: bytes
    packed: bytes
    etag: str
    packed_etag: str
    revised: datetime
    events: int
    warning: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """Everything that calendars are told, and what it was told from.

    file : which file the record was; one put in its place may have as many entries.
    houses : of each notice, by its key. house : the one whose day is today.
    """

    file: int
    revision: int
    figures: int
    today: date
    house: House
    live: tuple[tuple[Notice, Published], ...]
    houses: Mapping[str, str]
    all_houses: tuple[str, ...]
    revised: datetime


@dataclass(slots=True)
class Feeds:
    """Keeps each calendar until the record, the day or the grower's figures change.

    built : how many were made since the start, which a poll must never raise.
    """

    built: int = 0
    _told: _Told | None = None
    _ready: dict[tuple[str | None, tuple[str, ...]], Feed] = field(default_factory=dict)

    def feed(self, desk: Desk, key: Key) -> Feed:
        """The calendar that a key opens."""
        if self._told is None or not _still_so(desk, self._told):
            # When this fails, what was told before is kept for when the fault is mended.
            self._told = _tell(desk)
            self._ready.clear()
        wanted = (key.house, key.works)
        if wanted not in self._ready:
            self._ready[wanted] = _made(desk.record.namespace, self._told, *wanted)
            self.built += 1
        return self._ready[wanted]


def _still_so(desk: Desk, told: _Told) -> bool:
    """Whether nothing has changed of what calendars are told from: entries, day, figures."""
    return (
        told.revision == desk.record.revision
        and told.file == desk.record.path.stat().st_ino
        and told.today == today_in(desk, told.house)
        and told.figures == _figures_of(desk)
    )


def _figures_of(desk: Desk) -> int:
    figures = desk.own_figures
    return figures.stat().st_mtime_ns if figures.exists() else 0


def _tell(desk: Desk) -> _Told:
    """Work out what calendars are to be told, and keep it in the record."""
    from cropplan.ics.published import compare, feed_revised

    # Before the record is read: what is written meanwhile must show as a change.
    file, revision = desk.record.path.stat().st_ino, desk.record.revision
    figures = _figures_of(desk)
    holding, scene = scene_today(desk)
    lines = outlook(scene, scene.today + timedelta(days=DAYS_AHEAD))
    notices = [(notice_of(line, scene.catalogue.cautions), line.house) for line in lines]
    notices += _done_lately(scene, holding)
    known = desk.record.published()
    # What changes is stamped later than all before it, even within one second or after the clock
    # was set back, so Last-Modified tells any two calendars apart.
    said = [notice for notice, _ in notices]
    made = desk.record.made
    publishing = compare(said, known, desk.clock(), desk.record.namespace, made=made)
    if publishing.changed:
        desk.record.publish(publishing.changed, publishing.gone)
    told = {**known, **{row.key: row for row in publishing.changed}}
    return _Told(
        file=file,
        revision=revision,
        figures=figures,
        today=scene.today,
        house=first_house(holding),
        live=publishing.live,
        houses={notice.key: house for notice, house in notices},
        all_houses=tuple(holding.houses),
        revised=feed_revised(told.values(), made=made),
    )


def _done_lately(scene: Scene, holding: Holding) -> list[tuple[Notice, str]]:
    """Each job's last turn, if it was done in the days the calendar looks back on."""
    since = scene.today - timedelta(days=DAYS_BACK)
    gathered: dict[tuple[str, str, date], list[Turn]] = defaultdict(list)
    for turn in holding.turns.values():
        duty = scene.catalogue.duties.get(turn.duty)
        shown = turn.duty in holding.own_duties or (duty is not None and duty.in_calendar)
        if shown and turn.skip_why is None and turn.last_done and turn.last_done >= since:
            job = _job(scene, turn)
            if job is not None:
                gathered[job, _house_of(holding, turn.subject), turn.last_done].append(turn)
    return [
        (_done_notice(holding, job, turns, day), house)
        for (job, house, day), turns in gathered.items()
    ]


def _job(scene: Scene, turn: Turn) -> str | None:
    """The words of a turn's work; None when its subject is no longer held."""
    own = scene.holding.own_duties.get(turn.duty)
    if own is not None:
        return own.text
    named = turn.subject.code
    if turn.subject.kind is SubjectKind.PLANTING:
        planting = scene.holding.plantings.get(named)
        if planting is None or planting.crop not in scene.catalogue.crops:
            return None
        named = scene.catalogue.crops[planting.crop].plural
    if turn.subject.kind is SubjectKind.PLAN:
        # A planned strike is fulfilled by striking, which shows as cuttings of its own.
        return None
    if turn.subject.kind is SubjectKind.PLACE:
        named = scene.holding.places[named].medium or "the medium"
    return at_large(scene.catalogue.duties[turn.duty].job, named)


def _house_of(holding: Holding, about: Subject) -> str:
    match about.kind:
        case SubjectKind.HOUSE:
            return about.code
        case SubjectKind.PLAN:
            return first_house(holding).name
        case SubjectKind.LOOP:
            return holding.loops[about.code].house
        case SubjectKind.PLACE:
            return holding.places[about.code].house
        case SubjectKind.PLANTING:
            return holding.places[holding.plantings[about.code].place].house


def _done_notice(holding: Holding, job: str, turns: Sequence[Turn], day: date) -> Notice:
    """The same event that asked for the work, now with a mark, on the day it was done."""
    places = sorted(set(_places_of(holding, turns)), key=lambda code: holding.places[code].walk)
    where = f": {list_text(places, most=6)}" if places else ""
    by = sorted({turn.last_by for turn in turns if turn.last_by})
    return Notice(
        key=str(min(TaskKey(turn.duty, turn.subject, turn.number - 1) for turn in turns)),
        day=day,
        summary=f"{_MARK} {job}{where}",
        text=f"Done on {day_text(day)}" + (f" by {list_text(by)}" if by else ""),
        kinds=(KINDS.get(turns[0].duty, OTHER_KIND),),
        tentative=False,
    )


def _places_of(holding: Holding, turns: Sequence[Turn]) -> Iterator[str]:
    for turn in turns:
        if turn.subject.kind is SubjectKind.PLACE:
            yield turn.subject.code
        elif turn.subject.kind is SubjectKind.PLANTING:
            yield holding.plantings[turn.subject.code].place


def _made(namespace: uuid.UUID, told: _Told, house: str | None, works: tuple[str, ...]) -> Feed:
    live = [
        (notice, row)
        for notice, row in told.live
        if (house is None or told.houses[notice.key] == house)
        and (not works or not set(works).isdisjoint(notice.kinds))
    ]
    name = house or list_text(told.all_houses)
    if works:
        name = f"{name}: {list_text(works)}"
    which = ":".join(["calendar", *([house or "", *works] if house or works else [])])
    body, shown = _within_limits(live, name, uuid.uuid5(namespace, which), told.revised)
    warning = None
    if shown < len(live):
        last = live[shown - 1][0].day if shown else None
        warning = (
            f"'{name}' has {len(live)} events; only those up to {last} are shown, for phones take "
            f"{MOST_EVENTS} events and {MOST_OCTETS // 1024} KiB: use a key for a kind of work"
        )
    # No time in the gzip header, or the same calendar would be packed into other octets.
    packed = gzip.compress(body, mtime=0)
    return Feed(
        body=body,
        packed=packed,
        etag=f'"{sha256(body).hexdigest()}"',
        packed_etag=f'"{sha256(packed).hexdigest()}"',
        revised=told.revised,
        events=shown,
        warning=warning,
    )


def _within_limits(
    live: Sequence[tuple[Notice, Published]], name: str, uid: uuid.UUID, revised: datetime
) -> tuple[bytes, int]:
    """The calendar of as many of the nearest days as phones take, and how many events it has."""
    from cropplan.ics.ical import render

    shown = len(live)
    if shown > MOST_EVENTS:
        shown = _whole_days(live, MOST_EVENTS)
    while True:
        body = render(live[:shown], name=name, calendar_uid=uid, revised=revised, about=_ABOUT)
        if len(body) <= MOST_OCTETS or shown == 0:
            return body, shown
        shown = _whole_days(live, shown * MOST_OCTETS // len(body))


def _whole_days(live: Sequence[tuple[Notice, Published]], most: int) -> int:
    """The most events up to the end of some day, for a day shown in part is a trap."""
    after = live[most][0].day
    return next((n for n, (notice, _) in enumerate(live) if notice.day == after), 0)
