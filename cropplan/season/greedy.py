"""A first whole plan, at once and in plain Python, and a way to better it without a solver.

Places are filled one after the other, each with the relay that helps most given all the others.
Bettering empties a few places and fills them anew, in another order; what is no worse is kept, and
at first what is a little worse as well, so that the plan does not stick in the first dead end.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import count
from math import exp
from random import Random

from cropplan.season.demand import Season
from cropplan.season.ledger import Ledger
from cropplan.season.options import Options
from cropplan.season.relay import Families, best_relay, families_of

_WARM, _COLD = 0.4, 0.004  # First and last tolerance, as a share of what one plant gives. [1]


@dataclass(slots=True, kw_only=True)
class Lane:
    """One place and what goes through it.

    standing : index of the planting whose plant has the place now; None for an empty place.
    relay : indices of the cohorts to follow. ending : index of that plant's ending.
    """

    kind: str
    standing: int | None
    ending: int | None
    relay: list[int] = field(default_factory=list)


@dataclass(slots=True, kw_only=True)
class Race:
    """A whole plan in the making: the ledger and the lanes it is the sum of."""

    ledger: Ledger
    families: Families
    lanes: list[Lane]


def first_plan(season: Season, options: Options) -> Race:
    """A whole plan that keeps every rule, made in one pass over the places."""
    ledger = Ledger(season, options)
    race = Race(ledger=ledger, families=families_of(season, options), lanes=[])
    ending = _first_endings(ledger)
    trays = {option.tray for option in season.options}
    for index, planting in enumerate(season.standing):
        if planting.splits and planting.pull_early:
            race.lanes.extend(
                Lane(kind=planting.kind, standing=index, ending=ending[index])
                for _ in range(planting.count)
            )
    for kind in season.kinds:
        taken = sum(p.count for p in season.standing if p.kind == kind.kind)
        if kind.kind not in trays:
            race.lanes.extend(
                Lane(kind=kind.kind, standing=None, ending=None)
                for _ in range(max(kind.capacity) - taken)
            )
    for lane in _mixed(race.lanes):
        _refill(race, [lane])
    return race


def improve(
    race: Race,
    *,
    chance: Random,
    spent: Callable[[int], float],
    better: Callable[[list[int], float], object],
) -> None:
    """Better a plan by emptying and refilling a few places at a time.

    chance : source of the choices, so that the same seed gives the same plan.
    spent : given the rounds so far, the share of the effort spent; at 1 it ends. The tolerance for
        worse plans falls with it.
    better : told the counts and the cost of each best plan so far.
    """
    ledger = race.ledger
    now = best = ledger.cost()
    step = _step(ledger)
    by_kind: dict[str, list[Lane]] = {}
    for lane in race.lanes:
        by_kind.setdefault(lane.kind, []).append(lane)
    for turn in count() if race.lanes else ():
        share = spent(turn)
        if share >= 1.0:
            return
        tolerance = step * _WARM * (_COLD / _WARM) ** share
        group = _group(race, by_kind, chance)
        before = [(lane.relay, lane.ending) for lane in group]
        if not _refill(race, group):
            continue
        cost = ledger.cost()
        if cost > now and chance.random() >= exp((now - cost) / tolerance):
            _restore(race, group, before)
            continue
        now = cost
        if now < best - 1e-9:
            best = now
            better(list(ledger.counts), best)


def _first_endings(ledger: Ledger) -> dict[int, int]:
    """An ending for each standing planting: its latest, or its first where room is wanting."""
    season = ledger.season
    first: dict[int, int] = {}
    last: dict[int, int] = {}
    for index, ending in enumerate(ledger.options.endings):
        first.setdefault(ending.standing, index)
        last[ending.standing] = index
    for standing, index in last.items():
        ledger.end(index, season.standing[standing].count)
    for standing in sorted(last, key=lambda each: sum(season.standing[each].picks)):
        planting = season.standing[standing]
        if min(ledger.room[planting.kind]) < 0:
            ledger.end(last[standing], -planting.count)
            ledger.end(first[standing], planting.count)
            last[standing] = first[standing]
    return last


def _mixed(lanes: list[Lane]) -> list[Lane]:
    """The lanes in an order that takes kinds and plantings in turn."""
    order = list(lanes)
    Random(0).shuffle(order)  # noqa: S311 - it guards no secret
    return order


def _step(ledger: Ledger) -> float:
    """What one plant typically gives in a week, weighted: the measure of a small change."""
    season = ledger.season
    rates = [
        goal.weight * max(option.curve)
        for goal in season.goals
        for option in season.options
        if option.crop in goal.crops
    ]
    return sum(rates) / len(rates) if rates else 1.0


def _group(race: Race, by_kind: dict[str, list[Lane]], chance: Random) -> list[Lane]:
    """Two or three places to empty, of one kind or of any; their later plantings may be swapped."""
    size = chance.randint(2, 3)
    pool = race.lanes if chance.random() < 0.5 else by_kind[chance.choice(race.lanes).kind]
    group = chance.sample(pool, min(size, len(pool)))
    if chance.random() < 0.5:
        other = chance.choice(by_kind[group[0].kind])
        if other is not group[0]:
            _swap_tails(race.ledger, group[0], other, chance.randrange(race.ledger.season.weeks))
    return group


def _swap_tails(ledger: Ledger, one: Lane, other: Lane, week: int) -> None:
    """Let two places of a kind trade what they hold from a week on, where that needs no overlap."""
    cohorts = ledger.options.cohorts
    gap = ledger.gap[one.kind]

    def cut(lane: Lane) -> tuple[list[int], list[int], int, int]:
        head = [index for index in lane.relay if cohorts[index].set_out < week]
        tail = lane.relay[len(head) :]
        free = 0
        if head:
            free = cohorts[head[-1]].pulled + gap
        elif lane.ending is not None:
            free = ledger.options.endings[lane.ending].pulled + gap
        start = cohorts[tail[0]].set_out if tail else ledger.season.weeks
        return head, tail, free, start

    head, tail, free, start = cut(one)
    other_head, other_tail, other_free, other_start = cut(other)
    if free <= other_start and other_free <= start:
        one.relay, other.relay = head + other_tail, other_head + tail


def _refill(race: Race, group: list[Lane]) -> bool:
    """Empty the lanes and fill each anew in order; put all back when mothers would fall short."""
    before = [(lane.relay, lane.ending) for lane in group]
    for lane in group:
        _put(race, lane, -1)
    for lane in group:
        lane.relay, ending = best_relay(race.ledger, race.families, lane.kind, lane.standing)
        if lane.standing is not None:
            lane.ending = ending
        _put(race, lane, 1)
    if race.ledger.overdrawn():
        _restore(race, group, before)
        return False
    return True


def _restore(race: Race, group: list[Lane], before: list[tuple[list[int], int | None]]) -> None:
    for lane in group:
        _put(race, lane, -1)
    for lane, (relay, ending) in zip(group, before, strict=True):
        lane.relay, lane.ending = relay, ending
        _put(race, lane, 1)


def _put(race: Race, lane: Lane, plants: int) -> None:
    for index in lane.relay:
        race.ledger.plant(index, plants)
    if lane.ending is not None:
        race.ledger.end(lane.ending, plants)
