"""What the house has picked against what was to be expected: its yields as learnt.

The unit is a week of a crop: all that was weighed of it over all that the plants then picked should
have given in the time since their last pick, in the light and warmth behind it. A pick that nobody
weighed says nothing but when the next one began to grow.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp, log

from cropplan.catalogue.model import Crop, Habit
from cropplan.growth.censored import Belief
from cropplan.growth.chance import Spread
from cropplan.growth.learning import Weighed, belief_from, predictive, updated
from cropplan.growth.stages import Weather
from cropplan.holding.planting import Planting
from cropplan.schedule.harvest import WEEK, anchor_of, light_for, pick_of_plants

#: Fruit that has hung for longer is past its best, and a longer gap was no single pick. [d]
#: Common practice, no source.
LONGEST_GAP = 21
#: A week counts whose picks are of at least so many days of a plant's growth. [plant d]
_ENOUGH = 5
#: Weeks whose light differs by so much of its logarithm count for each other with six tenths. [1]
#: Common practice, no source.
_ALIKE = 0.25
_UNHEARD = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """One pick of a planting, in the crop's unit; `amount` is None when it was not weighed."""

    tag: str
    day: date
    amount: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekSeen:
    """One week's pick over what was forecast of it, and the light that made it.

    ratio : [1] dli : [mol m⁻² d⁻¹]
    """

    ratio: float
    dli: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Attained:
    """How a week's pick of a crop stands to the forecast, as this house has shown.

    prior : what the catalogue's span of yields lets one believe. weeks : those that were weighed.
    """

    prior: Belief
    weeks: tuple[WeekSeen, ...]

    @property
    def spread(self) -> Spread:
        """Of a week of any light."""
        return predictive(updated(self.prior, [Weighed(ratio=week.ratio) for week in self.weeks]))

    def spread_at(self, dli: float) -> Spread:
        """Of a pick made in so much light: the more alike a week was, the more it counts.

        dli : [mol m⁻² d⁻¹]
        The law by which light makes yield was found elsewhere; where this house's own dull weeks
        stand otherwise to it than its bright ones, each speaks for its like.
        """
        told = []
        for week in self.weeks:
            apart = log(week.dli / dli) / _ALIKE
            weight = exp(-apart * apart / 2)
            if weight > _UNHEARD:
                told.append(Weighed(ratio=week.ratio, weight=weight))
        return predictive(updated(self.prior, told))


@dataclass(slots=True, kw_only=True)
class _Week:
    """amount : weighed. expected : by the forecast. plant_days : of growth that was picked.

    dli : light that made its picks. [mol m⁻² d⁻¹]
    """

    amount: float = 0.0
    expected: float = 0.0
    plant_days: float = 0.0
    dli: float = 0.0


def attained_by(
    crop: Crop,
    plantings: Mapping[str, Planting],
    picks: Iterable[Pick],
    weather_of: Callable[[Planting], Weather],
) -> Attained | None:
    """How a week's pick of a crop stands to the forecast, as this house has shown.

    plantings : of the crop, ended ones too, by tag. picks : of them, by day.
    None where the catalogue knows no yield, heads are cut, or no week was weighed.
    """
    anchor = anchor_of(crop)
    if anchor is None or crop.habit is Habit.HEAD:
        return None
    weeks: dict[date, _Week] = defaultdict(_Week)
    before: dict[str, date] = {}
    for pick in sorted(picks, key=lambda each: each.day):
        planting, since = plantings[pick.tag], before.get(pick.tag)
        before[pick.tag] = pick.day
        plants = planting.count + planting.pulled
        days = 0 if since is None else (pick.day - since).days
        if pick.amount is None or not 0 < days <= LONGEST_GAP or not plants:
            continue
        monday = pick.day - timedelta(days=pick.day.weekday())
        weather = weather_of(planting)
        told = pick_of_plants(crop, anchor, plants, monday, weather)
        week = weeks[monday]
        week.dli = light_for(crop, monday, weather)
        week.amount += pick.amount
        week.expected += told.likely * days / WEEK.days
        week.plant_days += plants * days
    rows = [
        WeekSeen(ratio=week.amount / week.expected, dli=week.dli)
        for week in weeks.values()
        if week.plant_days >= _ENOUGH and week.amount > 0 and week.expected > 0
    ]
    if not rows:
        return None
    prior = belief_from(anchor.low / anchor.typical, 1.0, anchor.high / anchor.typical)
    return Attained(prior=prior, weeks=tuple(rows))
