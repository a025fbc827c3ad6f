"""The first day of an invented house: what it is, what stands in it, told to the desk."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from pathlib import Path
from typing import Any
from unittest.mock import patch

from cropplan.catalogue.model import Catalogue, Crop
from cropplan.catalogue.read import read_catalogue
from cropplan.desk import beginnings, duties, plantings, premises
from cropplan.desk.desk import Desk
from cropplan.growth.stages import Weather
from cropplan.holding.house import DayTemperature, House, Setback
from cropplan.holding.loop import Loop
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Stage
from cropplan.schedule.climate import weather_of
from tests.story.hands import Clock


@cache
def crop_of(crop_id: str) -> Crop:
    """A crop of the catalogue."""
    return read_catalogue([crop_id]).crops[crop_id]


def house_of(facts: Mapping[str, Any]) -> House:
    """The house that facts describe."""
    return House(**{k: tuple(v) if isinstance(v, list) else v for k, v in facts["house"].items()})


def move_in(desk: Desk, clock: Clock, facts: Mapping[str, Any]) -> None:
    """Tell the desk of the house, its water, its places, and of what stood in them already."""
    house = house_of(facts)
    premises.new_house(desk, house)
    clock.later()
    premises.add_loop(desk, Loop(house=house.name, **facts["loop"]))
    for told in facts["places"]:
        clock.later()
        places = dict(told)
        codes = list(_codes(places.pop("codes")))
        kind = PlaceKind(places.pop("kind"))
        premises.add_places(desk, codes, kind=kind, **places)
    for told in facts["plants"]:
        clock.later()
        plants = dict(told)
        crop, count, stage = plants.pop("crop"), plants.pop("count", 1), Stage(plants.pop("stage"))
        beginnings.bring_in(desk, crop, count, stage=stage, new_cultivar=True, **plants)
    for mark in facts.get("marks", ()):
        clock.later()
        plantings.mark(desk, **mark)
    for duty in facts.get("duties", ()):
        clock.later()
        duties.add_duty(desk, **duty)


def _codes(text: str) -> Iterator[str]:
    """`B1-B3` as B1, B2, B3."""
    first, _, last = text.partition("-")
    letters = first.rstrip("0123456789")
    if not last:
        yield first
        return
    for number in range(int(first[len(letters) :]), int(last[len(letters) :]) + 1):
        yield f"{letters}{number}"


class Remembering:
    """Within it the desk remembers what it has read of the catalogue, and worked out of weather.

    Each morning of a life is a new run of the program, which reads both afresh. A story lives a
    thousand mornings in one run: the answers are the same, and only the time is saved.
    """

    def __init__(self) -> None:
        self._patches = [
            patch("cropplan.desk.desk.read_catalogue", _catalogue),
            patch("cropplan.desk.beginnings.read_catalogue", _catalogue),
            patch("cropplan.desk.desk.weather_of", _weather),
        ]

    def __enter__(self) -> None:
        for each in self._patches:
            each.start()

    def __exit__(self, *_: object) -> None:
        for each in self._patches:
            each.stop()


def _catalogue(crops: Iterable[str], own: Path | None = None, **ids: Iterable[str]) -> Catalogue:
    assert own is None or not own.exists(), "nobody in a story has own figures"
    wanted = {name: tuple(sorted(set(some))) for name, some in ids.items()}
    return _read(tuple(sorted(set(crops))), tuple(sorted(wanted.items())))


@lru_cache(maxsize=256)
def _read(crops: tuple[str, ...], ids: tuple[tuple[str, tuple[str, ...]], ...]) -> Catalogue:
    return read_catalogue(crops, **dict(ids))


def _weather(
    house: House,
    readings: Mapping[Any, DayTemperature] | None = None,
    setbacks: Sequence[Setback] = (),
) -> Weather:
    return _worked_out(house, tuple((readings or {}).values()), tuple(setbacks))


@lru_cache(maxsize=64)
def _worked_out(
    house: House, readings: tuple[DayTemperature, ...], setbacks: tuple[Setback, ...]
) -> Weather:
    return weather_of(house, {reading.day: reading for reading in readings}, setbacks)
