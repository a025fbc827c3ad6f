"""What the season planner is told: goals, places, ways to raise a crop, and what already stands.

Weeks are counted from 0, the week the plan is made in. A span of weeks is half open: from its first
week up to, but without, its `until`. Plants are counted whole; a place kind's capacity is a number
of plants. Nothing here knows a date, a tag's history or a temperature: the caller has turned those
into weeks and counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Origin(Enum):
    """How plants are started: from a mother plant, or without one, be it from seed or bought."""

    STRUCK = "struck"
    SOWN = "sown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """How much is wanted each week.

    name : what the grower calls it.
    crops : any of these crops serve the goal, unit for unit.
    amount : wanted each week. [unit per week]
    weight : what being one unit short costs against other goals. [1 per unit]
    from_week, until_week : first week wanted, first week no longer wanted.
    """

    name: str
    crops: tuple[str, ...]
    amount: float
    weight: float
    from_week: int
    until_week: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceKind:
    """Places that are alike: what suits one planting in one of them suits it in all.

    kind : name; where the medium matters, the medium is part of it.
    capacity : plants the kind holds, one figure a week of the horizon.
    gap_weeks : weeks a place rests after a planting, to renew its medium. [week]
    """

    kind: str
    capacity: tuple[int, ...]
    gap_weeks: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mothering:
    """What a plant gives as a mother.

    shoots : cuttings it can give. [cutting per plant and week]
    fit_from, fit_until : weeks after setting out, from the first fit one to the first unfit. [week]
    generation_cap : highest clone generation that may be struck; None when there is no limit.
    """

    shoots: float
    fit_from: int
    fit_until: int
    generation_cap: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CropOption:
    """One way to raise one crop.

    crop : the crop; several options may raise the same one.
    origin : struck from a mother or sown without one.
    kinds : place kinds it can be set out in.
    tray : place kind its cuttings or seedlings stand in before; None when it goes out at once.
    tray_weeks : weeks from striking to ready to set out, by week of striking. [week]
    lead_weeks : weeks from striking to first pick, by week of striking. [week]
    hold_weeks : longest wait in the tray once ready. They wait no longer than they must, unless
        all are away when they would otherwise be struck. [week]
    curve : pick of one plant in full light, by week since first pick. [unit per plant and week]
    light : factor on the pick, by week of the horizon. [1]
    stays : lengths of picking to choose from. [week]
    success : fraction of cuttings or seeds that become plants. [1]
    certainty : wanted chance that enough of them do. [1]
    spread : relative standard deviation of the crop's yield around the curve, the same for all its
        plantings at a time, by week of the horizon; none when empty. [1]
    pick_weeks : weeks between the picks of one planting; 0 when it is picked all the time. [week]
    lead_spread : standard deviation of the weeks to first pick, by week of striking; none when
        empty. [week]
    bearing : share of plants that still bear, by week since first pick, which `curve` has taken
        into account; all of them when empty. [1]
    mothering : what its plants give as mothers; None when they are never used so.
    keep_alive : plants of the crop to be alive every week, so that its clone is kept. [plant]
    """

    crop: str
    origin: Origin
    kinds: tuple[str, ...]
    tray: str | None
    tray_weeks: tuple[int, ...]
    lead_weeks: tuple[int, ...]
    curve: tuple[float, ...]
    light: tuple[float, ...]
    stays: tuple[int, ...]
    success: float
    certainty: float
    hold_weeks: int = 0
    spread: tuple[float, ...] = ()
    pick_weeks: float = 0.0
    lead_spread: tuple[float, ...] = ()
    bearing: tuple[float, ...] = ()
    mothering: Mothering | None = None
    keep_alive: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A planting that exists, or whose striking is already decided.

    tag : the grower's name for it.
    kind : place kind it stands in, or is bound for.
    count : plants.
    set_out : week it was or will be set out; negative when past. [week]
    until : week it is pulled at the latest. [week]
    picks : expected pick of one plant, by week of the horizon; later weeks give nothing.
    tray, tray_places : where it waits until set out, and positions it takes there.
    struck : week of a decided striking; None when that is past. [week]
    cuttings : cuttings a decided striking will take from mothers.
    shoots : cuttings one of its plants can give. [cutting per plant and week]
    fit_from, fit_until : weeks of the horizon in which it is a fit mother.
    generation : clone generation of its plants; seed-raised plants are 0.
    propagate : whether cuttings may be taken from it at all.
    pull_early : whether the planner may pull it before `until`.
    splits : whether some of its plants may be pulled and others kept.
    spread, pick_weeks : as those of a `CropOption`.
    bearing : chance that it bears at all, by week of the horizon, which `picks` has taken into
        account; certain when empty. [1]
    """

    tag: str
    crop: str
    kind: str
    count: int
    set_out: int
    until: int
    picks: tuple[float, ...]
    tray: str | None = None
    tray_places: int = 0
    struck: int | None = None
    cuttings: int = 0
    shoots: float = 0.0
    fit_from: int = 0
    fit_until: int = 0
    generation: int = 1
    propagate: bool = True
    pull_early: bool = True
    splits: bool = True
    spread: tuple[float, ...] = ()
    pick_weeks: float = 0.0
    bearing: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """All that the planner is told.

    weeks : length of the horizon. [week]
    away : weeks in which nothing is struck, set out or pulled.
    not_setting_out : further weeks in which nothing is set out.
    frozen_weeks : first weeks that are already decided; nothing new is begun or pulled in them.
    glut_from : pick above this many times the goal counts as glut. [1]
    pull_step : weeks between the choices of pulling a standing planting early. [week]
    weather : relative standard deviation of a week's pick around what the season's light gives. [1]
    """

    weeks: int
    goals: tuple[Goal, ...]
    kinds: tuple[PlaceKind, ...]
    options: tuple[CropOption, ...]
    standing: tuple[Standing, ...] = ()
    away: frozenset[int] = frozenset()
    not_setting_out: frozenset[int] = frozenset()
    frozen_weeks: int = 0
    glut_from: float = 1.3
    pull_step: int = 3
    weather: float = 0.0

    def may_start(self, week: int) -> bool:
        """Whether something new may be struck or sown in the week."""
        return self.frozen_weeks <= week < self.weeks and week not in self.away

    def may_set_out(self, week: int) -> bool:
        """Whether plants may be set out in the week; beyond the horizon nothing forbids it."""
        return week not in self.away and week not in self.not_setting_out

    def may_pull(self, week: int) -> bool:
        """Whether a planting may be pulled in the week before its time is up."""
        return week >= self.frozen_weeks and week not in self.away

    def kept_alive(self) -> dict[str, int]:
        """How many plants must be alive every week, of the crops that must not die out. [plant]"""
        most: dict[str, int] = {}
        for option in self.options:
            if option.keep_alive:
                most[option.crop] = max(option.keep_alive, most.get(option.crop, 0))
        return most

    def options_for(self, goal: Goal) -> tuple[CropOption, ...]:
        """The ways to raise the crops that serve a goal."""
        return tuple(option for option in self.options if option.crop in goal.crops)

    def goal_of(self, crop: str, week: int) -> int | None:
        """Index of the goal the crop's pick of that week serves; None when it serves none."""
        for index, goal in enumerate(self.goals):
            if goal.from_week <= week < goal.until_week and crop in goal.crops:
                return index
        return None

    def wanted(self) -> float:
        """All that the goals ask for over the horizon, weighted. [weighted unit]"""
        return sum(
            goal.weight * goal.amount * max(0, min(goal.until_week, self.weeks) - goal.from_week)
            for goal in self.goals
        )
