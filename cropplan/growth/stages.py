"""Stages: the day on which a stage ends, forward and backward, with its span.

A stage's shares of each day (`paces`) are added from its first day until they make one; with
what the house has taught, until they make the house's ratio. The day a stage begins counts, the
day it ends does not: ten plain days from the 1st end on the 11th.

`weather` is a function from a day to its conditions. It must always answer the same for the same
day: months once added up are kept.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from calendar import monthrange
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from itertools import accumulate
from math import hypot, inf

from cropplan.growth.chance import Spread, spread_from
from cropplan.growth.pace_law import Rate, day_law, low_and_high, measured_range, rate
from cropplan.growth.paces import (
    ROOTING,
    DayConditions,
    DimLight,
    LightSum,
    MildScaling,
    Pace,
    PlainDays,
    TemperatureGrid,
    ThermalTime,
    YanHunt,
)

__all__ = [
    "ROOTING",
    "DayConditions",
    "DimLight",
    "Forecast",
    "LightSum",
    "MildScaling",
    "Pace",
    "PlainDays",
    "Rate",
    "TemperatureGrid",
    "ThermalTime",
    "Weather",
    "YanHunt",
    "catalogue_spread",
    "finish",
    "forecast",
    "forecast_after",
    "given_not_yet",
    "progress",
    "rate",
    "start_for",
]

Weather = Callable[[date], DayConditions]

HORIZON = 36
"""A stage that has not ended after so many months is taken never to end in such weather."""

_ENOUGH = 1e-9
"""Ten tenths do not quite make one in binary; this much short is done all the same. [-]"""

_TENTHS = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """When a stage will end: eight times in ten from the earliest day to the latest.

    clamped : on some of these days it was colder or warmer than was ever measured for this stage.
    """

    likely: date
    earliest: date
    latest: date
    clamped: bool


@lru_cache(maxsize=512)
def catalogue_spread(pace: Pace) -> Spread:
    """What the pace's own low and high say of the ratio, before the house has taught anything."""
    low, high = low_and_high(pace)
    return spread_from(low, 1.0, high, inf)


def progress(pace: Pace, start: date, until: date, weather: Weather) -> float:
    """Shares of the stage done from its start up to a later day, that day not counted. [-]

    For a stage seen to end on `until`, this is its ratio to the predicted duration.
    """
    if until <= start:
        return 0.0
    month, total = start.replace(day=1), -_done(pace, weather, start)[start.day - 1]
    while (month.year, month.month) < (until.year, until.month):
        total += _done(pace, weather, month)[-1]
        month = _next_month(month)
    return total + _done(pace, weather, until)[until.day - 1]


def finish(pace: Pace, start: date, weather: Weather, factor: float = 1.0) -> date | None:
    """The first day on which the shares since the start have reached `factor`.

    factor : 1 for the predicted duration; the house's ratio, or a slow one, for another. [-]
    Returns None when that takes longer than `HORIZON`.
    """
    return _reached(pace, start, weather, (factor,))[0]


def start_for(pace: Pace, wanted: date, weather: Weather, factor: float = 1.0) -> date | None:
    """The last day to start so that the stage has ended by the wanted day.

    factor : as for `finish`; a ratio from the slow end of the spread leaves slack. [-]
    Returns None when even a start `HORIZON` earlier would be too late.
    """
    if factor <= _ENOUGH:
        return wanted
    needed, month = factor - _ENOUGH, wanted.replace(day=1)
    by_then = _done(pace, weather, month)[wanted.day - 1]
    for _ in range(HORIZON):
        if by_then >= needed:
            done = _done(pace, weather, month)
            return month + timedelta(days=bisect_right(done, by_then - needed) - 1)
        needed -= by_then
        month = (month - timedelta(days=1)).replace(day=1)
        by_then = _done(pace, weather, month)[-1]
    return None


def forecast(
    pace: Pace, start: date, weather: Weather, spread: Spread | None = None
) -> Forecast | None:
    """When a stage begun on a day will end.

    spread : what the house has taught; None for the pace's own low and high.
    Returns None when it is not likely to end within `HORIZON`.
    """
    known = spread or catalogue_spread(pace)
    return _forecast(pace, start, weather, [known.ratio_at(chance) for chance in _TENTHS])


def given_not_yet(
    pace: Pace, start: date, today: date, weather: Weather, spread: Spread | None = None
) -> Forecast | None:
    """When a stage will end that has not ended by today: tomorrow at the earliest.

    The chances are those of the same spread, among the durations that are still possible. An
    overdue stage so moves ahead of today, and its span opens, instead of staying in the past.
    spread : what the house has taught; None for the pace's own low and high.
    Returns None when it is not likely to end within `HORIZON` of its start.
    """
    known = spread or catalogue_spread(pace)
    waited = progress(pace, start, today, weather)
    ratios = [known.ratio_at_given_waited(chance, waited) for chance in _TENTHS]
    told = _forecast(pace, start, weather, ratios)
    if told is None:
        return None
    tomorrow = today + timedelta(days=1)
    return Forecast(
        likely=max(told.likely, tomorrow),
        earliest=max(told.earliest, tomorrow),
        latest=max(told.latest, tomorrow),
        clamped=told.clamped,
    )


def forecast_after(
    previous: Forecast, pace: Pace, weather: Weather, spread: Spread | None = None
) -> Forecast | None:
    """When a stage will end that begins where a predicted one ends.

    It starts on the likely day of the one before. The two stages are early or late each for its
    own reasons, so their doubts in days add as squares.
    """
    alone = forecast(pace, previous.likely, weather, spread)
    if alone is None:
        return None
    early = hypot((alone.likely - alone.earliest).days, (previous.likely - previous.earliest).days)
    late = hypot((alone.latest - alone.likely).days, (previous.latest - previous.likely).days)
    return Forecast(
        likely=alone.likely,
        earliest=alone.likely - timedelta(days=round(early)),
        latest=alone.likely + timedelta(days=round(late)),
        clamped=alone.clamped or previous.clamped,
    )


def _reached(
    pace: Pace, start: date, weather: Weather, factors: Sequence[float]
) -> list[date | None]:
    """The first days on which the shares since the start have reached each of rising factors."""
    days: list[date | None] = []
    month = start.replace(day=1)
    done = _done(pace, weather, month)
    before, months = -done[start.day - 1], 1
    for factor in factors:
        while before + done[-1] < factor - _ENOUGH and months < HORIZON:
            before += done[-1]
            month = _next_month(month)
            done = _done(pace, weather, month)
            months += 1
        index = bisect_left(done, factor - _ENOUGH - before)
        days.append(max(start, month + timedelta(days=index)) if index < len(done) else None)
    return days


def _forecast(
    pace: Pace, start: date, weather: Weather, ratios: Sequence[float]
) -> Forecast | None:
    earliest, likely, latest = _reached(pace, start, weather, ratios)
    if likely is None or earliest is None:
        return None
    return Forecast(
        likely=likely,
        earliest=earliest,
        latest=latest or start + timedelta(days=HORIZON * 30),
        clamped=_was_clamped(pace, start, likely, weather),
    )


def _was_clamped(pace: Pace, start: date, until: date, weather: Weather) -> bool:
    limits = measured_range(pace)
    if limits is None:
        return False
    month = start.replace(day=1)
    while month < until:
        first = (start - month).days if start > month else 0
        means = _means(weather, month.year, month.month)[first : (until - month).days]
        if means and not limits[0] <= min(means) <= max(means) <= limits[1]:
            return True
        month = _next_month(month)
    return False


def _done(pace: Pace, weather: Weather, day: date) -> tuple[float, ...]:
    return _month(pace, weather, day.year, day.month)


@lru_cache(maxsize=8192)
def _month(pace: Pace, weather: Weather, year: int, month: int) -> tuple[float, ...]:
    """Shares done by the morning of each day of a month, and of the next month's first."""
    return tuple(accumulate(map(day_law(pace), _days(weather, year, month)), initial=0.0))


@lru_cache(maxsize=512)
def _means(weather: Weather, year: int, month: int) -> tuple[float, ...]:
    return tuple(day.warmth.mean for day in _days(weather, year, month))


@lru_cache(maxsize=512)
def _days(weather: Weather, year: int, month: int) -> tuple[DayConditions, ...]:
    length = monthrange(year, month)[1]
    return tuple(weather(date(year, month, day)) for day in range(1, length + 1))


def _next_month(month: date) -> date:
    return date(month.year + month.month // 12, month.month % 12 + 1, 1)
