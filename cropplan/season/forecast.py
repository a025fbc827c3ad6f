"""What may be picked each week, with a span in which four weeks of five should fall.

Three things make a week differ from the plan: cuttings that fail beyond the spares struck,
plantings that yield more or less than others of their crop, and weeks brighter or duller than the
time of year gives. They are taken as independent, and their sum as normal: a week's pick is the sum
of many plants'.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from cropplan.season.cuttings import expected_plants
from cropplan.season.demand import Season
from cropplan.season.draft import Draft
from cropplan.season.simulate import option_of

_FOUR_IN_FIVE = 1.2815515655446004  # Normal quantile at 0.9: 80 % lie within it of the mean.


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekPick:
    """A goal's week: what is wanted and what may be expected. [unit per week]

    low, high : between them the pick falls in four weeks of five.
    decided : whether nothing started from now on can be picked for the goal by that week.
    """

    goal: str
    week: int
    wanted: float
    expected: float
    low: float
    high: float
    decided: bool


def forecast(season: Season, draft: Draft) -> tuple[WeekPick, ...]:
    """Every week of every goal, goals in their order and weeks in theirs."""
    mean = [[0.0] * season.weeks for _ in season.goals]
    variance = [[0.0] * season.weeks for _ in season.goals]

    def credit(crop: str, week: int, amount: float, squared: float) -> None:
        goal = season.goal_of(crop, week)
        if goal is not None:
            mean[goal][week] += amount
            variance[goal][week] += squared

    for strike in draft.strikes:
        option = option_of(season, strike)
        plants, lost = expected_plants(strike.plants, option.success, option.certainty)
        last = min(strike.pulled, season.weeks, strike.first_pick + len(option.curve))
        for week in range(strike.first_pick, last):
            pick = option.curve[week - strike.first_pick] * option.light[week]
            own = (option.spread * plants * pick) ** 2
            credit(strike.crop, week, plants * pick, lost * pick**2 + own)
    standing = {planting.tag: planting for planting in season.standing}
    for keep in draft.keeps:
        planting = standing[keep.tag]
        for week in range(min(keep.pulled, season.weeks, len(planting.picks))):
            pick = keep.plants * planting.picks[week]
            credit(planting.crop, week, pick, (planting.spread * pick) ** 2)
    return _weeks(season, mean, variance)


def _weeks(
    season: Season, mean: list[list[float]], variance: list[list[float]]
) -> tuple[WeekPick, ...]:
    found = []
    for index, goal in enumerate(season.goals):
        first = first_reachable(season, goal.crops)
        for week in range(goal.from_week, min(goal.until_week, season.weeks)):
            expected = mean[index][week]
            weather = (season.weather * expected) ** 2
            reach = _FOUR_IN_FIVE * sqrt(variance[index][week] + weather)
            found.append(
                WeekPick(
                    goal=goal.name,
                    week=week,
                    wanted=goal.amount,
                    expected=expected,
                    low=max(0.0, expected - reach),
                    high=expected + reach,
                    decided=week < first,
                )
            )
    return tuple(found)


def first_reachable(season: Season, crops: tuple[str, ...]) -> int:
    """First week in which anything started from now on could be picked. [week]"""
    return min(
        (
            strike + option.lead_weeks[strike]
            for option in season.options
            if option.crop in crops
            for strike in range(season.weeks)
            if season.may_start(strike)
        ),
        default=season.weeks,
    )
