"""The pace of a stage: how far it gets in a day, by temperature and light.

A pace is one of five small values, each the form in which sources give a stage's length. Whatever
the form, the answer is one number: the share of the stage done in a day. A stage ends when its
shares add up to one. `stages` does the adding.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from cropplan.growth.warmth import DayWarmth, sine_degree_days
from cropplan.problems import Refusal

QUICKEST, SLOWEST = 0.85, 1.18
"""The 80 % span where a source gives no spread: about a sixth either way. [-] Common practice, no
source; the house's own records replace it."""

_SINE_NODES = (math.cos(math.pi / 8), math.cos(3 * math.pi / 8))
"""Where a sine between low and high is read, above and below its middle, so that the plain mean of
the four readings is the average over the day: Gauss-Chebyshev nodes, Abramowitz & Stegun 1964,
25.4.38."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayConditions:
    """What one day offers a plant.

    warmth : low and high where the plant stands. [°C]
    dli : usable photons on the leaf. [mol m-2 d-1]
    lost : share of the day's growth lost to a setback; 1 for a day that did not count. [-]
    """

    warmth: DayWarmth
    dli: float
    lost: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DimLight:
    """How a stage slows in poor light: pace × min(1, dli / enough) ** strength.

    enough : light from which more brings nothing. [mol m-2 d-1]
    strength : 1 for a stage that waits for a sum of light, 0 for one that does not care. [-]
    """

    enough: float
    strength: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MildScaling:
    """How far days stated at one temperature may be carried to another: by the ratio of two
    readings of the Yan-Hunt curve, no further than a stated range.

    t_opt_c, t_max_c : the curve's optimum and upper end. [°C]
    from_c, to_c : outside these the reading at the edge is kept, and said to be. [°C]
    """

    t_opt_c: float
    t_max_c: float
    from_c: float
    to_c: float


ROOTING = MildScaling(t_opt_c=27.0, t_max_c=35.0, from_c=18.0, to_c=30.0)
"""For rooting by the medium's temperature. Assumed, no source for the curve; the slow end under
20 °C and failure over 32 °C follow Wilkerson et al. 2005, J. ASHS 130:302-307 (poinsettia)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainDays:
    """Days, whatever the weather, unless `scaling` says that they may be carried elsewhere.

    low, typical, high : days that one in ten beats, half beat, nine in ten beat. [d]
    at_c : the temperature that the days were seen at; None when it was not stated. [°C]
    scaling : how they change with temperature; needs `at_c`; None for not at all.
    dim : how poor light slows the stage; None where no source says that it does.
    """

    low: float
    typical: float
    high: float
    at_c: float | None = None
    scaling: MildScaling | None = None
    dim: DimLight | None = None

    def __post_init__(self) -> None:
        _check_rising("days", self.low, self.typical, self.high)
        if self.scaling and self.at_c is None:
            raise Refusal("days can only be scaled from the temperature they were seen at")


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalTime:
    """Degree-days above a base, by the single sine; above the ceiling it gets no faster.

    base_c, ceiling_c : no growth below, no more above; None for no ceiling. [°C]
    degree_days : likely sum. [°C d]
    low, high : ratio to it that one in ten beats, and nine in ten beat. [-]
    """

    base_c: float
    degree_days: float
    ceiling_c: float | None = None
    low: float = QUICKEST
    high: float = SLOWEST
    dim: DimLight | None = None

    def __post_init__(self) -> None:
        _check_rising("ratios", self.low, 1.0, self.high)
        if self.degree_days <= 0:
            raise Refusal(f"a sum of {self.degree_days:g} degree-days must be above 0")


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperatureGrid:
    """Days measured at several temperatures; between them 1/days runs straight.

    points : (temperature [°C], days [d]) rising by temperature; None days where nothing came.
    low, high : ratio to the likely days that one in ten beats, and nine in ten beat. [-]
    Outside the measured temperatures the nearest measurement is kept, and said to be.
    """

    points: tuple[tuple[float, float | None], ...]
    low: float = QUICKEST
    high: float = SLOWEST
    dim: DimLight | None = None

    def __post_init__(self) -> None:
        _check_rising("ratios", self.low, 1.0, self.high)
        temps = [temp for temp, _ in self.points]
        if not temps or temps != sorted(set(temps)):
            raise Refusal("a temperature grid needs one or more temperatures, each above the last")
        if any(days is not None and days <= 0 for _, days in self.points):
            raise Refusal("days in a temperature grid must be above 0; leave out what never came")


@dataclass(frozen=True, slots=True, kw_only=True)
class YanHunt:
    """A curve with an optimum: r_max (Tm - T)/(Tm - To) (T/To) ** (To/(Tm - To)).

    r_max : share of the stage done in a day at the optimum. [d-1]
    t_opt_c, t_max_c : fastest, and none at or above; none at or below 0 °C. [°C]
    from_c, to_c : the range the curve was fitted in; outside, the edge is kept and said to be;
        None for the whole curve. [°C]
    low, high : ratio to the likely days that one in ten beats, and nine in ten beat. [-]
    Source: Yan & Hunt 1999, Annals of Botany 84:607-614.
    """

    r_max: float
    t_opt_c: float
    t_max_c: float
    from_c: float | None = None
    to_c: float | None = None
    low: float = QUICKEST
    high: float = SLOWEST
    dim: DimLight | None = None

    def __post_init__(self) -> None:
        _check_rising("ratios", self.low, 1.0, self.high)
        if not (self.r_max > 0 and 0 < self.t_opt_c < self.t_max_c):
            raise Refusal("a Yan-Hunt curve needs r_max above 0 and 0 < optimum < maximum")


@dataclass(frozen=True, slots=True, kw_only=True)
class LightSum:
    """A sum of light, and never fewer than some days: days = max(days_min, mol / dli).

    days_min : however bright. [d]
    mol : light needed. [mol m-2]
    low, high : ratio to the likely days that one in ten beats, and nine in ten beat. [-]
    Source: Calvert 1959, J. Hort. Sci. 34:154-162, for tomato to first flower: 40 d, and 400 000
    foot-candle hours, which are 287 mol m-2 at 54 lx per µmol m-2 s-1 (Thimijan & Heins 1983).
    """

    days_min: float
    mol: float
    low: float = QUICKEST
    high: float = SLOWEST

    def __post_init__(self) -> None:
        _check_rising("ratios", self.low, 1.0, self.high)
        if self.days_min <= 0 or self.mol <= 0:
            raise Refusal("a light sum needs days and mol above 0")


Pace = PlainDays | ThermalTime | TemperatureGrid | YanHunt | LightSum


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """How far a stage gets.

    per_day : share of the stage done in a day. [d-1]
    clamped : the temperature lies outside what was measured; the nearest measurement was kept.
    """

    per_day: float
    clamped: bool


def rate(pace: Pace, temp_c: float, dli: float) -> Rate:
    """The pace at a steady temperature and light.

    temp_c : where the plant stands. [°C]
    dli : usable photons on the leaf. [mol m-2 d-1]
    """
    steady = DayConditions(warmth=DayWarmth(low=temp_c, high=temp_c), dli=dli)
    return Rate(per_day=day_law(pace)(steady), clamped=is_clamped(pace, temp_c))


def is_clamped(pace: Pace, temp_c: float) -> bool:
    """Whether a mean temperature lies outside what the pace was measured at."""
    limits = measured_range(pace)
    return limits is not None and not limits[0] <= temp_c <= limits[1]


def measured_range(pace: Pace) -> tuple[float, float] | None:
    """Lowest and highest temperature measured; None for a pace that holds at any. [°C]"""
    match pace:
        case TemperatureGrid():
            return pace.points[0][0], pace.points[-1][0]
        case YanHunt():
            low = 0.0 if pace.from_c is None else pace.from_c
            return low, pace.t_max_c if pace.to_c is None else pace.to_c
        case PlainDays(scaling=MildScaling() as scaling):
            return scaling.from_c, scaling.to_c
        case _:
            return None


def low_and_high(pace: Pace) -> tuple[float, float]:
    """The pace's own 80 % span as ratios of its likely duration. [-]"""
    if isinstance(pace, PlainDays):
        return pace.low / pace.typical, pace.high / pace.typical
    return pace.low, pace.high


def yan_hunt(temp_c: float, t_opt_c: float, t_max_c: float) -> float:
    """Yan-Hunt curve with its top at 1; 0 at or below 0 °C and at or above t_max_c. [-]

    Source: Yan & Hunt 1999, Annals of Botany 84:607-614; checked in
    tests/published/test_growth_stages.py.
    """
    if not 0 < temp_c < t_max_c:
        return 0.0
    room = t_max_c - t_opt_c
    return (t_max_c - temp_c) / room * math.pow(temp_c / t_opt_c, t_opt_c / room)


@lru_cache(maxsize=512)
def day_law(pace: Pace) -> Callable[[DayConditions], float]:
    """The share of the stage that a day brings, as a function of the day. [d-1]

    Temperature is taken as a sine between low and high and the rate is averaged over it, since
    a curved rate at the mean is not the mean of the rates.
    """
    if isinstance(pace, LightSum):
        return lambda day: min(1 / pace.days_min, day.dli / pace.mol) * (1 - day.lost)
    by_warmth, dim = _warmth_law(pace), pace.dim
    if dim is None:
        return lambda day: by_warmth(day.warmth) * (1 - day.lost)
    enough, strength = dim.enough, dim.strength

    def dimmed(day: DayConditions) -> float:
        light = 1.0 if day.dli >= enough else math.pow(day.dli / enough, strength)
        return by_warmth(day.warmth) * light * (1 - day.lost)

    return dimmed


def _warmth_law(
    pace: PlainDays | ThermalTime | TemperatureGrid | YanHunt,
) -> Callable[[DayWarmth], float]:
    match pace:
        case PlainDays():
            return _scaled_days(pace)
        case ThermalTime(base_c=base, ceiling_c=ceiling, degree_days=total):
            return lambda warmth: sine_degree_days(warmth, base, ceiling) / total
        case TemperatureGrid():
            return _averaged(_interpolated(pace.points))
        case YanHunt():
            return _averaged(
                _edged_curve(pace.r_max, pace.t_opt_c, pace.t_max_c, pace.from_c, pace.to_c)
            )


def _scaled_days(pace: PlainDays) -> Callable[[DayWarmth], float]:
    scaling, at_c = pace.scaling, pace.at_c
    if scaling is None or at_c is None:
        plain = 1 / pace.typical
        return lambda _: plain
    edges = (scaling.t_opt_c, scaling.t_max_c, scaling.from_c, scaling.to_c)
    top = 1 / (pace.typical * _edged_curve(1.0, *edges)(at_c))
    return _averaged(_edged_curve(top, *edges))


def _edged_curve(
    top: float, t_opt_c: float, t_max_c: float, from_c: float | None, to_c: float | None
) -> Callable[[float], float]:
    """`top` times the Yan-Hunt curve, kept at the edges of a range beyond it."""
    low = 0.0 if from_c is None else from_c
    high = t_max_c if to_c is None else to_c

    def edged(temp: float) -> float:
        held = low if temp < low else min(temp, high)
        return top * yan_hunt(held, t_opt_c, t_max_c)

    return edged


def _interpolated(points: tuple[tuple[float, float | None], ...]) -> Callable[[float], float]:
    """1/days as straight pieces, each kept as offset and slope; flat beyond the ends."""
    temps = [temp for temp, _ in points]
    rates = [0.0 if days is None else 1 / days for _, days in points]
    inner = [
        (right - left) / (warmer - cooler)
        for (left, right), (cooler, warmer) in zip(pairwise(rates), pairwise(temps), strict=True)
    ]
    slopes = [0.0, *inner, 0.0]
    offsets = [
        value - slope * temp
        for value, slope, temp in zip([rates[0], *rates], slopes, [temps[0], *temps], strict=True)
    ]

    def between(temp: float) -> float:
        piece = bisect_right(temps, temp)
        return offsets[piece] + slopes[piece] * temp

    return between


def _averaged(law: Callable[[float], float]) -> Callable[[DayWarmth], float]:
    outer, inner = _SINE_NODES

    def over_the_day(warmth: DayWarmth) -> float:
        mean, swing = (warmth.low + warmth.high) / 2, (warmth.high - warmth.low) / 2
        if swing == 0:
            return law(mean)
        far, near = swing * outer, swing * inner
        return (law(mean - far) + law(mean - near) + law(mean + near) + law(mean + far)) / 4

    return over_the_day


def _check_rising(what: str, low: float, typical: float, high: float) -> None:
    if not 0 < low <= typical <= high:
        raise Refusal(
            f"{what} of a stage must be above 0 and rise; got {low:g}, {typical:g}, {high:g}"
        )
