"""Rounding cuts against every whole point of small rows, and of small seasons."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from cropplan.problems import Refusal
from cropplan.season.demand import Season
from cropplan.season.options import options_of
from cropplan.season.plannable import refuse_unplannable
from cropplan.season.programme import Arrays, Divided, Limits, arrays_of, cost_of, solve
from cropplan.season.rounding import cut_of, rounded
from cropplan.season.rows import programme_of
from tests.benchmarks.season_instances import house
from tests.property.season_strategies import seasons

MOST = 5  # Plants of one column tried.
ENTRIES = st.sampled_from([-2.7, -1.5, -1.0, -1.0 / 3.0, 0.22, 0.5, 0.88, 1.0, 1.2, 4.0 / 3.0, 1.5])


def keeps_rules(cut: Arrays, counts: list[int]) -> bool:
    """Whether a plan keeps every row of the programme with cuts."""
    fixed = replace(
        cut,
        row_low=np.concatenate((cut.row_low, counts)),
        row_high=np.concatenate((cut.row_high, counts)),
        start=cut.start + np.minimum(np.arange(len(cut.start)), cut.kept).astype(np.int32),
        row=np.insert(cut.row, cut.start[: cut.kept], len(cut.row_low) + np.arange(cut.kept)),
        value=np.insert(cut.value, cut.start[: cut.kept], 1.0),
    )
    return Divided(fixed).plan(seconds=60.0) is not None


@settings(max_examples=300, deadline=None)
@given(
    entries=st.lists(ENTRIES, min_size=1, max_size=4),
    measure=st.sampled_from([-1.0, 0.0, 0.5, 1.0]),
    least=st.floats(-8.0, 8.0),
    data=st.data(),
)
def test_no_whole_point_of_a_row_breaks_its_cut(
    entries: list[float], measure: float, least: float, data: st.DataObject
) -> None:
    """Every whole point within the row, with the least divisible part it needs, keeps the cut."""
    divided = data.draw(
        st.lists(st.floats(0.0, MOST), min_size=len(entries), max_size=len(entries))
    )
    cut = cut_of(
        np.array([*entries, measure]),
        least,
        np.arange(len(entries) + 1),
        np.array([True] * len(entries) + [False]),
        np.array([*divided, 0.0]),
    )
    assume(cut is not None)
    assert cut is not None
    factors = np.zeros(len(entries) + 1)
    factors[cut.columns] = cut.factors
    assert factors @ [*divided, 0.0] < cut.least
    event("met" if measure > 0 else "unmet")
    for point in product(range(MOST + 1), repeat=len(entries)):
        lacking = max(0.0, least - float(np.dot(entries, point)))
        if lacking and measure <= 0.0:
            continue
        needed = lacking / measure if measure > 0.0 else 0.0
        for more in (0.0, 0.7):
            if measure >= 0.0 or float(np.dot(entries, point)) + measure * more >= least:
                assert factors @ [*point, needed + more] >= cut.least - 1e-9


@settings(max_examples=60, deadline=None)
@given(seasons())
def test_cuts_change_no_optimum(season: Season) -> None:
    """The best plan costs the same with the cuts as without, and keeps every one of them."""
    try:
        refuse_unplannable(season)
    except Refusal:
        assume(False)
    arrays = arrays_of(programme_of(season, options_of(season)))
    bounds: list[float] = []
    cut = rounded(arrays, left=lambda: 60.0, bound=bounds.append).arrays
    plain = solve(arrays, start=None, limits=Limits(gap=0.0))
    assume(plain.counts is not None)
    assert plain.counts is not None
    cost = cost_of(arrays, plain.counts)
    assert keeps_rules(cut, plain.counts)
    assert bounds[-1] <= cost + 1e-6
    event(f"cuts {min(len(cut.row_low) - len(arrays.row_low), 5)}")
    again = solve(cut, start=None, limits=Limits(gap=0.0))
    assert again.counts is not None
    assert cost_of(arrays, again.counts) == pytest.approx(cost, abs=1e-4)


def test_cuts_raise_the_bound_of_a_house() -> None:
    """On a house of thirty places the divided plan comes nearer to the whole one."""
    season = house(weeks=26, places=30, tight=0.9, seed=2, goals=4)
    arrays = arrays_of(programme_of(season, options_of(season)))
    bounds: list[float] = []
    cut = rounded(arrays, left=lambda: 60.0, bound=bounds.append).arrays
    best = solve(arrays, start=None, limits=Limits())
    assert best.counts is not None
    assert keeps_rules(cut, best.counts)
    assert bounds[0] + 0.1 < bounds[-1] <= cost_of(arrays, best.counts)
