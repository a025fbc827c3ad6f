"""The day's feed for the fish of a loop: by kind, weight and the warmth of the water."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.catalogue.model import Figure, Fish
from cropplan.holding.house import Units
from cropplan.holding.logged import LoggedKind
from cropplan.holding.loop import Loop, LoopState
from cropplan.schedule.measures import mass_text, warmth_text
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import ago_text
from cropplan.water.feed import (
    Fed,
    FeedingRange,
    RationBand,
    appetite,
    daily_ration,
    ration_percent,
    weight_now,
)

#: A reading of the water this old no longer tells how warm it is today; the season does then. [d]
#: Common practice, no source.
WARMTH_HOLDS = 10
#: Growth is reckoned so long after a weighing; beyond it the fish as weighed are fed, for too much
#: feed harms sooner than too little. [d] Common practice, no source.
GROWTH_HOLDS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmth:
    """How warm the water is taken to be: read on a day, or as the house of the season. [°C]"""

    celsius: float
    read_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ration:
    """The feed that a loop's fish are likely to eat in a day.

    grams : for all of them. [g/day] fish : how many. weight_g : of one, now. [g]
    percent : at full appetite. [%/day] eats : share of that in water of this warmth.
    warmth : of the water. set_g : the grower's own ration. [g/day]
    weigh_again : the last weighing is too old to tell how the fish have grown.
    """

    grams: float
    fish: int
    weight_g: float
    percent: float
    eats: float
    warmth: Warmth
    set_g: float | None
    weigh_again: bool = False

    def words(self, units: Units) -> str:
        """The proposal and what it rests on, on one line."""
        water = f"water {warmth_text(self.warmth.celsius, units)}"
        if self.warmth.read_on is None:
            water += " by the season"
        if self.eats == 0:
            return f"they eat nothing in {water}: feed none"
        own = f"; yours is {mass_text(self.set_g, units)}" if self.set_g is not None else ""
        if self.weigh_again:
            own += "; weighed long ago, weigh some"
        return (
            f"about {mass_text(self.grams, units)} for {self.fish} of "
            f"{mass_text(self.weight_g, units)} at {self.percent * self.eats:.1f} %, {water}{own}"
        )


def ration_for(scene: Scene, loop: Loop) -> Ration | None:
    """The ration of today; None without fish, their weight, or figures for their kind."""
    fish = scene.catalogue.fish.get(loop.species)
    weight = weight_of(scene, loop)
    if fish is None or loop.state is not LoopState.STOCKED or not loop.fish or weight is None:
        return None
    bands, feeding = _bands(fish), _feeding(fish.values)
    if bands is None or feeding is None:
        return None
    warmth = warmth_of(scene, loop)
    return Ration(
        grams=daily_ration(
            count=loop.fish,
            body_weight=weight,
            temp_water=warmth.celsius,
            bands=bands,
            feeding=feeding,
        ),
        fish=loop.fish,
        weight_g=weight,
        percent=ration_percent(weight, bands),
        eats=appetite(warmth.celsius, feeding),
        warmth=warmth,
        set_g=loop.feed_g,
        weigh_again=_weighed_long_ago(scene, loop),
    )


def weight_of(scene: Scene, loop: Loop) -> float | None:
    """The likely weight of a fish today: as weighed, and grown on the feed written since. [g]"""
    if loop.weight_g is None or not loop.weight_g > 0:
        return None
    fish = scene.catalogue.fish.get(loop.species)
    figure = None if fish is None else fish.values.get("fcr")
    fcr = loop.fcr or (None if figure is None else figure.typical)
    known = loop.weighed_on is not None and not _weighed_long_ago(scene, loop)
    if fcr is None or not loop.fish or not known:
        return loop.weight_g
    return weight_now(
        weighed=loop.weight_g, count=loop.fish, feed_since=loop.fed_since_weighing_g, fcr=fcr
    )


def _weighed_long_ago(scene: Scene, loop: Loop) -> bool:
    since = loop.weighed_on or loop.since
    return since is not None and (scene.today - since).days > GROWTH_HOLDS


def warmth_of(scene: Scene, loop: Loop) -> Warmth:
    """How warm the water is: as lately read, else as warm as the house in the mean of the day."""
    test = scene.holding.tests.get((loop.name, "temperature"))
    if test is not None and 0 <= (scene.today - test.day).days <= WARMTH_HOLDS:
        return Warmth(celsius=test.value, read_on=test.day)
    air = scene.weathers[loop.house](scene.today).warmth
    return Warmth(celsius=(air.low + air.high) / 2, read_on=None)


def feed_log(scene: Scene, loop: Loop) -> list[Fed]:
    """The feeds of a loop that were written with an amount."""
    return [
        Fed(day=one.day, grams=one.amount)
        for one in scene.water_log.get(loop.name, ())
        if one.kind is LoggedKind.FED
    ]


def fed_a_day(scene: Scene, loop: Loop, days: int = 7) -> float | None:
    """The mean of the last full days that have a feed; None when fewer than half have one. [g]"""
    by_day: dict[date, float] = {}
    for fed in feed_log(scene, loop):
        if 0 < (scene.today - fed.day).days <= days:
            by_day[fed.day] = by_day.get(fed.day, 0.0) + fed.grams
    first = scene.today - timedelta(days=days)
    looked_at = (
        days if loop.since is None else min(days, (scene.today - max(first, loop.since)).days)
    )
    if looked_at < 1 or len(by_day) * 2 < looked_at:
        return None
    return math.fsum(by_day.values()) / len(by_day)


def last_fed_text(loop: Loop, today: date) -> str:
    """Who fed last and when, so that nobody feeds twice; empty when nobody has yet."""
    if loop.last_fed is None:
        return ""
    by = f" by {loop.last_fed_by}" if loop.last_fed_by else ""
    return f"last fed {ago_text((today - loop.last_fed).days)}{by}"


def _bands(fish: Fish) -> list[RationBand] | None:
    values = fish.values
    names = ("small", "middle", "large")
    if not all(f"ration_{name}" in values for name in names):
        return None
    ends = [values.get(f"ration_{name}_up_to") for name in names]
    return [
        RationBand(
            up_to=math.inf if end is None else end.typical,
            percent_per_day=values[f"ration_{name}"].typical,
        )
        for name, end in zip(names, ends, strict=True)
    ]


def _feeding(values: Mapping[str, Figure]) -> FeedingRange | None:
    names = ("stops_below", "full_from", "full_to", "stops_above")
    if not all(f"feed_{name}" in values for name in names):
        return None
    return FeedingRange(**{name: values[f"feed_{name}"].typical for name in names})
