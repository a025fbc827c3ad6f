"""The search for the best plan: a greedy one at once, then bettered and its distance proven.

Two workers share the best plan found. One sharpens the plan of divided plants with rounding cuts
and then runs the solver on the whole season: it proves the bound and finds plans of its own. The
other betters the plan part by part, first a few places at a time, then by giving the solver a
stretch of weeks or a few crops to plan anew while all else stays. Either hands its finds to the
other. Every plan at every moment is whole plants in every week.

Measured side by side with the search without cuts, both on one busy machine of two cores, 104 weeks
and 150 places, about 120 s: gap of the shortfall 2.61 % against 3.49 % (seed 0, tight 0.9), 3.29
against 4.06 (seed 2, tight 0.9; its bound was 0.2 % the worse), 2.95 against 3.15 (seed 1, tight
1.2). The weak side is the plan; the solver hardly raises the bound after the cuts.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import inf
from random import Random
from threading import Lock, Thread
from typing import Any

from cropplan.season.demand import Season
from cropplan.season.draft import Draft, draft_of
from cropplan.season.greedy import Race, first_plan, improve
from cropplan.season.options import Options
from cropplan.season.programme import (
    Arrays,
    Limits,
    Watch,
    arrays_of,
    cost_of,
    part_of,
    solve,
)
from cropplan.season.rounding import rounded
from cropplan.season.rows import programme_of
from cropplan.season.stretches import Stretches

_LONG = 2000  # Columns of plants from which on a season is too long to search whole at once.
_NOTHING = 1e-6  # Reduced cost of a column that costs nothing to bring into the divided plan.
_CHOOSING = 0.3  # Share of the time given to planning with such columns alone.
_WARMING_UP = 0.12  # Share of the time given to bettering places before the solver's stretches.


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a search has come.

    cost : of the best plan so far. bound : no plan can cost less; 0 while nothing is proven.
    """

    cost: float
    bound: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How long to search, and who may end it.

    seconds : time to search. [s] clock : seconds from any start; the caller's, as this part has
        none. enough : distance of plan and bound, relative to the cost, that ends the search. [1]
    stop : asked often whether to end now with the best so far.
    progress : told of each better plan and bound.
    """

    seconds: float
    clock: Callable[[], float]
    enough: float = 1e-3
    stop: Callable[[], bool] = lambda: False
    progress: Callable[[Progress], None] = lambda _: None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a search came to.

    draft : the best plan. cost : what it costs. bound : no plan can cost less.
    proven : whether plan and bound came as near to each other as was asked.
    """

    draft: Draft
    cost: float
    bound: float
    proven: bool


@dataclass(slots=True, kw_only=True)
class _Shared:
    """The best plan and bound, shared by the two workers."""

    effort: Effort
    counts: list[int]
    cost: float
    ends: float
    bound: float = 0.0
    finished: bool = False
    offered: float = inf
    lock: Lock = field(default_factory=Lock)

    def better(self, counts: Sequence[int], cost: float) -> bool:
        """Take a plan if it is better than the best."""
        with self.lock:
            if cost >= self.cost - 1e-9:
                return False
            self.counts, self.cost = list(counts), cost
        self.effort.progress(Progress(cost=self.cost, bound=self.bound))
        return True

    def raise_bound(self, bound: float) -> None:
        """Take a bound if it is above the one known."""
        if self.bound + 1e-6 < bound < inf:
            self.bound = bound
            self.effort.progress(Progress(cost=self.cost, bound=self.bound))

    def best(self) -> tuple[list[int], float]:
        """The best plan and its cost."""
        with self.lock:
            return list(self.counts), self.cost

    def left(self) -> float:
        """Time left. [s]"""
        return self.ends - self.effort.clock()

    def over(self) -> bool:
        """Whether to end."""
        near = self.cost - self.bound <= self.effort.enough * abs(self.cost)
        return self.finished or near or self.left() <= 0.0 or self.effort.stop()


def first_draft(season: Season, options: Options) -> Draft:
    """A whole plan at once, by the greedy planner alone."""
    return draft_of(season, options, first_plan(season, options).ledger.counts)


def greedy_search(season: Season, options: Options, effort: Effort) -> Outcome:
    """The best plan that is found without a solver; nothing is proven."""
    race = first_plan(season, options)
    shared = _shared(race, effort)
    _improve(race, shared, effort.seconds)
    counts, cost = shared.best()
    return Outcome(draft=draft_of(season, options, counts), cost=cost, bound=0.0, proven=False)


def exact_search(season: Season, options: Options, *, nodes: int) -> Outcome:
    """The best plan within a number of nodes of the solver's tree: the same on every run."""
    race = first_plan(season, options)
    arrays = arrays_of(programme_of(season, options))
    solved = solve(arrays, start=race.ledger.counts, limits=Limits(nodes=nodes, gap=0.0))
    counts = solved.counts or race.ledger.counts
    return Outcome(
        draft=draft_of(season, options, counts),
        cost=cost_of(arrays, counts),
        bound=solved.bound,
        proven=solved.optimal,
    )


def best_search(season: Season, options: Options, effort: Effort) -> Outcome:
    """The best plan within the time, and the bound proven for it."""
    race = first_plan(season, options)
    shared = _shared(race, effort)
    effort.progress(Progress(cost=shared.cost, bound=0.0))
    arrays = arrays_of(programme_of(season, options))
    prover = Thread(target=_prove, args=(arrays, shared), daemon=True)
    prover.start()
    _improve(race, shared, _WARMING_UP * effort.seconds)
    _stretch(season, options, arrays, shared)
    prover.join()
    counts, cost = shared.best()
    return Outcome(
        draft=draft_of(season, options, counts),
        cost=cost,
        bound=min(shared.bound, cost),
        proven=cost - shared.bound <= effort.enough * abs(cost),
    )


def _chance(seed: int) -> Random:
    """A source of choices that repeats; it guards no secret."""
    return Random(seed)  # noqa: S311


def _shared(race: Race, effort: Effort) -> _Shared:
    return _Shared(
        effort=effort,
        counts=list(race.ledger.counts),
        cost=race.ledger.cost(),
        ends=effort.clock() + effort.seconds,
    )


def _improve(race: Race, shared: _Shared, seconds: float) -> None:
    began = shared.effort.clock()

    def spent(_: int) -> float:
        return 1.0 if shared.over() else (shared.effort.clock() - began) / seconds

    improve(race, chance=_chance(0), spent=spent, better=shared.better)


def _prove(arrays: Arrays, shared: _Shared) -> None:
    """Run the solver on the whole season until it is done or the search ends."""

    def found(counts: list[int]) -> None:
        shared.better(counts, cost_of(arrays, counts))

    def offer() -> list[int] | None:
        counts, cost = shared.best()
        if cost >= shared.offered - 1e-9:
            return None
        shared.offered = cost
        return counts

    cut = rounded(arrays, left=shared.left, bound=shared.raise_bound)
    arrays = cut.arrays
    if cut.slopes is not None and arrays.kept > _LONG:
        _choose_among(arrays, shared, cut.slopes[: arrays.kept])
    counts, shared.offered = shared.best()
    solved = solve(
        arrays,
        start=counts,
        limits=Limits(seconds=max(shared.left(), 0.0), gap=shared.effort.enough),
        watch=Watch(found=found, bound=shared.raise_bound, offer=offer, stop=shared.over),
    )
    if solved.counts is not None:
        shared.better(solved.counts, cost_of(arrays, solved.counts))
    shared.raise_bound(solved.bound)
    shared.finished = solved.optimal


def _choose_among(arrays: Arrays, shared: _Shared, slopes: Any) -> None:
    """Plan with only what costs nothing to bring into the divided plan, and what is planned now.

    Measured on 104 weeks, 150 places (seed 0, tight 0.9): 936 of 4,699 columns, among which the
    solver found a plan of 523.6 in 10 processor seconds; among all, one of 525.4 in 60.
    """
    counts, _ = shared.best()
    free = [c for c, slope in enumerate(slopes) if counts[c] or slope < _NOTHING]

    def found(part: list[int]) -> None:
        plan = [0] * arrays.kept
        for column, plants in zip(free, part, strict=True):
            plan[column] = plants
        shared.better(plan, cost_of(arrays, plan))

    solved = solve(
        part_of(arrays, [0] * arrays.kept, free),
        start=None,
        limits=Limits(seconds=min(max(shared.left(), 0.0), _CHOOSING * shared.effort.seconds)),
        watch=Watch(found=found, stop=shared.over),
    )
    if solved.counts is not None:
        found(solved.counts)


def _stretch(season: Season, options: Options, arrays: Arrays, shared: _Shared) -> None:
    """Plan parts of the season anew until the search ends."""
    stretches = Stretches(season, options, _chance(1))
    while options.cohorts and not shared.over():
        stretch = stretches.choose()
        if not stretch.columns:
            continue
        counts, cost = shared.best()
        began = shared.effort.clock()
        solved = solve(
            part_of(arrays, counts, stretch.columns),
            start=[counts[column] for column in stretch.columns],
            limits=Limits(seconds=min(max(shared.left(), 0.0), stretch.seconds)),
            watch=Watch(stop=shared.over),
        )
        gain = 0.0
        if solved.counts is not None:
            for column, plants in zip(stretch.columns, solved.counts, strict=True):
                counts[column] = plants
            gain = cost - cost_of(arrays, counts)
            shared.better(counts, cost - gain)
        stretches.learn(
            stretch,
            gain=max(0.0, gain),
            seconds=shared.effort.clock() - began,
            optimal=solved.optimal,
        )
