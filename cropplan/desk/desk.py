"""The desk itself: an open record, the clock, and who is writing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from cropplan.catalogue.model import Catalogue
from cropplan.catalogue.read import read_catalogue
from cropplan.desk.lessons import crops_told_of, learn_again, lessons_from
from cropplan.growth.stages import Weather
from cropplan.holding.holding import Holding
from cropplan.holding.house import House
from cropplan.holding.logged import Logged
from cropplan.holding.planting import Planting
from cropplan.problems import Refusal, did_you_mean
from cropplan.record.store import Record, open_record
from cropplan.schedule.climate import weather_of
from cropplan.schedule.scene import Scene, scene_of

if TYPE_CHECKING:
    from cropplan.holding.entry import Act, Entry

#: Readings this old no longer move any date that is still to come. [d]
_READINGS_FOR = 400
#: Weeks of feed and water that are looked back on.
WATER_WEEKS = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """Where every face asks and acts.

    record : open. clock : the moment now, with its time zone. by : who is writing, if said.
    """

    record: Record
    clock: Callable[[], datetime]
    by: str | None = None

    @property
    def own_figures(self) -> Path:
        """The grower's own catalogue figures, in a file beside the record."""
        return own_figures_of(self.record.path)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What an act came to.

    said : lines to show, the same on every face. entries : numbers written; none when all was
    known already.
    """

    said: tuple[str, ...]
    entries: tuple[int, ...] = ()


def own_figures_of(record: Path) -> Path:
    """Where the grower's own figures are kept for the record at a path."""
    return record.with_suffix(".own.toml")


def open_desk(
    path: Path, *, clock: Callable[[], datetime], by: str | None = None, create: bool = False
) -> Desk:
    """The desk over the record at `path`; with `create`, a new record where there is none.

    Raises Refusal or BadData when the record cannot be opened.
    """
    return Desk(record=open_record(path, create=create), clock=clock, by=by)


def today_in(desk: Desk, house: House) -> date:
    """Today in the house, whatever the computer's own zone."""
    return desk.clock().astimezone(ZoneInfo(house.zone)).date()


def house_called(holding: Holding, name: str | None) -> House:
    """The house of that name, or the only one there is.

    Raises Refusal when there is none, or several and none was named.
    """
    if not holding.houses:
        raise Refusal("the record has no house yet; put one in with 'cropplan house new'")
    if name is None:
        if len(holding.houses) > 1:
            raise Refusal(f"name the house with --house: {', '.join(holding.houses)}")
        return next(iter(holding.houses.values()))
    house = holding.houses.get(name)
    if house is None:
        raise Refusal(f"no house is called '{name}'{did_you_mean(name, holding.houses)}")
    return house


def first_house(holding: Holding) -> House:
    """The house put in first; its zone rules where no house is named."""
    if not holding.houses:
        raise Refusal("the record has no house yet; put one in with 'cropplan house new'")
    return min(holding.houses.values(), key=lambda house: house.number)


def day_done(desk: Desk, holding: Holding, on: date | None) -> date:
    """The day a thing was done: today in the house unless said; never a day still to come."""
    today = today_in(desk, first_house(holding))
    if on is not None and on > today:
        raise Refusal(f"{on} is still to come (today is {today}); things done cannot lie ahead")
    return on or today


def write(
    desk: Desk, happened: date, acts: Iterable[Act], *, note: str | None = None
) -> tuple[Holding, list[Entry]]:
    """Write acts that happened on a day, all or none, and learn from what they tell."""
    return write_days(desk, ((happened, act) for act in acts), note=note)


def write_days(
    desk: Desk, acts: Iterable[tuple[date, Act]], *, note: str | None = None
) -> tuple[Holding, list[Entry]]:
    """Write acts that happened on different days, as one command's entries: all or none."""
    from cropplan.holding.entry import Entry  # the morning list only reads

    written = desk.clock().astimezone(UTC)
    entries = [
        Entry(happened=day, written=written, act=act, by=desk.by, note=note) for day, act in acts
    ]
    holding, numbered = desk.record.append(entries)
    told = crops_told_of([entry.act for entry in numbered], holding)
    if told:
        learn(desk, holding, told)
    return holding, numbered


def learn(desk: Desk, holding: Holding, crops: Iterable[str]) -> None:
    """Work out anew what the record teaches of crops."""
    known = set(crops)
    today = today_in(desk, first_house(holding))
    since = min((p.started for p in holding.plantings.values() if p.started), default=today)
    weathers = _weathers(desk, holding, since)
    at = {
        (house, crop): weathers.set_back.get((house, crop)) or weathers.houses[house]
        for house in holding.houses
        for crop in known
    }
    catalogue = read_catalogue(known, desk.own_figures)
    learn_again(desk.record, holding, catalogue, at, today, sorted(known))


def learn_all(desk: Desk) -> None:
    """Learn from the whole record anew, as after it was put together from an export."""
    holding = desk.record.snapshot()
    if holding.houses:
        learn(desk, holding, {p.crop for p in holding.plantings.values()})


def numbers(entries: Sequence[Entry]) -> tuple[int, ...]:
    """The numbers of entries."""
    return tuple(entry.id for entry in entries)


def catalogue_for(desk: Desk, holding: Holding, *more: str) -> Catalogue:
    """The catalogue of what stands in the house, and of crops named besides; no more is read."""
    standing = {p.crop for p in holding.plantings.values() if p.alive}
    planned = {strike.crop for strike in holding.plan.strikes} if holding.plan else set()
    return read_catalogue(
        standing | planned | set(holding.goals) | set(more),
        desk.own_figures,
        fish_ids={loop.species for loop in holding.loops.values()},
        medium_ids={place.medium for place in holding.places.values() if place.medium},
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Weathers:
    """Conditions by day: of houses, of crops that had a setback of their own, and the usual."""

    houses: dict[str, Weather]
    set_back: dict[tuple[str, str], Weather]
    usual: dict[str, Weather]


def _weathers(desk: Desk, holding: Holding, since: date) -> _Weathers:
    told = _Weathers(houses={}, set_back={}, usual={})
    for house in holding.houses.values():
        readings = {r.day: r for r in desk.record.temperatures(house.name, since)}
        lost = [s for s in holding.setbacks if s.house == house.name]
        everywhere = [s for s in lost if s.crop is None]
        told.houses[house.name] = weather_of(house, readings, everywhere)
        for crop in {s.crop for s in lost if s.crop is not None}:
            theirs = [s for s in lost if s.crop in {None, crop}]
            told.set_back[house.name, crop] = weather_of(house, readings, theirs)
        if readings or lost:
            told.usual[house.name] = weather_of(house)
    return told


@dataclass(frozen=True, slots=True, kw_only=True)
class _WaterWeeks:
    """What was done with the water lately, and which plantings ended in those weeks."""

    log: Sequence[Logged] = ()
    ended: Sequence[Planting] = ()


def _water_weeks(desk: Desk, holding: Holding, today: date) -> _WaterWeeks:
    since = today - timedelta(days=WATER_WEEKS * 7)
    log = desk.record.water_log(since) if holding.loops else ()
    log = [one for one in log if one.day <= today]
    return _WaterWeeks(log=log, ended=desk.record.ended_since(since))


def scene_on(
    desk: Desk, holding: Holding, today: date, catalogue: Catalogue | None = None
) -> Scene:
    """The scene of one day, with the house's readings and what its record has taught."""
    weathers = _weathers(desk, holding, today - timedelta(days=_READINGS_FOR))
    water = _water_weeks(desk, holding, today)
    standing = {p.crop for p in water.ended}
    known = catalogue or catalogue_for(desk, holding, *standing)
    return scene_of(
        holding,
        known,
        weathers.houses,
        today,
        lessons_from(desk.record, known),
        set_back=weathers.set_back,
        usual=weathers.usual,
        water_log=water.log,
        ended=water.ended,
    )
