"""What may be picked each week, with a span in which four weeks of five should fall.

Six things make a week differ from the plan: cuttings that fail beyond the spares struck, first
picks that come early or late, plants that tire early or late, picks that fall in this week or the
next, the crop yielding more or less than the house should give, and weeks brighter or duller than
the time of year. Losses and dates are independent from planting to planting; the yield is the same
for all plantings of a crop. Their sum is taken as normal: a week's pick is the sum of many plants'.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import floor, sqrt

from cropplan.season.cuttings import expected_plants
from cropplan.season.demand import CropOption, Season, Standing
from cropplan.season.draft import Draft, Keep, Strike
from cropplan.season.simulate import option_of

_RARE = 0.05  # So few still bear that what one of them gives is told from the others.
_FOUR_IN_FIVE = 1.2815515655446004  # Normal quantile at 0.9: 80 % lie within it of the mean.
#: A normal date as five equally likely ones, in standard deviations: the means of its fifths,
#: stretched to a variance of 1.
_SHIFTS = (-1.478, -0.562, 0.0, 0.562, 1.478)


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
    books = _Books(season)
    for strike in draft.strikes:
        _count_strike(books, season, strike)
    standing = {planting.tag: planting for planting in season.standing}
    for keep in draft.keeps:
        _count_keep(books, season, standing[keep.tag], keep)
    return _weeks(season, books)


class _Books:
    """The mean and variance of each goal's weeks as plantings are counted in."""

    def __init__(self, season: Season) -> None:
        self._season = season
        self.mean = [[0.0] * season.weeks for _ in season.goals]
        self.variance = [[0.0] * season.weeks for _ in season.goals]
        self.strays: dict[tuple[int, int, str], float] = defaultdict(float)

    def credit(self, crop: str, week: int, *, mean: float, variance: float, spread: float) -> None:
        """Count in one planting's week.

        spread : share by which all the crop's plantings may stray together. [1]
        """
        goal = self._season.goal_of(crop, week)
        if goal is not None:
            self.mean[goal][week] += mean
            self.variance[goal][week] += variance
            self.strays[goal, week, crop] += spread * mean

    def variance_of(self, goal: int, week: int) -> float:
        """The variance of a goal's week, all causes together."""
        crops = self._season.goals[goal].crops
        together = sum(self.strays.get((goal, week, crop), 0.0) ** 2 for crop in crops)
        weather = (self._season.weather * self.mean[goal][week]) ** 2
        return self.variance[goal][week] + together + weather


def _count_strike(books: _Books, season: Season, strike: Strike) -> None:
    option = option_of(season, strike)
    plants, lost = expected_plants(strike.plants, option.success, option.certainty)
    stray = option.lead_spread[strike.strike] if option.lead_spread else 0.0
    for week in range(season.weeks):
        # All its plants come early or late together, so their picks add up.
        shifted = [_pick(option, strike, week, shift * stray) for shift in _SHIFTS]
        pick = sum(shifted) / len(shifted)
        if not pick:
            continue
        timing = sum((each - pick) ** 2 for each in shifted) / len(shifted)
        full = _of_one_bearing(option, week - strike.first_pick) * option.light[week]
        tired = plants * pick * max(0.0, full - pick) if option.bearing else 0.0
        books.credit(
            strike.crop,
            week,
            mean=plants * pick,
            variance=lost * pick**2
            + tired
            + plants**2 * timing
            + lumpiness(option.pick_weeks) * (plants * pick) ** 2,
            spread=_of_week(option.spread, week),
        )


def _of_one_bearing(option: CropOption, age: int) -> float:
    """The pick in full light of a plant that does bear, so long after its first. [unit]"""
    share = option.bearing[age] if 0 <= age < len(option.bearing) else 0.0
    return option.curve[age] / share if share > _RARE else max(option.curve)


def lumpiness(pick_weeks: float) -> float:
    """The variance of a planting's week that comes of picking now and then, over its square. [1]

    pick_weeks : between picks. [week]
    With n picks a week on average, a week has the whole number below n or the one above, at random:
    what is cut every third week comes all at once or not at all.
    """
    if pick_weeks <= 0.0:
        return 0.0
    often = 1.0 / pick_weeks
    part = often - floor(often)
    return part * (1.0 - part) / often**2


def _of_week(spread: tuple[float, ...], week: int) -> float:
    return spread[week] if spread else 0.0


def _pick(option: CropOption, strike: Strike, week: int, late: float) -> float:
    """The pick of one plant in a week when its first pick comes so much late. [unit per plant]

    late : negative when early; between whole weeks the curve is taken as straight. [week]
    """
    if not strike.set_out <= week < strike.pulled:
        return 0.0
    age = week - strike.first_pick - late
    below = floor(age)
    first, second = (
        option.curve[each] if 0 <= each < len(option.curve) else 0.0 for each in (below, below + 1)
    )
    return (first + (second - first) * (age - below)) * option.light[week]


def _count_keep(books: _Books, season: Season, planting: Standing, keep: Keep) -> None:
    for week in range(min(keep.pulled, season.weeks, len(planting.picks))):
        pick = keep.plants * planting.picks[week]
        chance = planting.bearing[week] if planting.bearing else 1.0
        if pick:
            # A planting bears or does not; its mean is already less by the chance that it does not.
            books.credit(
                planting.crop,
                week,
                mean=pick,
                variance=pick**2 * ((1.0 - chance) / chance + lumpiness(planting.pick_weeks)),
                spread=_of_week(planting.spread, week),
            )


def _weeks(season: Season, books: _Books) -> tuple[WeekPick, ...]:
    found = []
    for index, goal in enumerate(season.goals):
        first = first_reachable(season, goal.crops)
        for week in range(goal.from_week, min(goal.until_week, season.weeks)):
            expected = books.mean[index][week]
            reach = _FOUR_IN_FIVE * sqrt(books.variance_of(index, week))
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
