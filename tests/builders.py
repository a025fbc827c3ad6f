"""Three-line builders: a house and its places, entries on days, what they add up to, a scene."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache

from cropplan.catalogue.model import Catalogue
from cropplan.catalogue.read import read_catalogue
from cropplan.holding.entry import (
    Act,
    Began,
    Entry,
    HouseSet,
    LoopSet,
    PlacesAdded,
    Seen,
    SetOut,
    SetOutPart,
    Voided,
)
from cropplan.holding.holding import Holding
from cropplan.holding.house import House
from cropplan.holding.loop import Loop
from cropplan.holding.own_duty import OwnDuty
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.replay import replay
from cropplan.holding.task import Subject, SubjectKind, Task, subject
from cropplan.schedule.climate import weather_of
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.scene import Scene, scene_of
from cropplan.schedule.tasks import open_tasks

#: The day on which the houses of the tests were put in.
START = date(2026, 3, 2)
HOUSE = House(name="north", latitude=51.5, longitude=-2.6, zone="Europe/London", since=START)
LOOP = Loop(name="main", house="north", volume_l=1200.0, species="carp", fish=20, since=START)
#: A beginning and a duty that nothing stands against; a test changes in them what it is about.
_CUTTINGS = Began(
    tag="tom9",
    crop="tomato",
    origin=Origin.CUTTING,
    count=2,
    place="T1",
    stage=Stage.STRUCK,
    started=START,
)
_OWN_DUTY = OwnDuty(
    id="own-1",
    code="o1",
    text="wipe the lamps",
    subject=subject(SubjectKind.HOUSE, "north"),
    begins=START,
    every_days=14,
)


def after(days: int, since: date = START) -> date:
    """So many days after the start, or after another day."""
    return since + timedelta(days=days)


def on(day: date, *acts: Act, by: str | None = None) -> list[Entry]:
    """Entries of one day, as the desk makes them; they get their numbers when replayed."""
    written = datetime.combine(day, time(19), UTC)
    return [Entry(happened=day, written=written, act=act, by=by) for act in acts]


def bare_house(*, second: bool = False) -> list[Entry]:
    """A house on one loop: buckets B1-B6, channels C1-C3, a bed W1 and the trays T1 and T2.

    second : a house called south beside it, with the buckets S1-S3 and a tray ST1.
    """
    acts: list[Act] = [
        HouseSet(house=HOUSE),
        LoopSet(loop=LOOP),
        PlacesAdded(
            codes=tuple(f"B{n}" for n in range(1, 7)),
            house="north",
            kind=PlaceKind.BUCKET,
            medium="perlite",
            filled=START,
            loop="main",
        ),
        PlacesAdded(codes=("C1", "C2", "C3"), house="north", kind=PlaceKind.CHANNEL, loop="main"),
        PlacesAdded(codes=("W1",), house="north", kind=PlaceKind.BED, holds=20, loop="main"),
        PlacesAdded(codes=("T1", "T2"), house="north", kind=PlaceKind.TRAY, holds=40),
    ]
    if second:
        acts += [
            HouseSet(house=replace(HOUSE, name="south", number=2)),
            PlacesAdded(codes=("S1", "S2", "S3"), house="south", kind=PlaceKind.BUCKET),
            PlacesAdded(codes=("ST1",), house="south", kind=PlaceKind.TRAY, holds=40),
        ]
    return on(START, *acts)


def struck(
    tag: str,
    day: date = START,
    *,
    crop: str = "tomato",
    count: int = 4,
    place: str = "T1",
    parent: str | None = None,
    way: Origin = Origin.CUTTING,
    cultivar: str | None = None,
    give: int = 0,
) -> list[Entry]:
    """Cuttings struck on a day, give or take some days."""
    act = Began(
        tag=tag,
        crop=crop,
        origin=way,
        count=count,
        place=place,
        stage=Stage.SOWN if way is Origin.SEED else Stage.STRUCK,
        cultivar=cultivar,
        parent=parent,
        started=day,
        started_give=give,
    )
    return on(day, act)


def cuttings(**changes: object) -> Began:
    """The beginning of two tomato cuttings, with something changed."""
    return replace(_CUTTINGS, **changes)


def sown(
    tag: str, day: date = START, *, crop: str = "lettuce", count: int = 10, place: str = "T1"
) -> list[Entry]:
    """Seed sown on a day."""
    return struck(tag, day, crop=crop, count=count, place=place, way=Origin.SEED)


def standing(
    tag: str,
    place: str = "B1",
    *,
    stage: Stage = Stage.FRUITING,
    crop: str = "tomato",
    count: int = 1,
    cultivar: str | None = None,
    day: date = START,
) -> list[Entry]:
    """A plant of unknown age that stood in the house before there was a record."""
    act = Began(
        tag=tag,
        crop=crop,
        origin=Origin.BOUGHT_IN,
        count=count,
        place=place,
        stage=stage,
        cultivar=cultivar,
        rooted=count,
    )
    return on(day, act)


def bought(tag: str, day: date = START, *, crop: str = "tomato") -> list[Entry]:
    """One plant bought in, standing apart in a tray."""
    act = cuttings(
        tag=tag,
        crop=crop,
        origin=Origin.BOUGHT_IN,
        count=1,
        stage=Stage.BOUGHT_IN,
        started=day,
    )
    return on(day, act)


def set_out(tag: str, day: date, *parts: tuple[str, int, str]) -> list[Entry]:
    """Plants set out: each part as place, plants and tag."""
    told = tuple(SetOutPart(place=place, count=count, tag=part) for place, count, part in parts)
    return on(day, SetOut(tag=tag, parts=told))


def saw(tag: str, stage: Stage, day: date, count: int | None = None) -> list[Entry]:
    """A stage seen on a day."""
    return on(day, Seen(tag=tag, stage=stage, count=count))


def rooted_tray(tag: str = "tom1") -> list[Entry]:
    """Four tomato cuttings, seen rooted after 10 days."""
    return [*struck(tag), *saw(tag, Stage.ROOTED, after(10))]


def flowering(tag: str = "tom1", place: str = "B1") -> list[Entry]:
    """A tomato from cutting to its first flower: set out after 20 days, in flower after 34."""
    return [
        *struck(tag, count=1),
        *set_out(tag, after(20), (place, 1, tag)),
        *saw(tag, Stage.FLOWERING, after(34)),
    ]


def bearing(
    tag: str = "tom1",
    place: str = "B1",
    *,
    parent: str | None = None,
    cultivar: str | None = None,
    start: date = START,
) -> list[Entry]:
    """A tomato from cutting to ripe fruit, every stage seen: rooted after 10 days, set out after
    20, in flower after 34, ripe after 84.
    """
    return [
        *struck(tag, start, count=1, parent=parent, cultivar=cultivar),
        *saw(tag, Stage.ROOTED, after(10, start)),
        *set_out(tag, after(20, start), (place, 1, tag)),
        *saw(tag, Stage.FLOWERING, after(34, start)),
        *saw(tag, Stage.FRUITING, after(84, start)),
    ]


def own_duty(**changes: object) -> OwnDuty:
    """A duty of the grower's own, every 14 days in the house, with something changed."""
    return replace(_OWN_DUTY, **changes)


def journal(*days: Iterable[Entry]) -> list[Entry]:
    """Entries one after another, numbered as a record numbers them."""
    listed = [entry for day in days for entry in day]
    return [replace(entry, id=number) for number, entry in enumerate(listed, start=1)]


def undone(entries: Sequence[Entry], number: int, day: date) -> list[Entry]:
    """A journal in which one more entry undoes an earlier one."""
    return journal(entries, on(day, Voided(entry=number)))


def held(*days: Iterable[Entry]) -> Holding:
    """What entries add up to."""
    return replay(journal(*days))


def scene(
    holding: Holding,
    today: date,
    *,
    lessons: Lessons | None = None,
    catalogue: Catalogue | None = None,
) -> Scene:
    """The scene of a day, with the real catalogue and each house's usual weather."""
    crops = frozenset(p.crop for p in holding.plantings.values())
    weathers = {house.name: weather_of(house) for house in holding.houses.values()}
    return scene_of(holding, catalogue or _catalogue(crops), weathers, today, lessons)


def seen_from(*days: Iterable[Entry], today: date) -> Scene:
    """The scene of a day, from entries."""
    return scene(held(*days), today)


def task(scene: Scene, duty: str, code: str) -> Task | None:
    """The open task of a duty with the thing of that tag, place or name; None when there is none.

    Fails when there are several, for one duty has one open task with one subject.
    """
    found = [t for t in open_tasks(scene) if t.key.duty == duty and t.key.subject.code == code]
    assert len(found) <= 1, f"{len(found)} open tasks of {duty} with {code}"
    return found[0] if found else None


def about(tag: str) -> Subject:
    """A planting as the subject of a duty."""
    return subject(SubjectKind.PLANTING, tag)


@lru_cache(maxsize=64)
def _catalogue(crops: frozenset[str]) -> Catalogue:
    return read_catalogue(crops)
