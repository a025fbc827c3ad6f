"""The desk itself: an open record, the clock, and who is writing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from cropplan.catalogue.model import Catalogue
from cropplan.catalogue.read import read_catalogue
from cropplan.desk.lessons import lessons_from
from cropplan.holding.entry import Act, Entry
from cropplan.holding.holding import Holding
from cropplan.holding.house import House
from cropplan.problems import Refusal, did_you_mean
from cropplan.record.store import Record
from cropplan.schedule.climate import weather_of
from cropplan.schedule.scene import Scene, scene_of

#: Readings this old no longer move any date that is still to come. [d]
_READINGS_FOR = 400


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
        return self.record.path.with_suffix(".own.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What an act came to.

    said : lines to show, the same on every face. entries : numbers written; none when all was
    known already.
    """

    said: tuple[str, ...]
    entries: tuple[int, ...] = ()


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
    """Write acts that happened on a day, all or none."""
    written = desk.clock().astimezone(UTC)
    entries = [
        Entry(happened=happened, written=written, act=act, by=desk.by, note=note) for act in acts
    ]
    return desk.record.append(entries)


def numbers(entries: Sequence[Entry]) -> tuple[int, ...]:
    """The numbers of entries."""
    return tuple(entry.id for entry in entries)


def catalogue_for(desk: Desk, holding: Holding, *more: str) -> Catalogue:
    """The catalogue of the crops that stand in the house, and of those named besides."""
    standing = {p.crop for p in holding.plantings.values() if p.alive}
    return read_catalogue(standing | set(more), desk.own_figures)


def scene_on(
    desk: Desk, holding: Holding, today: date, catalogue: Catalogue | None = None
) -> Scene:
    """The scene of one day, with the house's readings and what its record has taught."""
    since = today - timedelta(days=_READINGS_FOR)
    weathers, set_back, usual = {}, {}, {}
    for house in holding.houses.values():
        readings = {r.day: r for r in desk.record.temperatures(house.name, since)}
        lost = [s for s in holding.setbacks if s.house == house.name]
        weathers[house.name] = weather_of(house, readings, [s for s in lost if s.crop is None])
        for crop in {s.crop for s in lost if s.crop is not None}:
            theirs = [s for s in lost if s.crop in {None, crop}]
            set_back[house.name, crop] = weather_of(house, readings, theirs)
        if readings or lost:
            usual[house.name] = weather_of(house)
    known = catalogue or catalogue_for(desk, holding)
    lessons = lessons_from(desk.record)
    return scene_of(holding, known, weathers, today, lessons, set_back=set_back, usual=usual)
