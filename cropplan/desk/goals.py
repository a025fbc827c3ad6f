"""What is wanted of each crop, week by week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cropplan.catalogue.read import find_crop, read_catalogue
from cropplan.desk.desk import Desk, Outcome, day_done, numbers, write
from cropplan.holding.season import Goal, GoalDropped, GoalSet
from cropplan.problems import Refusal
from cropplan.schedule.wording import day_text


def set_goal(
    desk: Desk, crop_text: str, amount: float, *, first: date, last: date, priority: int = 1
) -> Outcome:
    """Say how much of a crop is wanted each week; it takes the place of the crop's goal before."""
    holding = desk.record.snapshot(living_only=True)
    today = day_done(desk, holding, None)
    crop = read_catalogue([find_crop(crop_text)], desk.own_figures).crops[find_crop(crop_text)]
    if last < today:
        raise Refusal(f"a goal until {last} lies in the past (today is {today})")
    goal = Goal(crop=crop.id, amount=amount, first=first, last=last, priority=priority)
    _, entries = write(desk, today, [GoalSet(goal=goal)])
    line = (
        f"{crop.id}: {amount:g} {crop.pick_unit} a week, "
        f"{day_text(first, today)} to {day_text(last, today)}"
    )
    return Outcome(said=(line,), entries=numbers(entries))


def drop_goal(desk: Desk, crop_text: str) -> Outcome:
    """Aim at a crop no longer."""
    crop = find_crop(crop_text)
    today = day_done(desk, desk.record.snapshot(living_only=True), None)
    _, entries = write(desk, today, [GoalDropped(crop=crop)])
    return Outcome(said=(f"{crop}: no longer aimed at",), entries=numbers(entries))


@dataclass(frozen=True, slots=True, kw_only=True)
class GoalRow:
    """A goal with the unit its amount is in."""

    goal: Goal
    unit: str


def goals(desk: Desk) -> list[GoalRow]:
    """What is wanted each week, the most pressing first."""
    held = desk.record.snapshot(living_only=True).goals
    crops = read_catalogue(held, desk.own_figures).crops
    ordered = sorted(held.values(), key=lambda goal: (goal.priority, goal.crop))
    return [GoalRow(goal=goal, unit=crops[goal.crop].pick_unit) for goal in ordered]
