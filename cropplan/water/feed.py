"""Feed for the fish, growth from feed, and feed set against the planted area.

Feed drives the loop: what the fish are given decides how much solid waste the filter catches and
how many plants can live on the water. The ratio of feed to planted area differs by kind of crop
and by kind of system, so it is always an argument and never averaged here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum

from cropplan.problems import Refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Fed:
    """One entry of the feed log: what was given on one day; several entries a day add up.

    day : the day the feed was given.
    grams : dry feed given; 0 is a recorded fast, not a gap. [g]
    """

    day: date
    grams: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RationBand:
    """Feed for fish up to one body weight, in water in which they eat fully.

    up_to : heaviest fish this band holds for; infinity for the last band. [g]
    percent_per_day : feed as a share of body weight. [%/d]
    """

    up_to: float
    percent_per_day: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedingRange:
    """Water temperatures that bound a fish's appetite, coldest first. [°C]

    stops_below : at and below this the fish take nothing.
    full_from, full_to : between these they take the whole ration.
    stops_above : at and above this the fish take nothing.
    """

    stops_below: float
    full_from: float
    full_to: float
    stops_above: float

    def __post_init__(self) -> None:
        if not self.stops_below < self.full_from <= self.full_to < self.stops_above:
            raise Refusal(
                f"feeding temperatures {self.stops_below:g}, {self.full_from:g}, "
                f"{self.full_to:g}, {self.stops_above:g} degC must rise from cold to warm"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantedArea:
    """An area of one kind of planting and the feed it wants.

    area : planted area. [m²]
    ratio_low, ratio_high : least and most feed that suits it. [g/m²/d]
    """

    area: float
    ratio_low: float
    ratio_high: float

    def __post_init__(self) -> None:
        _refuse_negative("planted area", self.area, "m2")
        if not 0 < self.ratio_low <= self.ratio_high:
            raise Refusal(
                f"feed ratio {self.ratio_low:g} to {self.ratio_high:g} g/m2/d must be above zero, "
                "the lower figure first"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedNeed:
    """Feed that the planted areas want together. [g/d]"""

    low: float
    high: float


class Verdict(Enum):
    """How the feed stands against the planted area."""

    TOO_LITTLE = "too little"
    IN_BALANCE = "in balance"
    TOO_MUCH = "too much"


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """Feed given against feed wanted.

    verdict : too little, in balance or too much.
    feed : feed given. [g/d]
    need : feed wanted by what is planted. [g/d]
    difference : feed above the most (positive) or below the least (negative) wanted; 0 in
        balance. [g/d]
    """

    verdict: Verdict
    feed: float
    need: FeedNeed
    difference: float


def ration_percent(body_weight: float, bands: Sequence[RationBand]) -> float:
    """Share of its weight that a fish of this size is given a day when it eats fully.

    body_weight : mean weight of one fish. [g]
    bands : by rising weight; fish above the last band are fed as the last band.
    Returns the ration. [%/d]
    Raises Refusal for a weight that is not above zero, or without bands.
    Grow-out fish take 1 to 2 % a day (Somerville et al. 2014, FAO Technical Paper 589, 7.3);
    checked in tests/published/test_water_worked_examples.py.
    """
    if not body_weight > 0 or not math.isfinite(body_weight):
        raise Refusal(f"fish weight {body_weight:g} g must be above zero")
    if not bands:
        raise Refusal("no ration is known for this fish; give a ration for at least one weight")
    for band in bands:
        if body_weight <= band.up_to:
            return band.percent_per_day
    return bands[-1].percent_per_day


def appetite(temp_water: float, feeding: FeedingRange) -> float:
    """Share of the full ration that fish take at a water temperature.

    temp_water : water temperature. [°C]
    Returns 0 where the fish stop eating, 1 in the full range, a straight line between. [share]
    The cut-offs come from the catalogue; the straight line is common practice, no source.
    """
    if temp_water <= feeding.stops_below or temp_water >= feeding.stops_above:
        return 0.0
    if temp_water < feeding.full_from:
        return (temp_water - feeding.stops_below) / (feeding.full_from - feeding.stops_below)
    if temp_water > feeding.full_to:
        return (feeding.stops_above - temp_water) / (feeding.stops_above - feeding.full_to)
    return 1.0


def daily_ration(
    *,
    count: int,
    body_weight: float,
    temp_water: float,
    bands: Sequence[RationBand],
    feeding: FeedingRange,
) -> float:
    """Feed for all fish of one tank and size on one day.

    count : fish in the tank.
    body_weight : mean weight of one fish. [g]
    temp_water : water temperature. [°C]
    Returns the day's feed. [g/d]
    Raises Refusal for a negative count or a weight that is not above zero.
    """
    _refuse_negative("number of fish", count, "")
    share = ration_percent(body_weight, bands) / 100 * appetite(temp_water, feeding)
    return count * body_weight * share


def feed_conversion(*, feed: float, gain: float) -> float | None:
    """Feed used for each unit of weight gained by all fish together (FCR).

    feed : all feed given between two weighings. [g]
    gain : growth of all fish in the same time. [g]
    Returns feed over gain [g/g]; None when the fish did not gain, since no ratio is then known.
    Raises Refusal for negative feed.
    Source: Somerville et al. 2014, FAO Technical Paper 589, section 7.3.
    """
    _refuse_negative("feed", feed, "g")
    return feed / gain if gain > 0 else None


def weight_now(*, weighed: float, count: int, feed_since: float, fcr: float) -> float:
    """Likely mean weight of a fish from the last weighing and the feed given since.

    weighed : mean weight at the last weighing. [g]
    count : fish in the tank.
    feed_since : all feed given since that weighing. [g]
    fcr : feed for each unit of gain. [g/g]
    Returns mean body weight. [g]
    Raises Refusal when there are no fish or a figure is out of range.
    Source: the definition of FCR, as in feed_conversion, solved for growth.
    """
    _refuse_negative("feed", feed_since, "g")
    if count < 1:
        raise Refusal("there are no fish in the tank whose weight could be reckoned")
    if not fcr > 0:
        raise Refusal(f"feed conversion {fcr:g} must be above zero")
    return weighed + feed_since / fcr / count


def area_fed(feed: float, ratio: float) -> float:
    """Planted area that a day's feed supports at one feed ratio.

    feed : feed given. [g/d]
    ratio : feed wanted by each square metre. [g/m²/d]
    Returns the area. [m²]
    Raises Refusal for negative feed or a ratio that is not above zero.
    Source: Rakocy 2007, Ten guidelines for aquaponic systems, guideline 1; checked in
    tests/published/test_water_worked_examples.py.
    """
    _refuse_negative("feed", feed, "g/d")
    if not ratio > 0:
        raise Refusal(f"feed ratio {ratio:g} g/m2/d must be above zero")
    return feed / ratio


def feed_needed(areas: Sequence[PlantedArea]) -> FeedNeed:
    """Feed that all planted areas want together, least and most.

    Source: Rakocy 2007, guideline 1, summed over the areas of each kind.
    """
    return FeedNeed(
        low=math.fsum(part.area * part.ratio_low for part in areas),
        high=math.fsum(part.area * part.ratio_high for part in areas),
    )


def balance(feed: float, areas: Sequence[PlantedArea]) -> Balance:
    """Whether the feed suits what is planted, and by how much it does not.

    feed : feed given, as a mean over some days. [g/d]
    Raises Refusal for negative feed.
    """
    _refuse_negative("feed", feed, "g/d")
    need = feed_needed(areas)
    if feed < need.low:
        verdict, difference = Verdict.TOO_LITTLE, feed - need.low
    elif feed > need.high:
        verdict, difference = Verdict.TOO_MUCH, feed - need.high
    else:
        verdict, difference = Verdict.IN_BALANCE, 0.0
    return Balance(verdict=verdict, feed=feed, need=need, difference=difference)


def weekly_balance(
    feed_by_week: Mapping[date, float],
    areas_by_week: Mapping[date, Sequence[PlantedArea]],
) -> tuple[tuple[date, Balance], ...]:
    """The balance of each week that both the feed and the planted areas are known for.

    feed_by_week : feed expected, by the week's first day. [g/d]
    areas_by_week : what will stand then, by the week's first day.
    Returns (week, balance) in order of weeks.
    """
    weeks = sorted(feed_by_week.keys() & areas_by_week.keys())
    return tuple((week, balance(feed_by_week[week], areas_by_week[week])) for week in weeks)


def first_out_of_balance(
    weeks: Sequence[tuple[date, Balance]],
) -> tuple[date, Balance] | None:
    """The first week in which feed and planting part company; None when they never do."""
    return next((week for week in weeks if week[1].verdict is not Verdict.IN_BALANCE), None)


def _refuse_negative(what: str, value: float, unit: str) -> None:
    if not value >= 0 or not math.isfinite(value):
        raise Refusal(f"{what} {value:g} {unit}".rstrip() + " cannot be; it must be zero or more")
