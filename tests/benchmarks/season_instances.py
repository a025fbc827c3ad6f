"""Invented houses for measuring the season planner, grown from a seed.

Week 0 is early September. Ten crops, nine of which serve six goals; five kinds of place; trays for
a quarter of the places; light, lead and rooting weeks move with the time of year; eight to forty
plantings already stand on about nine tenths of the places. All figures are invented: they give the
planner work of a realistic shape and are no facts of any crop.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, pi
from random import Random

from cropplan.season.demand import (
    CropOption,
    Goal,
    Mothering,
    Origin,
    PlaceKind,
    Season,
    Standing,
)

MIDWINTER = 16  # Weeks from early September to the shortest day.
SHARES = {"bucket": 0.40, "channel": 0.24, "bed": 0.16, "pot": 0.12, "basket": 0.08}
GOALS = {
    "tomatoes": ("tomato", "cherry tomato"),
    "peppers": ("pepper",),
    "cucumbers": ("cucumber",),
    "berries": ("strawberry", "day-neutral strawberry"),
    "herbs": ("basil", "mint"),
    "greens": ("watercress",),
}
KINDS_OF = {
    "tomato": ("bucket",),
    "cherry tomato": ("bucket", "bed"),
    "pepper": ("pot", "bucket"),
    "cucumber": ("bed",),
    "strawberry": ("channel", "basket"),
    "day-neutral strawberry": ("basket",),
    "basil": ("channel", "pot"),
    "mint": ("basket",),
    "watercress": ("bed", "channel"),
    "coleus": ("pot",),  # Serves no goal: it only stands in the way until it is pulled.
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """How one crop grows in one invented house."""

    lead: float
    root: float
    bearing: int
    shoots: float
    success: float


def dark(week: int) -> float:
    """How far the week is towards midwinter: 0 at midsummer, 1 at midwinter. [1]"""
    return 0.5 * (1.0 + cos(2.0 * pi * (week - MIDWINTER) / 52.0))


def light(week: int) -> float:
    """Factor on the pick from the week's light. [1]"""
    return 1.0 - 0.55 * dark(week)


def house(*, weeks: int, places: int, tight: float, seed: int, goals: int = 6) -> Season:
    """One invented house.

    weeks : horizon. [week]
    places : plants the house holds, trays apart.
    tight : goals as a multiple of three quarters of what the places could give for ever.
    goals : how many of the six goals are set.
    """
    chance = Random(seed)  # noqa: S311 - it guards no secret
    served = dict(list(GOALS.items())[:goals])
    crops = [crop for crop in KINDS_OF if crop == "coleus" or _goal(crop, served)]
    kinds = sorted({kind for crop in crops for kind in KINDS_OF[crop]}, key=list(SHARES).index)
    capacity = _shares(places, kinds)
    habits = {crop: _habit(chance) for crop in crops}
    options = tuple(_option(crop, habits[crop], weeks) for crop in crops)
    room = [PlaceKind(kind=kind, capacity=(capacity[kind],) * weeks) for kind in kinds]
    room.append(PlaceKind(kind="tray", capacity=(max(4, round(places / 4)),) * weeks))
    return Season(
        weeks=weeks,
        goals=_goals(served, options, capacity, weeks, tight),
        kinds=tuple(room),
        options=options,
        standing=_standing(chance, options, habits, capacity, weeks),
    )


def _goal(crop: str, served: dict[str, tuple[str, ...]]) -> str | None:
    return next((name for name, crops in served.items() if crop in crops), None)


def _shares(places: int, kinds: list[str]) -> dict[str, int]:
    total = sum(SHARES[kind] for kind in kinds)
    capacity = {kind: max(1, round(places * SHARES[kind] / total)) for kind in kinds}
    capacity[kinds[0]] += places - sum(capacity.values())
    return capacity


def _habit(chance: Random) -> Habit:
    return Habit(
        lead=chance.uniform(8, 13),
        root=chance.uniform(1.5, 3),
        bearing=chance.randint(10, 30),
        shoots=round(chance.uniform(0.5, 3.0), 1),
        success=chance.choice((0.75, 0.8, 0.85, 0.9, 0.95)),
    )


def _option(crop: str, habit: Habit, weeks: int) -> CropOption:
    root = tuple(min(4, max(2, round(habit.root + 1.2 * dark(w)))) for w in range(weeks))
    lead = tuple(min(16, round(habit.lead * (1.0 + 0.35 * dark(w)))) for w in range(weeks))
    longest = round(1.25 * habit.bearing)
    curve = [0.5, 0.5] + [1.0] * (habit.bearing - 2)
    while len(curve) < longest:
        curve.append(curve[-1] * 0.88)
    return CropOption(
        crop=crop,
        origin=Origin.STRUCK,
        kinds=KINDS_OF[crop],
        tray="tray",
        tray_weeks=root,
        lead_weeks=lead,
        curve=tuple(curve),
        light=tuple(light(w) for w in range(weeks)),
        stays=tuple(max(1, round(part * habit.bearing)) for part in (0.5, 0.75, 1.0, 1.25)),
        success=habit.success,
        certainty=0.8,
        mothering=Mothering(
            shoots=habit.shoots, fit_from=6, fit_until=round(habit.lead) + habit.bearing
        ),
    )


def _goals(
    served: dict[str, tuple[str, ...]],
    options: tuple[CropOption, ...],
    capacity: dict[str, int],
    weeks: int,
    tight: float,
) -> tuple[Goal, ...]:
    by_crop = {option.crop: option for option in options}
    sharers = {
        kind: sum(o.kinds[0] == kind and o.crop != "coleus" for o in options) for kind in capacity
    }
    goals = []
    for name, crops in served.items():
        steady = 0.0
        for crop in crops:
            option = by_crop[crop]
            bearing = option.stays[2]
            stood = option.lead_weeks[0] - option.tray_weeks[0] + bearing
            rate = sum(option.curve[:bearing]) / stood
            steady += rate * capacity[option.kinds[0]] / sharers[option.kinds[0]]
        goals.append(
            Goal(
                name=name,
                crops=crops,
                amount=round(tight * 0.75 * steady, 2),
                weight=1.0,
                from_week=0,
                until_week=weeks,
            )
        )
    return tuple(goals)


def _standing(
    chance: Random,
    options: tuple[CropOption, ...],
    habits: dict[str, Habit],
    capacity: dict[str, int],
    weeks: int,
) -> tuple[Standing, ...]:
    plantings: list[Standing] = []
    places = sum(capacity.values())
    batches = min(40, max(8, round(places * 40 / 150)))
    for kind, held in capacity.items():
        growers = [option for option in options if option.kinds[0] == kind] or [
            option for option in options if kind in option.kinds
        ]
        filled = round(0.9 * held)
        number = max(len(growers), round(batches * held / places))
        cuts = sorted(chance.sample(range(1, filled), min(number, filled) - 1))
        for index, (low, high) in enumerate(zip([0, *cuts], [*cuts, filled], strict=True)):
            option = growers[index % len(growers)]
            tag = f"{option.crop} {len(plantings) + 1}"
            batch = _batch(chance, option, habits[option.crop], weeks)
            plantings.append(replace(batch, tag=tag, kind=kind, count=high - low))
    return tuple(plantings)


def _batch(chance: Random, option: CropOption, habit: Habit, weeks: int) -> Standing:
    """One plant of a crop at a random age."""
    bearing = habit.bearing
    waits = option.lead_weeks[0] - option.tray_weeks[0]
    age = chance.randint(0, waits + bearing - 1)
    first_pick = waits - age
    until = max(1, min(first_pick + len(option.curve), first_pick + bearing))
    picks = tuple(
        option.curve[w - first_pick] * light(w) if 0 <= w - first_pick < bearing else 0.0
        for w in range(min(until, weeks))
    )
    mothering = option.mothering
    assert mothering is not None
    return Standing(
        tag=option.crop,
        crop=option.crop,
        kind=option.kinds[0],
        count=1,
        set_out=-age,
        until=until,
        picks=picks,
        shoots=mothering.shoots,
        fit_from=mothering.fit_from - age,
        fit_until=min(until, mothering.fit_until - age),
    )
