"""The last tests of a loop against the ranges of its fish, plants and filter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from cropplan.catalogue.model import Figure
from cropplan.holding.house import House, Units
from cropplan.holding.loop import Loop, LoopState
from cropplan.schedule.measures import warmth_text
from cropplan.schedule.scene import Scene
from cropplan.water import oxygen
from cropplan.water.readings import (
    POSSIBLE,
    Finding,
    Judgement,
    Key,
    Limits,
    Readings,
    Severity,
    Side,
    judge,
)

#: Readings so far apart are no longer put together, as ammonia with the pH of another week. [d]
#: Common practice, no source.
TOGETHER = 7

#: The word by which each test is kept.
_FIELDS = {
    Key.OXYGEN: "oxygen",
    Key.AMMONIA: "ammonia",
    Key.NITRITE: "nitrite",
    Key.TEMPERATURE: "temperature",
    Key.PH: "ph",
    Key.NITRATE: "nitrate",
}
#: And the test of each word.
WORDS = {word: key for key, word in _FIELDS.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopTests:
    """The last tests of a loop, judged.

    readings : by key, the last of each, with the day in `read_on`.
    limits : what they were held against.
    """

    readings: Mapping[Key, float]
    read_on: Mapping[Key, date]
    limits: tuple[Limits, ...]
    judgement: Judgement

    @property
    def urgent(self) -> tuple[Finding, ...]:
        """What has to be seen to today, worst for the fish first."""
        return tuple(f for f in self.judgement.findings if f.severity is Severity.URGENT)

    @property
    def to_watch(self) -> tuple[Finding, ...]:
        """What is out of range without being urgent, and not on an urgent side already."""
        urgent = {(_root(finding.key), finding.side) for finding in self.urgent}
        return tuple(
            f
            for f in self.judgement.findings
            if f.severity is Severity.WATCH and (_root(f.key), f.side) not in urgent
        )

    def found_on(self, finding: Finding) -> date:
        """The day of the reading behind a finding."""
        return self.read_on[_root(finding.key)]


def judged_tests(scene: Scene, loop: Loop) -> LoopTests | None:
    """The last tests of a loop, judged; None when there are none.

    A reading that no living water gives, as an old record may hold, is left out.
    """
    read_on: dict[Key, date] = {}
    values: dict[Key, float] = {}
    for key, name in _FIELDS.items():
        test = scene.holding.tests.get((loop.name, name))
        low, high = POSSIBLE[key]
        if test is not None and low <= test.value <= high:
            values[key], read_on[key] = test.value, test.day
    if not values:
        return None
    limits = limits_for(scene, loop)
    readings = Readings(**{_FIELDS[key]: value for key, value in values.items()})
    judged = judge(readings, limits, pressure=pressure_of(scene.holding.houses[loop.house]))
    if not _taken_together(read_on):
        alone = replace(readings, ph=None)
        judged = replace(
            judge(readings, limits),
            un_ionised=None,
            findings=tuple(f for f in judged.findings if f.key is not Key.UN_IONISED),
            not_tested=judge(alone, limits).not_tested,
        )
    if loop.state is not LoopState.STOCKED:
        harmless = tuple(f for f in judged.findings if f.severity is not Severity.URGENT)
        judged = replace(judged, findings=harmless)
    return LoopTests(readings=values, read_on=read_on, limits=limits, judgement=judged)


def limits_for(scene: Scene, loop: Loop) -> tuple[Limits, ...]:
    """The limits of a loop's water: of its fish, and of all that lives on it together.

    Outside the range of the fish it is urgent, outside that of all together something to watch.
    Where no fish live, as while a filter ripens, nothing is urgent.
    """
    fish = scene.catalogue.fish.get(loop.species)
    figures = {} if fish is None else fish.values
    limits = list(_of_fish(figures)) if loop.state is LoopState.STOCKED else []
    for name in ("water.compromise", "water.plants"):
        limits += _of_water(scene.catalogue.waters.get(name, {}))
    return tuple(limits)


def pressure_of(house: House) -> float:
    """The air pressure at a house; at sea level where its height is not known. [kPa]"""
    return oxygen.air_pressure(house.altitude_m or 0.0)


def range_of(limits: Sequence[Limits], key: Key) -> tuple[float | None, float | None]:
    """The narrowest range that any life on the water sets a reading."""
    lows = [limit.low for limit in limits if limit.key is key and limit.low is not None]
    highs = [limit.high for limit in limits if limit.key is key and limit.high is not None]
    return max(lows, default=None), min(highs, default=None)


def reading_text(key: Key, value: float, units: Units) -> str:
    """A reading with its unit, as `2 mg/L`."""
    if key is Key.TEMPERATURE:
        return warmth_text(value, units)
    if key is Key.UN_IONISED:
        return f"{value:.2f} mg/L"
    return f"{value:g}" if key is Key.PH else f"{value:g} mg/L"


def name_of(key: Key) -> str:
    """What a key is called in a sentence."""
    return "pH" if key is Key.PH else key.value


def finding_text(finding: Finding, units: Units) -> str:
    """A finding in words, as `nitrite 2 mg/L, limit 1`."""
    limit = reading_text(finding.key, finding.limit, units)
    word = "above" if finding.side is Side.ABOVE else "below"
    read = reading_text(finding.key, finding.reading, units)
    return f"{name_of(finding.key)} {read}, {word} {limit}"


def _taken_together(read_on: Mapping[Key, date]) -> bool:
    """Whether ammonia, pH and warmth were read near enough in time to be one water."""
    days = [read_on[key] for key in (Key.AMMONIA, Key.PH, Key.TEMPERATURE) if key in read_on]
    return len(days) < 3 or max(days) - min(days) <= timedelta(days=TOGETHER)


def _of_fish(values: Mapping[str, Figure]) -> Iterator[Limits]:
    def ends(name: str, key: Key, severity: Severity, *, low: bool, high: bool) -> Iterator[Limits]:
        figure = values.get(name)
        if figure is not None:
            yield Limits(
                key=key,
                low=figure.least if low else None,
                high=figure.most if high else None,
                severity=severity,
            )

    yield from ends("temperature_limit", Key.TEMPERATURE, Severity.URGENT, low=True, high=True)
    yield from ends("temperature", Key.TEMPERATURE, Severity.WATCH, low=True, high=True)
    yield from ends("ph", Key.PH, Severity.URGENT, low=True, high=True)
    yield from ends("ammonia", Key.AMMONIA, Severity.URGENT, low=False, high=True)
    yield from ends("un_ionised_ammonia", Key.UN_IONISED, Severity.URGENT, low=False, high=True)
    yield from ends("nitrite", Key.NITRITE, Severity.URGENT, low=False, high=True)
    yield from ends("nitrate", Key.NITRATE, Severity.WATCH, low=False, high=True)
    yield from ends("oxygen", Key.OXYGEN, Severity.URGENT, low=True, high=False)
    if "oxygen" in values:
        typical = values["oxygen"].typical
        yield Limits(key=Key.OXYGEN, low=typical, severity=Severity.WATCH)


def _of_water(values: Mapping[str, Figure]) -> Iterator[Limits]:
    for key, name in _FIELDS.items():
        figure = values.get(name)
        if figure is None:
            continue
        low: float | None = figure.least
        high: float | None = figure.most
        if key in {Key.AMMONIA, Key.NITRITE}:
            low = None
        if key is Key.OXYGEN:
            high = None
        yield Limits(key=key, low=low, high=high, severity=Severity.WATCH)


def _root(key: Key) -> Key:
    """The reading that a computed figure hangs on."""
    return Key.AMMONIA if key is Key.UN_IONISED else key
