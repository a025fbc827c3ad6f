"""What the phone's pages show: the day, the week, and for a neighbour what must go on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import Enum

from cropplan.catalogue.model import Caution, Crop, Habit, Trigger
from cropplan.desk.beginnings import crop_called
from cropplan.desk.desk import Desk, first_house, today_in
from cropplan.desk.keeping import spoken
from cropplan.desk.look import Life, journal, life_of, scene_today
from cropplan.desk.neighbour import Errands, errands
from cropplan.holding import turns
from cropplan.holding.entry import Picked, Voided
from cropplan.holding.growing import living
from cropplan.holding.house import House, Units
from cropplan.holding.place import Place
from cropplan.holding.planting import CLONAL, RAISING, Planting, Stage
from cropplan.holding.season import SeasonPlan
from cropplan.holding.task import State, SubjectKind
from cropplan.problems import Refusal
from cropplan.record.keys import Key, KeyKind
from cropplan.schedule.outlook import outlook
from cropplan.schedule.rounds import Line, Rounds, rounds_of
from cropplan.schedule.scene import Scene

#: How far the page of the days to come looks. [d]
WEEK = 7
#: How far back to look for what was written today. [entries]
_LOOK_BACK = 200


class Ask(Enum):
    """What a line wants to know besides that it was done."""

    NOTHING = "nothing"
    AMOUNT = "amount"
    HEADS = "heads"
    SIGHT = "sight"
    STRUCK = "struck"
    PLACES = "places"
    ELSEWHERE = "elsewhere"


@dataclass(frozen=True, slots=True, kw_only=True)
class PhoneLine:
    """A line of the rounds with what a phone may say to it.

    unit : of the amount picked. sight : the stage that is looked for.
    ration_g : the feed to give, where it is known. [g]
    plantings : those that the line is about, in walking order.
    """

    line: Line
    ask: Ask = Ask.NOTHING
    unit: str | None = None
    sight: Stage | None = None
    ration_g: float | None = None
    plantings: tuple[Planting, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Something written for today, which can be undone from the page."""

    entry: int
    said: str
    by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Today:
    """The page of the day for one key.

    rounds : one for each house; lines : the same lines with what they ask for, by house.
    trays : places to strike into. places : all places in use. told : what was written for today.
    """

    on: date
    rounds: tuple[Rounds, ...]
    houses: Mapping[str, House]
    lines: Mapping[str, tuple[PhoneLine, ...]]
    cautions: Mapping[str, Caution]
    trays: tuple[str, ...]
    places: tuple[str, ...]
    told: tuple[Told, ...]


def today(desk: Desk, key: Key, *, ahead: int = 3) -> Today:
    """What a key shows of today; a neighbour's only what must go on, and only while it must."""
    holding, scene = scene_today(desk)
    houses = sorted(
        (house for house in holding.houses.values() if key.house in {None, house.name}),
        key=lambda house: house.number,
    )
    listed = [rounds_of(scene, house, ahead) for house in houses]
    if key.kind is KeyKind.NEIGHBOUR:
        listed = [_errands_of(one, key) for one in listed]
    places = _in_use(scene, key.house)
    return Today(
        on=scene.today,
        rounds=tuple(listed),
        houses={house.name: house for house in houses},
        lines={one.house: tuple(_asked(scene, line) for line in one.lines) for one in listed},
        cautions=scene.catalogue.cautions,
        trays=tuple(place.code for place in places if place.kind.value in {"tray", "pot"}),
        places=tuple(place.code for place in places),
        told=_told_on(desk, scene.today) if key.kind is KeyKind.PHONE else (),
    )


def is_open(key: Key, day: date) -> bool:
    """Whether a key may answer for a day; a neighbour's only for the days of the absence."""
    if key.first is None or key.last is None:
        return True
    return key.first <= day <= key.last


def _errands_of(one: Rounds, key: Key) -> Rounds:
    lines = tuple(
        line
        for line in one.lines
        if line.survival and line.state is not State.COMING and is_open(key, one.on)
    )
    return replace(one, lines=lines, remarks=(), minutes=sum(line.minutes for line in lines))


def _in_use(scene: Scene, house: str | None) -> list[Place]:
    holding = scene.holding
    inside = [
        p for p in holding.places.values() if p.retired_on is None and house in {None, p.house}
    ]
    return sorted(inside, key=lambda p: (holding.houses[p.house].number, p.walk))


def _asked(scene: Scene, line: Line) -> PhoneLine:
    holding = scene.holding
    about = [s.code for s in line.subjects if s.kind is SubjectKind.PLANTING]
    concerned = tuple(holding.plantings[tag] for tag in about if tag in holding.plantings)
    crop = scene.catalogue.crops.get(concerned[0].crop) if concerned else None
    ration = None
    if line.duty == turns.FISH and line.subjects[0].kind is SubjectKind.LOOP:
        ration = holding.loops[line.subjects[0].code].feed_g
    ask, sight = _ask(scene, line, crop)
    return PhoneLine(
        line=line,
        ask=ask,
        unit=None if crop is None else crop.pick_unit,
        sight=sight,
        ration_g=ration,
        plantings=concerned,
    )


def _ask(scene: Scene, line: Line, crop: Crop | None) -> tuple[Ask, Stage | None]:
    if line.duty == turns.PICK and crop is not None:
        return (Ask.HEADS if crop.habit is Habit.HEAD else Ask.AMOUNT), None
    if line.duty == "strike":
        clonal = crop is not None and crop.ways[0] in CLONAL
        return (Ask.STRUCK if clonal else Ask.ELSEWHERE), None
    if line.duty == "set-out":
        return Ask.PLACES, None
    duty = scene.catalogue.duties.get(line.duty)
    if duty is not None and duty.trigger is Trigger.WATCH and duty.awaits is not None:
        return Ask.SIGHT, duty.awaits
    return Ask.NOTHING, None


def _told_on(desk: Desk, day: date) -> tuple[Told, ...]:
    return tuple(
        Told(entry=one.entry.id, said=spoken(one.entry), by=one.entry.by)
        for one in reversed(journal(desk, last=_LOOK_BACK))
        if one.entry.happened == day and not one.voided and not isinstance(one.entry.act, Voided)
    )


def week(desk: Desk, key: Key) -> list[tuple[date, tuple[Line, ...]]]:
    """The work of the coming days, day by day; what is done every day is left to the rounds."""
    _, scene = scene_today(desk)
    until = scene.today + timedelta(days=WEEK)
    found: dict[tuple[str, date], Line] = {}
    for house in scene.holding.houses.values():
        for line in rounds_of(scene, house, WEEK).lines:
            found[line.handle, line.due] = line
    for line in outlook(scene, until):
        found[line.handle, line.due] = line
    by_day: dict[date, list[Line]] = defaultdict(list)
    for line in found.values():
        if scene.today < line.due <= until and key.house in {None, line.house}:
            by_day[line.due].append(line)
    return [
        (day, tuple(sorted(by_day[day], key=lambda line: (line.rank, line.handle))))
        for day in sorted(by_day)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """One harvest of a planting. amount : None when it was not weighed or counted."""

    on: date
    amount: float | None
    by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantPage:
    """A planting with its crop, its picks and what was written of it, newest first.

    told : the day, the words, the note and who wrote it.
    """

    life: Life
    crop: Crop
    house: House
    picks: Sequence[Pick]
    told: Sequence[tuple[date, str, str | None, str | None]]


def plant_page(desk: Desk, key: Key, tag: str) -> PlantPage | None:
    """The page of a planting, ended or not; None for one that this key does not show."""
    holding = desk.record.snapshot()
    planting = holding.plantings.get(tag)
    if planting is None or key.house not in {None, holding.places[planting.place].house}:
        return None
    standing = [one.entry for one in journal(desk, tag=tag, last=None) if not one.voided]
    entries = [entry for entry in reversed(standing) if not isinstance(entry.act, Voided)]
    return PlantPage(
        life=life_of(desk, tag),
        crop=crop_called(desk, planting.crop),
        house=holding.houses[holding.places[planting.place].house],
        picks=[
            Pick(on=entry.happened, amount=entry.act.amount, by=entry.by)
            for entry in entries
            if isinstance(entry.act, Picked) and entry.act.tag == tag
        ],
        told=[(entry.happened, spoken(entry), entry.note, entry.by) for entry in entries],
    )


def harvest_unit(desk: Desk, tag: str) -> tuple[str, Units]:
    """The crop's own unit of a planting's harvest, and the units its house is spoken of in."""
    holding = desk.record.snapshot(living_only=True)
    planting = living(holding, tag)
    house = holding.houses[holding.places[planting.place].house]
    return crop_called(desk, planting.crop).pick_unit, house.units


def is_bearing(planting: Planting) -> bool:
    """Whether a planting can be picked from."""
    return planting.alive and planting.stage not in RAISING


def season(desk: Desk, key: Key) -> SeasonPlan | None:
    """The plan in force, when this key shows it; a plan is for the first house of the record."""
    holding = desk.record.snapshot(living_only=True)
    shown = key.house in {None, first_house(holding).name}
    return holding.plan if shown else None


def today_for(desk: Desk) -> date:
    """Today in the first house of the record."""
    return today_in(desk, first_house(desk.record.snapshot(living_only=True)))


def sheet(desk: Desk, key: Key) -> Errands:
    """The whole work of the absence a neighbour's key is for, day by day."""
    if key.first is None or key.last is None:
        raise Refusal(f"the key '{key.label}' is for no absence")
    return errands(desk, key.first, key.last, house=key.house)
