"""The best relay of plantings through one place, while everything else stays as it is.

In one place plantings follow each other without overlapping, so their picks add up and the best
row of them is found exactly by walking the weeks backward: the best from a week on is either to
leave the place idle for a week, or a cohort set out then and the best from its end on.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from cropplan.season.cost import DEAD_COST, GLUT_COST, PLANT_COST, STRIKING_COST
from cropplan.season.demand import Season
from cropplan.season.ledger import Ledger
from cropplan.season.options import Cohort, Options

_ROUNDING = 1e-6


@dataclass(slots=True, kw_only=True)
class Family:
    """Cohorts that differ only in how long they stay.

    first : any of them. picks : those of the longest stay.
    ends : week each leaves its place free, last pick week and index, shortest stay first.
    """

    first: Cohort
    picks: tuple[float, ...] = ()
    ends: list[tuple[int, int, int]] = field(default_factory=list)


Families = dict[str, list[list[Family]]]
"""Families by kind of place and week of setting out."""


def families_of(season: Season, options: Options) -> Families:
    """The cohorts, sorted for walking a place's weeks."""
    gap = {kind.kind: kind.gap_weeks for kind in season.kinds}
    found: Families = {kind.kind: [[] for _ in range(season.weeks)] for kind in season.kinds}
    known: dict[tuple[int, str, int | None, int, int], Family] = {}
    for index, cohort in enumerate(options.cohorts):
        key = (cohort.option, cohort.kind, cohort.generation, cohort.strike, cohort.set_out)
        family = known.get(key)
        if family is None:
            family = known[key] = Family(first=cohort)
            found[cohort.kind][cohort.set_out].append(family)
        last = min(cohort.pulled, season.weeks)
        free = min(cohort.pulled + gap[cohort.kind], season.weeks)
        family.ends.append((free, last, index))
        if len(cohort.picks) > len(family.picks):
            family.picks = cohort.picks
    return found


def best_relay(
    ledger: Ledger, families: Families, kind: str, standing: int | None
) -> tuple[list[int], int | None]:
    """Cohorts to send through one free place of a kind, and the ending of the plant in it now.

    standing : index of the planting whose plant has the place; None for an empty one. Neither it
        nor its followers may be in the ledger at the time.
    Returns indices of cohorts in order, and the index of the ending chosen.
    """
    blocked = _blocked(ledger, kind)
    best, chosen = _backward(ledger, families, kind, blocked)
    start = 0
    ending = None
    if standing is not None:
        ending, start = _best_ending(ledger, standing, best, blocked)
    relay = []
    week = start
    while week < ledger.season.weeks:
        choice = chosen[week]
        if choice is None:
            week += 1
        else:
            week, index = choice
            relay.append(index)
    return relay, ending


def _backward(
    ledger: Ledger, families: Families, kind: str, blocked: list[int]
) -> tuple[list[float], list[tuple[int, int] | None]]:
    """Value of the best relay from each week on, and the cohort it begins with there."""
    weeks = ledger.season.weeks
    crops = {option.crop for option in ledger.season.options if kind in option.kinds}
    worth = {crop: _worth(ledger, crop) for crop in crops}
    best = [0.0] * (weeks + 1)
    chosen: list[tuple[int, int] | None] = [None] * weeks
    for week in range(weeks - 1, -1, -1):
        most, choice = best[week + 1], None
        until = blocked[week]
        if until > week:
            for family in families[kind][week]:
                first = family.first
                if family.ends[0][0] > until:
                    continue
                if not (ledger.has_shoots(first) and ledger.has_tray(first)):
                    continue
                for value, end, index in _values(ledger, family, worth[first.crop]):
                    if end > until:
                        break
                    if value + best[end] > most:
                        most, choice = value + best[end], (end, index)
        best[week], chosen[week] = most, choice
    return best, chosen


def _blocked(ledger: Ledger, kind: str) -> list[int]:
    """First week from each week on in which the kind has no free place."""
    weeks = ledger.season.weeks
    room = ledger.room[kind]
    blocked = [weeks] * (weeks + 1)
    for week in range(weeks - 1, -1, -1):
        blocked[week] = week if room[week] < 1.0 - _ROUNDING else blocked[week + 1]
    return blocked


def _worth(ledger: Ledger, crop: str) -> list[tuple[float, float, float]]:
    """By week: amount missing, amount until glut, and cost of a unit missing."""
    season = ledger.season
    rows = []
    for week, goal in enumerate(ledger.goals_of(crop)):
        if goal is None:
            rows.append((0.0, float("inf"), 0.0))
            continue
        missing = ledger.missing[goal][week]
        over = (season.glut_from - 1.0) * season.goals[goal].amount
        rows.append((missing, max(0.0, missing + over), season.goals[goal].weight))
    return rows


def _too_few(ledger: Ledger, crop: str) -> list[bool]:
    """Whether one plant more would help to keep a crop alive, by week; empty for most crops."""
    least = ledger.kept_alive.get(crop, 0)
    return [alive < least for alive in ledger.alive[crop]] if least else []


def _values(
    ledger: Ledger, family: Family, worth: list[tuple[float, float, float]]
) -> list[tuple[float, int, int]]:
    """What one plant of each stay would save, the week it frees its place, and its index."""
    cohort = family.first
    value = -PLANT_COST
    if not ledger.strikings[cohort.strike]:
        value -= STRIKING_COST
    few = _too_few(ledger, cohort.crop)
    value += DEAD_COST * sum(few[cohort.strike : cohort.first_pick])
    week = first = cohort.first_pick
    picks = family.picks
    values = []
    for end, last, index in family.ends:
        while week < last:
            pick = picks[week - first]
            missing, free, weight = worth[week]
            if missing > 0.0:
                value += weight * (min(missing, pick))
            if pick > free:
                value -= GLUT_COST * weight * (pick - free)
            if few:
                value += DEAD_COST * few[week]
            week += 1
        values.append((value, end, index))
    return values


def _best_ending(
    ledger: Ledger, standing: int, best: list[float], blocked: list[int]
) -> tuple[int | None, int]:
    """Ending of the plant that has the place, and the week its followers may begin."""
    season = ledger.season
    planting = season.standing[standing]
    worth = _worth(ledger, planting.crop)
    few = _too_few(ledger, planting.crop)
    value, week = 0.0, 0
    most, found, start = float("-inf"), None, 0
    for index, ending in enumerate(ledger.options.endings):
        if ending.standing != standing:
            continue
        while week < min(ending.pulled, season.weeks):
            pick = planting.picks[week] if week < len(planting.picks) else 0.0
            missing, free, weight = worth[week]
            value += weight * max(0.0, min(pick, missing))
            value -= GLUT_COST * weight * max(0.0, pick - free)
            if few:
                value += DEAD_COST * few[week]
            week += 1
        end = 0
        if ending.pulled > planting.set_out:
            end = min(ending.pulled + ledger.gap[planting.kind], season.weeks)
            if end > blocked[max(0, planting.set_out)]:
                break
        if value + best[end] > most:
            most, found, start = value + best[end], index, end
    return found, start
