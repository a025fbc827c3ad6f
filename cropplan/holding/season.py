"""What is wanted of the season, the plan of cuttings accepted for it, and the acts that say so."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cropplan.holding.planting import Origin


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """How much of a crop is wanted each week, both days included.

    amount : a week, in the crop's own unit.
    priority : 1 is met first; each step down counts half as much.
    """

    crop: str
    amount: float
    first: date
    last: date
    priority: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStrike:
    """Plants to begin, as the accepted plan has it.

    number : counts from 1 over all plans ever accepted, so that its task keeps its name.
    on : the day to strike or sow. count : how many, losses allowed for. plants : wanted of them.
    mothers : tags to take from; empty when sown, or when they are not there yet.
    place : where they are raised. places : where they go when set out.
    """

    number: int
    crop: str
    way: Origin
    on: date
    count: int
    plants: int
    mothers: tuple[str, ...]
    place: str | None
    places: tuple[str, ...]
    set_out: date
    first_pick: date
    last_pick: date


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedEnd:
    """The day the accepted plan has a standing planting pulled."""

    tag: str
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStand:
    """Plants that stood when the plan was made, which it has until a day.

    likely : when they most likely tire, if sooner; what they give after that is not counted on.
    places : where they go, for those that were still in a tray.
    """

    tag: str
    count: int
    until: date
    likely: date | None = None
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWeek:
    """What the accepted plan expects of a crop in one week, against what is wanted.

    week : its Monday. low, high : eight times in ten.
    """

    week: date
    crop: str
    goal: float
    expected: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPlan:
    """The plan that was accepted.

    made : the day it was made. until : the last day it reaches.
    last_number : the highest number that a strike of this or an earlier plan bears.
    """

    made: date
    until: date
    last_number: int = 0
    strikes: tuple[PlannedStrike, ...] = ()
    ends: tuple[PlannedEnd, ...] = ()
    weeks: tuple[PlannedWeek, ...] = ()
    stands: tuple[PlannedStand, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class GoalSet:
    """So much of a crop is wanted each week; it takes the place of the crop's goal before."""

    goal: Goal


@dataclass(frozen=True, slots=True, kw_only=True)
class GoalDropped:
    """A crop is no longer aimed at."""

    crop: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonAccepted:
    """A season plan was accepted; it takes the place of the plan before."""

    plan: SeasonPlan
