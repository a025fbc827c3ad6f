"""The house as the planner is told it: dates, figures and plants turned into weeks and counts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.holding.place import PlaceKind as HousePlaceKind
from cropplan.holding.planting import CLONAL
from cropplan.holding.season import Goal as Wanted
from cropplan.holding.season import PlannedStrike
from cropplan.schedule.planned import open_strikes
from cropplan.schedule.scene import Scene
from cropplan.season.crop_figures import WEEK
from cropplan.season.demand import Goal, PlaceKind, Season
from cropplan.season.raised import ways_to_raise
from cropplan.season.standing import Yields, decided, standing_in, that_fit

#: What the plan in force begins so soon is kept by a new plan, whose mother plants may be bagged
#: and whose trays may be filled already. Common practice, no source. [week]
KEPT_WEEKS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A season as the planner is told it, and the way back to days.

    today : the day the plan is made. monday : the first day of its week, which is week 0.
    kept : strikes of the plan in force that the new one keeps. aimed : crops with a goal.
    at_work : whether somebody works in the house on a day.
    """

    season: Season
    today: date
    monday: date
    kept: tuple[PlannedStrike, ...]
    aimed: frozenset[str]
    at_work: Callable[[date], bool]

    def day(self, week: int) -> date:
        """The Monday of a week."""
        return self.monday + week * WEEK

    def work_day(self, week: int) -> date:
        """The first day of a week on which somebody works; its first to come when nobody does."""
        days = [self.day(week) + timedelta(days=n) for n in range(7)]
        to_come = [day for day in days if day >= self.today]
        return next(filter(self.at_work, to_come), to_come[0])


def tag_of_kept(strike: PlannedStrike) -> str:
    """What the planner calls a strike of the plan in force that is kept; no tag looks like it."""
    return f"plan {strike.number}"


def season_of(
    scene: Scene, goals: Sequence[Wanted], weeks: int, attained: Yields | None = None
) -> Told:
    """The season that the house stands before.

    weeks : length of the plan. [week]
    attained : what the house's own pickings were against those forecast, by crop.
    """
    own = attained or {}
    monday = scene.today - timedelta(days=scene.today.weekday())
    crops = {goal.crop: scene.catalogue.crops[goal.crop] for goal in goals}
    kinds = _kinds(scene, weeks)
    kept = tuple(_kept(scene, frozenset(crops)))
    standing = [
        *standing_in(scene, frozenset(crops), monday, weeks, own),
        *(
            decided(scene, strike, tag_of_kept(strike), _kind_of(scene, strike), monday, weeks, own)
            for strike in kept
        ),
    ]
    return Told(
        season=Season(
            weeks=weeks,
            goals=tuple(_goal(goal, monday, weeks) for goal in goals),
            kinds=kinds,
            options=tuple(
                option
                for crop in crops.values()
                for option in ways_to_raise(scene, crop, monday, weeks, own.get(crop.id))
            ),
            standing=that_fit(standing, kinds, weeks),
            away=_away(scene, monday, weeks),
        ),
        today=scene.today,
        monday=monday,
        kept=kept,
        aimed=frozenset(crops),
        at_work=lambda day: _at_work(scene, day),
    )


def _goal(goal: Wanted, monday: date, weeks: int) -> Goal:
    first = max(0, (goal.first - monday).days // 7)
    until = min(weeks, (goal.last - monday).days // 7 + 1)
    return Goal(
        name=goal.crop,
        crops=(goal.crop,),
        amount=goal.amount,
        weight=0.5 ** (goal.priority - 1) / goal.amount,
        from_week=first,
        until_week=until,
    )


def _kinds(scene: Scene, weeks: int) -> tuple[PlaceKind, ...]:
    room: dict[HousePlaceKind, int] = {}
    for place in scene.holding.places.values():
        if place.retired_on is None:
            room[place.kind] = room.get(place.kind, 0) + place.holds
    # What stands may be more than a place is said to hold; it is there all the same.
    for kind, plants in room.items():
        stands = sum(
            planting.count
            for planting in scene.holding.plantings.values()
            if planting.alive and scene.holding.places[planting.place].kind is kind
        )
        room[kind] = max(plants, stands)
    return tuple(
        PlaceKind(kind=kind.value, capacity=(plants,) * weeks) for kind, plants in room.items()
    )


def _kept(scene: Scene, aimed: frozenset[str]) -> list[PlannedStrike]:
    """The near strikes of the plan in force that can still be made as they stand."""
    until = scene.today + KEPT_WEEKS * WEEK
    kept = []
    for strike, left in open_strikes(scene):
        whole = left == strike.count and scene.today <= strike.on < until
        if whole and strike.crop in aimed and strike.places and _has_mother(scene, strike):
            kept.append(strike)
    return kept


def _has_mother(scene: Scene, strike: PlannedStrike) -> bool:
    if strike.way not in CLONAL:
        return True
    plantings = scene.holding.plantings
    mothers = [plantings[tag] for tag in strike.mothers if tag in plantings]
    return any(mother.alive and mother.barred_why is None for mother in mothers)


def _kind_of(scene: Scene, strike: PlannedStrike) -> str:
    return scene.holding.places[strike.places[0]].kind.value


def _away(scene: Scene, monday: date, weeks: int) -> frozenset[int]:
    """Weeks without a day on which somebody works, but for those gone by of this week."""
    away = set()
    for week in range(weeks):
        days = [monday + week * WEEK + timedelta(days=n) for n in range(7)]
        if not any(_at_work(scene, day) for day in days if day >= scene.today):
            away.add(week)
    return frozenset(away)


def _at_work(scene: Scene, day: date) -> bool:
    """Whether a day is one of the house's working days and somebody is there."""
    house = next(iter(scene.holding.houses.values()))
    usual = not house.work_days or day.isoweekday() in house.work_days
    return usual and not any(absence.holds(day) for absence in scene.holding.absences)
