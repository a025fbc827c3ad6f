"""Solving the season's integer programme with HiGHS; the only place that knows the solver.

The solver and its arrays are imported inside the functions, so that nothing else pays for them.
Traps met and guarded against: a run that ends early may report an objective of 0 without a plan, so
only a primal solution that the solver itself calls feasible is read; the number of threads is kept
by the process, so the same number is set before every run. A start that presolve has cut off may be
taken for the better plan it was mapped to, whose cost is then reported beside the start's own
columns: costs are always worked out here, and such a run is repeated without its start.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from math import inf
from typing import Any

from cropplan.season.rows import Programme

_FEASIBLE = 2  # HiGHS: the primal solution keeps all bounds and rows.
_TOLERANCE = 1e-6
_MISTAKEN = 1e-5  # A cost reported this far below that of the plan it comes with is another's.


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """When a run of the solver ends.

    seconds : run time. [s] nodes : nodes of the search tree; a run limited by nodes alone repeats.
    gap : relative distance between plan and bound that is near enough. [1]
    """

    seconds: float = inf
    nodes: int | None = None
    gap: float = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """What a run found.

    counts : plants of each cohort and ending of the best plan; None when there is none.
    bound : no plan can cost less. optimal : whether the search came to its own end.
    """

    counts: list[int] | None
    bound: float
    optimal: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """What a running solver is told and tells, called from the thread it runs in.

    stop : asked whether to end.
    found : told the counts of each better plan. bound : told the bound as it rises.
    offer : asked for a better plan found elsewhere since; None when there is none.
    """

    stop: Callable[[], bool]
    found: Callable[[list[int]], object] = lambda _: None
    bound: Callable[[float], object] = lambda _: None
    offer: Callable[[], list[int] | None] = lambda: None


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrays:
    """The programme as the solver's arrays, made once for many runs.

    kept : how many of the first columns are counts; each of the others measures one row.
    """

    kept: int
    cost: Any
    high: Any
    whole: Any
    start: Any
    row: Any
    value: Any
    row_low: Any
    row_high: Any


def solver_is_there() -> bool:
    """Whether the solver can be used on this machine."""
    try:
        import highspy  # noqa: F401
    except ImportError:
        return False
    return True


def arrays_of(programme: Programme) -> Arrays:
    """The programme in the solver's form."""
    import numpy as np

    _hush()
    return Arrays(
        kept=programme.cohorts + programme.endings,
        cost=np.array(programme.cost),
        high=np.array(programme.high),
        whole=np.array(programme.whole, dtype=bool),
        start=np.array(programme.start, dtype=np.int32),
        row=np.array(programme.row, dtype=np.int32),
        value=np.array(programme.value),
        row_low=np.array(programme.row_low),
        row_high=np.array(programme.row_high),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DividedPlan:
    """The best plan if plants could be divided.

    cost : no whole plan costs less. values : of every column.
    slopes : how much each column costs when forced up by one, all else adapting: reduced costs.
    """

    cost: float
    values: Any
    slopes: Any


class Divided:
    """The best plan if plants could be divided, found anew quickly after rows are added."""

    def __init__(self, arrays: Arrays) -> None:
        import numpy as np

        self._solver = _loaded(arrays, whole=np.zeros_like(arrays.whole), limits=Limits())

    def plan(self, *, seconds: float) -> DividedPlan | None:
        """The best plan; None when the time ran out. [s]"""
        import numpy as np

        self._solver.setOptionValue("time_limit", self._solver.getRunTime() + max(seconds, 0.01))
        self._solver.run()
        if self._solver.getModelStatus().name != "kOptimal":
            return None
        solution = self._solver.getSolution()
        return DividedPlan(
            cost=float(self._solver.getInfo().objective_function_value),
            values=np.array(solution.col_value),
            slopes=np.array(solution.col_dual),
        )

    def add(self, least: float, columns: Any, factors: Any) -> None:
        """A further row: the columns times their factors come to `least` or more."""
        self._solver.addRow(least, inf, len(columns), columns, factors)


def solve(
    arrays: Arrays,
    *,
    start: Sequence[int] | None,
    limits: Limits,
    watch: Watch | None = None,
) -> Solved:
    """The best plan that can be found from a start within the limits, and the proven bound."""
    solver = _loaded(arrays, whole=arrays.whole, limits=limits)
    if start is not None:
        _start(solver, _whole_column(arrays, start))
    if watch is not None:
        _listen(solver, arrays, watch)
    solver.run()
    info = solver.getInfo()
    optimal = solver.getModelStatus().name == "kOptimal"
    bound = max(0.0, float(info.mip_dual_bound))
    if info.primal_solution_status != _FEASIBLE:
        return Solved(counts=None, bound=bound, optimal=optimal)
    counts = _counts(arrays, solver.getSolution().col_value)
    mistaken = cost_of(arrays, counts) > info.objective_function_value + _MISTAKEN
    if optimal and mistaken and start is not None:
        return solve(arrays, start=None, limits=limits, watch=watch)
    return Solved(counts=counts, bound=bound, optimal=optimal and not mistaken)


def part_of(arrays: Arrays, counts: Sequence[int], free: Sequence[int]) -> Arrays:
    """What is left of the programme when only some of the counts may change.

    counts : a plan that keeps every rule. free : cohorts and endings that may change, by index, in
        rising order; they are the first columns of the part in the same order.
    """
    import numpy as np

    now = _whole_column(arrays, counts)
    columns = _with_measures(arrays, np.array(free, dtype=np.int64))
    entries = _entries(arrays, columns)
    lengths = arrays.start[columns + 1] - arrays.start[columns]
    rows, value = arrays.row[entries], arrays.value[entries]
    touched, place = np.unique(rows, return_inverse=True)
    fixed = _activity(arrays, now) - np.bincount(
        rows, weights=value * np.repeat(now[columns], lengths), minlength=len(arrays.row_low)
    )
    return Arrays(
        kept=len(free),
        cost=arrays.cost[columns],
        high=arrays.high[columns],
        whole=arrays.whole[columns],
        start=np.concatenate(([0], np.cumsum(lengths))).astype(np.int32),
        row=place.astype(np.int32),
        value=value,
        row_low=(arrays.row_low - fixed)[touched],
        row_high=(arrays.row_high - fixed)[touched],
    )


def cost_of(arrays: Arrays, counts: Sequence[int]) -> float:
    """What a plan costs by the programme's own rows."""
    return float(arrays.cost @ _whole_column(arrays, counts))


@cache
def _hush() -> None:
    """Have the solver print its banner, which it does once a process, where nobody reads it.

    It goes to standard output past Python, where it would spoil what a command prints there.
    """
    import highspy

    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:
        return  # No standard output: nothing to spoil.
    library = ctypes.CDLL(None) if os.name == "posix" else ctypes.CDLL("msvcrt")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        highspy.Highs()  # type: ignore[no-untyped-call]
        library.fflush(None)
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _loaded(arrays: Arrays, *, whole: Any, limits: Limits) -> Any:
    import highspy
    import numpy as np

    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(arrays.cost), len(arrays.row_low)
    model.col_cost_ = arrays.cost
    model.col_lower_, model.col_upper_ = np.zeros(len(arrays.cost)), arrays.high
    model.row_lower_, model.row_upper_ = arrays.row_low, arrays.row_high
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_ = arrays.start
    model.a_matrix_.index_ = arrays.row
    model.a_matrix_.value_ = arrays.value
    if whole.any():
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        model.integrality_ = [kinds[int(each)] for each in whole]
    solver: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("mip_rel_gap", limits.gap)
    solver.setOptionValue("mip_abs_gap", _TOLERANCE)
    solver.setOptionValue("mip_feasibility_tolerance", _TOLERANCE)
    if limits.seconds < inf:
        solver.setOptionValue("time_limit", max(limits.seconds, 0.01))
    if limits.nodes is not None:
        solver.setOptionValue("mip_max_nodes", limits.nodes)
    solver.passModel(model)
    return solver


def _start(solver: Any, values: Any) -> None:
    import highspy

    first = highspy.HighsSolution()
    first.col_value = values
    solver.setSolution(first)


def _listen(solver: Any, arrays: Arrays, watch: Watch) -> None:
    def improving(event: Any) -> None:
        watch.found(_counts(arrays, event.data_out.mip_solution))

    def interrupt(event: Any) -> None:
        watch.bound(event.data_out.mip_dual_bound)
        event.interrupt(watch.stop())

    def offer(event: Any) -> None:
        counts = watch.offer()
        if counts is not None:
            event.data_in.setSolution(_whole_column(arrays, counts))

    solver.cbMipImprovingSolution.subscribe(improving)
    solver.cbMipInterrupt.subscribe(interrupt)
    solver.cbMipUserSolution.subscribe(offer)


def _counts(arrays: Arrays, values: Any) -> list[int]:
    return [round(value) for value in values[: arrays.kept]]


def _whole_column(arrays: Arrays, counts: Sequence[int]) -> Any:
    """Every column of the plan that the counts stand for: what is short follows from them."""
    import numpy as np

    values = np.zeros(len(arrays.cost))
    values[: len(counts)] = counts
    activity = _activity(arrays, values)
    first = arrays.start[len(counts) : -1]
    row, slope = arrays.row[first], arrays.value[first]
    short = np.maximum(0.0, (arrays.row_low[row] - activity[row]) / slope)
    over = np.maximum(0.0, (arrays.row_high[row] - activity[row]) / slope)
    values[len(counts) :] = np.where(slope > 0, short, over)
    return np.where(arrays.whole, np.ceil(values - _TOLERANCE), values)


def _activity(arrays: Arrays, values: Any) -> Any:
    import numpy as np

    weights = arrays.value * np.repeat(values, np.diff(arrays.start))
    return np.bincount(arrays.row, weights=weights, minlength=len(arrays.row_low))


def _entries(arrays: Arrays, columns: Any) -> Any:
    """Positions of the matrix entries of some columns, column by column."""
    import numpy as np

    first = arrays.start[columns]
    lengths = arrays.start[columns + 1] - first
    before = np.cumsum(lengths) - lengths
    return np.repeat(first - before, lengths) + np.arange(int(lengths.sum()))


def _with_measures(arrays: Arrays, free: Any) -> Any:
    """The free columns and every measure of a row that they touch."""
    import numpy as np

    touched = np.zeros(len(arrays.row_low), dtype=bool)
    touched[arrays.row[_entries(arrays, free)]] = True
    measures = np.arange(arrays.kept, len(arrays.cost))
    return np.concatenate((free, measures[touched[arrays.row[arrays.start[arrays.kept : -1]]]]))
