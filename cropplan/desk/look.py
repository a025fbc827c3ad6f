"""Questions: what stands where, a planting's life, the water, the journal, a time away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.catalogue.model import Caution
from cropplan.desk.desk import Desk, first_house, house_called, scene_on, today_in
from cropplan.desk.morning import MorningList, rounds
from cropplan.holding.entry import Entry
from cropplan.holding.holding import Holding
from cropplan.holding.house import Absence, House
from cropplan.holding.place import Place
from cropplan.holding.planting import Planting
from cropplan.problems import Refusal, did_you_mean
from cropplan.schedule.rounds import Line, lines_of
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_tasks
from cropplan.schedule.timeline import Timeline

__all__ = [
    "AbsenceSheet",
    "Life",
    "MorningList",
    "Standing",
    "Written",
    "absence_sheet",
    "houses",
    "journal",
    "life_of",
    "places",
    "plantings",
    "rounds",
    "scene_today",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """One planting with its past and its dates to come, and its nearest kin."""

    planting: Planting
    timeline: Timeline | None
    parent: str | None
    children: tuple[str, ...]
    sisters: tuple[str, ...]


def life_of(desk: Desk, tag: str, *, on: date | None = None) -> Life:
    """The life of a planting, ended or not."""
    holding = desk.record.snapshot()
    planting = holding.plantings.get(tag)
    if planting is None:
        raise Refusal(f"no planting has the tag '{tag}'{did_you_mean(tag, holding.plantings)}")
    scene = scene_on(desk, holding, on or today_in(desk, first_house(holding)))
    others = [p for p in holding.plantings.values() if p.tag != tag]
    return Life(
        planting=planting,
        timeline=scene.timelines.get(tag),
        parent=planting.parent,
        children=tuple(p.tag for p in others if tag in {p.parent, p.split_of}),
        sisters=tuple(p.tag for p in others if p.clone == planting.clone and p.alive),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A place and what stands in it."""

    place: Place
    plantings: tuple[Planting, ...]


def places(desk: Desk, *, house: str | None = None) -> list[Standing]:
    """Every place in walking order, with what stands there; those out of service last."""
    holding = desk.record.snapshot(living_only=True)
    if house is not None:
        house_called(holding, house)
    number = {name: known.number for name, known in holding.houses.items()}
    listed = [p for p in holding.places.values() if house in {None, p.house}]
    listed.sort(key=lambda p: (p.retired_on is not None, number[p.house], p.walk))
    return [Standing(place=p, plantings=tuple(holding.standing_in(p.code))) for p in listed]


def plantings(desk: Desk, *, all_of_them: bool = False) -> Sequence[Planting]:
    """Living plantings, or all that ever were."""
    holding = desk.record.snapshot(living_only=not all_of_them)
    return sorted(holding.plantings.values(), key=lambda p: (p.crop, len(p.tag), p.tag))


def houses(desk: Desk) -> list[House]:
    """The houses of the record, in order."""
    holding = desk.record.snapshot(living_only=True)
    return sorted(holding.houses.values(), key=lambda house: house.number)


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A journal entry, and whether it was undone later."""

    entry: Entry
    voided: bool


def journal(desk: Desk, *, tag: str | None = None, last: int | None = 20) -> list[Written]:
    """Entries in the order written, newest last."""
    if tag is not None and tag not in desk.record.snapshot().plantings:
        known = desk.record.snapshot().plantings
        raise Refusal(f"no planting has the tag '{tag}'{did_you_mean(tag, known)}")
    voided = desk.record.voided()
    return [
        Written(entry=entry, voided=entry.id in voided)
        for entry in desk.record.journal(tag=tag, last=last)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class AbsenceSheet:
    """What a time away asks for: before leaving, while away, on return."""

    absence: Absence
    before: tuple[Line, ...]
    meanwhile: tuple[Line, ...]
    after: tuple[Line, ...]
    cautions: dict[str, Caution]


def absence_sheet(desk: Desk, first: date, last: date, *, house: str | None = None) -> AbsenceSheet:
    """The work around a time away that is in the record."""
    holding = desk.record.snapshot(living_only=True)
    today = today_in(desk, first_house(holding))
    scene = scene_on(desk, holding, today)
    tasks = [t for t in open_tasks(scene) if house in {None, t.house}]
    leaving, back = first - timedelta(days=1), last + timedelta(days=1)
    before = [t for t in tasks if t.due <= leaving and not (t.survival and t.due < leaving)]
    meanwhile = [t for t in tasks if t.survival]
    after = [t for t in tasks if t.due == back and not t.survival]
    lines = [lines_of(group, holding) for group in (before, meanwhile, after)]
    needed = {c for group in lines for line in group for c in line.cautions}
    return AbsenceSheet(
        absence=Absence(first=first, last=last, house=house),
        before=tuple(lines[0]),
        meanwhile=tuple(lines[1]),
        after=tuple(lines[2]),
        cautions={id_: c for id_, c in scene.catalogue.cautions.items() if id_ in needed},
    )


def scene_today(desk: Desk, *, on: date | None = None) -> tuple[Holding, Scene]:
    """What is held, and the scene of a day."""
    holding = desk.record.snapshot(living_only=True)
    return holding, scene_on(desk, holding, on or today_in(desk, first_house(holding)))
