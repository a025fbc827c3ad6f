"""The law of a pace: the share of a stage that a day brings, from its warmth and light.

Temperature is taken as a sine between the day's low and high, and the rate is averaged over it,
since a curved rate at the mean is not the mean of the rates.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from cropplan.growth.paces import (
    DayConditions,
    LightSum,
    MildScaling,
    Pace,
    PlainDays,
    TemperatureGrid,
    ThermalTime,
    YanHunt,
)
from cropplan.growth.warmth import DayWarmth, sine_degree_days

_SINE_NODES = (math.cos(math.pi / 8), math.cos(3 * math.pi / 8))
"""Where a sine between low and high is read, above and below its middle, so that the plain mean of
the four readings is the average over the day: Gauss-Chebyshev nodes, Abramowitz & Stegun 1964,
25.4.38."""


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
    """The share of the stage that a day brings, as a function of the day. [d-1]"""
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
