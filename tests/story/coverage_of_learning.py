"""How well a house is known after one season: a script, and a module for its own test.

Invented houses, each in truth slower or quicker than the catalogue by up to 40 % in every stage,
strike a tray every fortnight for a year. Their keepers see what they see: whole days, sometimes a
day or two late; a fortnight's holiday that nobody wrote up; trays still waiting on the last day.
From those records each house learns. Then seven trays of the next year are predicted on the day
they are struck, with the bare catalogue and with what was learnt, and compared with what happens.

Run it: python tests/story/coverage_of_learning.py [houses] [seed]
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from math import exp
from random import Random
from statistics import median

from cropplan.growth.learning import Learnt, Weighed, fate, learn
from cropplan.growth.light import LightClimate, daily_light_integral
from cropplan.growth.pace_law import low_and_high
from cropplan.growth.stages import (
    ROOTING,
    DayConditions,
    Forecast,
    LightSum,
    Pace,
    PlainDays,
    TemperatureGrid,
    finish,
    forecast,
    forecast_after,
    progress,
)
from cropplan.growth.warmth import DayWarmth, from_month_normals, house_temperature

STAGES: tuple[tuple[str, Pace], ...] = (
    ("root", PlainDays(low=7, typical=10, high=14, at_c=22, scaling=ROOTING)),
    ("flower", LightSum(days_min=40, mol=287, low=0.7, high=1.4)),
    ("ripen", TemperatureGrid(points=((14, 95), (18, 65), (22, 46), (26, 42)), low=0.7, high=1.4)),
)
PLANT_TO_PLANT = 0.10
"""Spread of the logarithm of one tray's duration about its house's. [-] Invented."""

FIRST_DAY, LAST_DAY = date(2025, 1, 6), date(2026, 1, 5)
_CLIMATE = LightClimate(latitude=52.0, cover=0.62)
_NORMALS = tuple(
    DayWarmth(low=low, high=low + 8) for low in (1, 1, 3, 5, 8, 11, 13, 13, 10, 7, 4, 2)
)


@cache
def weather(day: date) -> DayConditions:
    """A heated house at 52° N with the same year every year."""
    inside = house_temperature(
        from_month_normals(_NORMALS, day),
        day_set_c=20,
        night_set_c=16,
        sun_rise_c=6,
        vent_c=25,
    )
    return DayConditions(warmth=inside, dli=daily_light_integral(_CLIMATE, day))


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One prediction and what came of it: by stage name, or "first pick" for the whole chain."""

    what: str
    catalogue: Forecast
    house: Forecast
    truth: date


def outcomes(houses: int, seed: int) -> Iterator[Outcome]:
    """Predictions for the second year of each house, with the catalogue and with what it learnt."""
    for number in range(houses):
        chance = Random(f"{seed} {number}")  # noqa: S311 - invented houses, not secrets
        ratios = [chance.uniform(0.6, 1.4) for _ in STAGES]
        learnt = _first_season(ratios, chance)
        for tray in range(7):
            struck = LAST_DAY + timedelta(days=26 * tray)
            yield from _predicted(struck, ratios, learnt, chance)


def _first_season(ratios: list[float], chance: Random) -> list[Learnt]:
    holiday = FIRST_DAY + timedelta(days=chance.randrange(330))
    unwritten = [(holiday, holiday + timedelta(days=13))]
    finished: list[list[Weighed]] = [[] for _ in STAGES]
    waiting: list[list[Weighed]] = [[] for _ in STAGES]
    for fortnight in range(26):
        start: date | None = FIRST_DAY + timedelta(days=14 * fortnight)
        for stage, (_, pace) in enumerate(STAGES):
            if start is None:
                break
            ended = _truth(pace, start, ratios[stage], chance)
            noticed = ended + timedelta(days=chance.choice((0, 0, 0, 1, 2)))
            if unwritten[0][0] <= noticed <= unwritten[0][1]:
                noticed = unwritten[0][1] + timedelta(days=1)
            seen = noticed if noticed <= LAST_DAY else None
            known = fate(start, seen, LAST_DAY, unwritten)
            if known is not None:
                ratio = progress(pace, start, known.until, weather)
                (finished if known.finished else waiting)[stage].append(Weighed(ratio=ratio))
            start = seen
    return [
        learn((low, 1.0, high), finished[stage], waiting[stage])
        for stage, (_, pace) in enumerate(STAGES)
        for low, high in [low_and_high(pace)]
    ]


def _truth(pace: Pace, start: date, ratio: float, chance: Random) -> date:
    ended = finish(pace, start, weather, ratio * exp(chance.gauss(0, PLANT_TO_PLANT)))
    assert ended is not None
    return ended


def _predicted(
    struck: date, ratios: list[float], learnt: list[Learnt], chance: Random
) -> Iterator[Outcome]:
    start = struck
    chains: list[Forecast | None] = [None, None]
    for stage, (name, pace) in enumerate(STAGES):
        truth = _truth(pace, start, ratios[stage], chance)
        spreads = (None, learnt[stage].spread)
        alone = [forecast(pace, start, weather, spread) for spread in spreads]
        chains = [
            one if before is None else forecast_after(before, pace, weather, spread)
            for before, one, spread in zip(chains, alone, spreads, strict=True)
        ]
        assert alone[0] is not None
        assert alone[1] is not None
        yield Outcome(what=name, catalogue=alone[0], house=alone[1], truth=truth)
        start = truth
    assert chains[0] is not None
    assert chains[1] is not None
    yield Outcome(what="first pick", catalogue=chains[0], house=chains[1], truth=start)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """How predictions of one kind fared.

    covered : share of truths within the 80 % span, with the catalogue's figures and the house's.
    error : median distance in days from the likely day, with each.
    """

    what: str
    count: int
    covered: tuple[float, float]
    error: tuple[float, float]


def measured(told: list[Outcome]) -> list[Measured]:
    """The outcomes by kind, and all of them together."""
    kinds = ["all", *dict.fromkeys(outcome.what for outcome in told)]
    return [
        _measured_kind(kind, [one for one in told if kind in ("all", one.what)]) for kind in kinds
    ]


def _measured_kind(kind: str, told: list[Outcome]) -> Measured:
    pairs = [[(one.catalogue, one.truth) for one in told], [(one.house, one.truth) for one in told]]
    covered = [
        sum(f.earliest <= truth <= f.latest for f, truth in pair) / len(pair) for pair in pairs
    ]
    error = [median(abs((f.likely - truth).days) for f, truth in pair) for pair in pairs]
    return Measured(
        what=kind,
        count=len(told),
        covered=(covered[0], covered[1]),
        error=(error[0], error[1]),
    )


def table(rows: list[Measured]) -> str:
    """The measurement as lines for a person."""
    lines = [
        "                       in the 80 % span      median error [d]",
        "prediction     count  catalogue   house     catalogue   house",
    ]
    lines += [
        f"{row.what:<12}{row.count:>8}{row.covered[0]:>10.1%}{row.covered[1]:>9.1%}"
        f"{row.error[0]:>12.1f}{row.error[1]:>9.1f}"
        for row in rows
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    asked = [int(word) for word in sys.argv[1:3]]
    how_many = asked[0] if asked else 300
    print(table(measured(list(outcomes(how_many, asked[1] if len(asked) > 1 else 1)))))
