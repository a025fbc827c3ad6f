"""Warmth: the temperature of a day, in the house and out, and the degree-days it is worth.

The rules for degree-days give different sums from the same day; a figure from a handbook holds
only with the rule it was made with. Each rule therefore has its own function and none is "the"
rule.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from math import asin, cos, pi
from typing import Literal

from cropplan.problems import Refusal

Cutoff = Literal["horizontal", "intermediate", "vertical"]
"""What happens above the ceiling: growth stays at its fastest (horizontal), falls back as steeply
as it rose (intermediate), or stops (vertical). UC IPM, degree-day glossary."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayWarmth:
    """The lowest and highest temperature of a day. [°C]"""

    low: float
    high: float

    def __post_init__(self) -> None:
        if self.low > self.high:
            raise Refusal(f"a day's low of {self.low:g} °C is above its high of {self.high:g} °C")

    @property
    def mean(self) -> float:
        """Half way between low and high. [°C]"""
        return (self.low + self.high) / 2


def steady(temp_c: float) -> DayWarmth:
    """A day that keeps one temperature. [°C]"""
    return DayWarmth(low=temp_c, high=temp_c)


def average_degree_days(day: DayWarmth, base_c: float) -> float:
    """Degree-days by the simple average: mean less base, never below 0. [°C d]

    Source: UC IPM, citrus degree-day table; checked in tests/published/test_growth_warmth.py.
    """
    return max(0.0, day.mean - base_c)


def modified_degree_days(day: DayWarmth, base_c: float, ceiling_c: float) -> float:
    """Degree-days by the "corn" rule: low and high are first held within the limits. [°C d]

    Source: Oregon State University IPPC, degree-day help, "simple average with modified limits".
    """
    low = min(max(day.low, base_c), ceiling_c)
    high = min(max(day.high, base_c), ceiling_c)
    return (low + high) / 2 - base_c


def triangle_degree_days(
    day: DayWarmth, base_c: float, ceiling_c: float | None = None, cutoff: Cutoff = "horizontal"
) -> float:
    """Degree-days when the day climbs straight from low to high and back. [°C d]

    ceiling_c : where the cut-off bites; None for no cut-off. [°C]
    Source: Sevacherian, Stern & Mueller 1977, single triangle; cut-offs as UC IPM defines them;
    checked in tests/published/test_growth_warmth.py.
    """
    return _cut(_triangle_above, _triangle_share_above, day, base_c, ceiling_c, cutoff)


def sine_degree_days(
    day: DayWarmth, base_c: float, ceiling_c: float | None = None, cutoff: Cutoff = "horizontal"
) -> float:
    """Degree-days when the day follows a sine between low and high. [°C d]

    ceiling_c : where the cut-off bites; None for no cut-off. [°C]
    Source: Baskerville & Emin 1969, Ecology 50:514-517, single sine; cut-offs as UC IPM defines
    them; checked in tests/published/test_growth_warmth.py.
    """
    return _cut(_sine_above, _sine_share_above, day, base_c, ceiling_c, cutoff)


def met_service_degree_days(day: DayWarmth, base_c: float) -> float:
    """Degree-days by the rule of the Irish and British weather services. [°C d]

    Source: Met Éireann, degree days above a threshold, after the UK Met Office's form.
    """
    if day.low >= base_c:
        return day.mean - base_c
    if day.high <= base_c:
        return 0.0
    if day.mean > base_c:
        return (day.high - base_c) / 2 - (base_c - day.low) / 4
    return (day.high - base_c) / 4


def from_month_normals(normals: tuple[DayWarmth, ...], day: date) -> DayWarmth:
    """A day's usual low and high, on a half cosine from the middle of one month to the next. [°C]

    normals : mean daily low and high of January to December.
    Returns the month's own figures in its middle and never strays beyond the two months around.
    """
    if len(normals) != 12:
        raise Refusal(f"normals need twelve months, January first; got {len(normals)}")
    length = monthrange(day.year, day.month)[1]
    past_middle = day.day - 0.5 - length / 2
    step = 1 if past_middle >= 0 else -1
    year, month = divmod(day.year * 12 + day.month - 1 + step, 12)
    span = (length + monthrange(year, month + 1)[1]) / 2
    toward = (1 - cos(pi * abs(past_middle) / span)) / 2
    here, there = normals[day.month - 1], normals[month]
    return DayWarmth(
        low=here.low + toward * (there.low - here.low),
        high=here.high + toward * (there.high - here.high),
    )


def house_temperature(
    outside: DayWarmth,
    *,
    day_set_c: float | None,
    night_set_c: float | None,
    sun_rise_c: float,
    vent_c: float | None = None,
) -> DayWarmth:
    """Low and high inside a house, from those outside and its set points. [°C]

    day_set_c, night_set_c : the heating is never beaten; None for a house without. [°C]
    sun_rise_c : how far the sun lifts the closed house above outside by day. [K]
    vent_c : from here the vents hold the sun's lift back, though never below outside; None for a
        house without vents. [°C]

    The rule, common practice, no source: by night the house is as warm as outside or as its night
    set point, whichever is warmer; by day as warm as outside plus the sun's lift (as far as the
    vents let it), or as its day set point, whichever is warmer.
    """
    lifted = outside.high + sun_rise_c
    if vent_c is not None:
        lifted = max(outside.high, min(lifted, vent_c))
    low = outside.low if night_set_c is None else max(outside.low, night_set_c)
    high = lifted if day_set_c is None else max(lifted, day_set_c)
    return DayWarmth(low=low, high=max(low, high))


def _cut(
    above: Callable[[DayWarmth, float], float],
    share_above: Callable[[DayWarmth, float], float],
    day: DayWarmth,
    base_c: float,
    ceiling_c: float | None,
    cutoff: Cutoff,
) -> float:
    if ceiling_c is None:
        return above(day, base_c)
    if ceiling_c <= base_c:
        raise Refusal(f"a ceiling of {ceiling_c:g} °C must be above the base of {base_c:g} °C")
    lost = above(day, ceiling_c)
    if cutoff == "horizontal":
        return above(day, base_c) - lost
    if cutoff == "intermediate":
        return max(0.0, above(day, base_c) - 2 * lost)
    return above(day, base_c) - lost - (ceiling_c - base_c) * share_above(day, ceiling_c)


def _triangle_above(day: DayWarmth, threshold: float) -> float:
    if day.low >= threshold:
        return day.mean - threshold
    if day.high <= threshold:
        return 0.0
    return (day.high - threshold) ** 2 / (2 * (day.high - day.low))


def _triangle_share_above(day: DayWarmth, threshold: float) -> float:
    if day.low >= threshold:
        return 1.0
    if day.high <= threshold:
        return 0.0
    return (day.high - threshold) / (day.high - day.low)


def _sine_above(day: DayWarmth, threshold: float) -> float:
    if day.low >= threshold:
        return day.mean - threshold
    if day.high <= threshold:
        return 0.0
    swing = (day.high - day.low) / 2
    crossing = _crossing(day, threshold)
    return ((day.mean - threshold) * (pi / 2 - crossing) + swing * cos(crossing)) / pi


def _sine_share_above(day: DayWarmth, threshold: float) -> float:
    if day.low >= threshold:
        return 1.0
    if day.high <= threshold:
        return 0.0
    return (pi / 2 - _crossing(day, threshold)) / pi


def _crossing(day: DayWarmth, threshold: float) -> float:
    ratio = 2 * (threshold - day.mean) / (day.high - day.low)
    return asin(max(-1.0, min(1.0, ratio)))
