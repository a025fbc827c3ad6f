"""Whether a season can be planned at all, and in clear words why not."""

from __future__ import annotations

from cropplan.problems import Refusal
from cropplan.season.demand import CropOption, Goal, Season, Standing


def refuse_unplannable(season: Season) -> None:
    """Refuse a season that no plan can be made for, with the reason.

    Raises Refusal naming the first goal, crop, place or planting that cannot be.
    """
    if season.weeks < 1:
        raise Refusal(f"the plan covers {season.weeks} weeks; it needs at least 1")
    if not season.goals:
        raise Refusal("no goal is set; say first how much of a crop is wanted each week")
    _refuse_places(season)
    for goal in season.goals:
        _refuse_goal(season, goal)
    for option in season.options:
        _refuse_option(season, option)
    tags = [planting.tag for planting in season.standing]
    for planting in season.standing:
        _refuse_standing(season, planting)
        if tags.count(planting.tag) > 1:
            raise Refusal(f"two plantings have the tag {planting.tag}; give one another")
    _refuse_overfull(season)


def _refuse_places(season: Season) -> None:
    trays = {option.tray for option in season.options}
    if not any(any(kind.capacity) for kind in season.kinds if kind.kind not in trays):
        raise Refusal("the house has no places; add places before planning a season")
    for kind in season.kinds:
        if len(kind.capacity) != season.weeks or min(kind.capacity) < 0:
            raise Refusal(f"{kind.kind}: one capacity of 0 or more is needed for each week")


def _refuse_goal(season: Season, goal: Goal) -> None:
    if goal.amount <= 0 or goal.weight <= 0:
        raise Refusal(f"goal {goal.name}: amount and weight must be above 0")
    if not 0 <= goal.from_week < min(goal.until_week, season.weeks):
        raise Refusal(
            f"goal {goal.name}: weeks {goal.from_week} to {goal.until_week} lie outside the "
            f"{season.weeks} weeks planned"
        )
    raisable = {option.crop for option in season.options} | {p.crop for p in season.standing}
    unknown = [crop for crop in goal.crops if crop not in raisable]
    if unknown or not goal.crops:
        raise Refusal(
            f"goal {goal.name}: nothing is known that gives {' or '.join(unknown) or 'it'}"
        )
    for crop in goal.crops:
        for other in season.goals:
            overlap = max(goal.from_week, other.from_week) < min(goal.until_week, other.until_week)
            if other is not goal and overlap and crop in other.crops:
                raise Refusal(
                    f"{crop} serves both {goal.name} and {other.name} in the same weeks; "
                    "give it to one goal"
                )


def _refuse_option(season: Season, option: CropOption) -> None:
    kinds = {kind.kind for kind in season.kinds}
    wrong = [kind for kind in (*option.kinds, option.tray) if kind not in kinds | {None}]
    if wrong or not option.kinds:
        raise Refusal(f"{option.crop}: the house has no {wrong[0] if wrong else 'place for it'}")
    series = (option.tray_weeks, option.lead_weeks, option.light)
    if any(len(values) != season.weeks for values in series):
        raise Refusal(
            f"{option.crop}: tray weeks, lead weeks and light need a figure for each week"
        )
    pairs = zip(option.tray_weeks, option.lead_weeks, strict=True)
    if any(not 0 <= tray <= lead for tray, lead in pairs):
        raise Refusal(f"{option.crop}: it cannot be picked before it is set out")
    if not option.stays or not all(1 <= stay <= len(option.curve) for stay in option.stays):
        raise Refusal(
            f"{option.crop}: its stays must lie within the {len(option.curve)} weeks picked"
        )
    if not 0 < option.success <= 1 or not 0 < option.certainty < 1:
        raise Refusal(f"{option.crop}: success must lie in (0, 1] and certainty in (0, 1)")


def _refuse_standing(season: Season, planting: Standing) -> None:
    kinds = {kind.kind for kind in season.kinds}
    if planting.kind not in kinds or planting.tray not in kinds | {None}:
        raise Refusal(f"{planting.tag} stands in a kind of place the house does not have")
    if planting.count < 1:
        raise Refusal(f"{planting.tag} has {planting.count} plants; it needs at least 1")
    if planting.until <= max(0, planting.set_out):
        raise Refusal(f"{planting.tag} would be pulled before it stands")


def _refuse_overfull(season: Season) -> None:
    """Refuse when what must stay does not fit, however soon the rest is pulled."""
    taken = {kind.kind: [0.0] * season.weeks for kind in season.kinds}
    gap = {kind.kind: kind.gap_weeks for kind in season.kinds}
    for planting in season.standing:
        until = planting.until
        if planting.pull_early:
            weeks = range(max(0, planting.set_out), planting.until)
            until = next((week for week in weeks if season.may_pull(week)), planting.until)
        last = until + gap[planting.kind] if until > planting.set_out else 0
        for week in range(max(0, planting.set_out), min(last, season.weeks)):
            taken[planting.kind][week] += planting.count
        if planting.tray is not None:
            for week in range(max(0, planting.struck or 0), min(planting.set_out, season.weeks)):
                taken[planting.tray][week] += planting.tray_places
    for kind in season.kinds:
        for week, room in enumerate(kind.capacity):
            if taken[kind.kind][week] > room:
                raise Refusal(
                    f"{taken[kind.kind][week]:g} plants must stand in {kind.kind} in week {week}, "
                    f"which holds {room}; pull some or add places"
                )
