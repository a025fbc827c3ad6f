"""Places needed for plantings, against graph theory and a reference solver."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csc_matrix

from cropplan.season.demand import Origin, PlaceKind, Season
from cropplan.season.draft import Draft, Strike
from cropplan.season.options import options_of
from cropplan.season.places import Place, lay_out, places_needed
from cropplan.season.rows import programme_of
from cropplan.season.search import exact_search
from tests.benchmarks.season_instances import house

SPANS = st.lists(st.tuples(st.integers(0, 30), st.integers(1, 20)), min_size=1, max_size=40)


@given(SPANS)
def test_as_many_places_do_as_stand_at_once(lengths: list[tuple[int, int]]) -> None:
    """First fit in left-end order needs no more places than the most intervals that overlap.

    Source: Trotter 2005, First Fit Coloring of Interval Graphs (slides): interval graphs are
    perfect, and first fit in left-end order colours them with as many colours as the largest
    clique; counted here week by week, without the sweep of `places_needed`.
    """
    spans = [(start, start + length) for start, length in lengths]
    at_once = max(sum(a <= week < b for a, b in spans) for week in range(60))
    assert places_needed(spans) == at_once
    strikes = tuple(
        Strike(
            crop=f"crop {number}",
            origin=Origin.SOWN,
            kind="bed",
            tray=None,
            plants=1,
            strike=start,
            set_out=start,
            first_pick=start,
            pulled=until,
        )
        for number, (start, until) in enumerate(spans)
    )
    places = [Place(code=f"P{n}", kind="bed", holds=1, walk=n) for n in range(at_once)]
    season = Season(
        weeks=60, goals=(), kinds=(PlaceKind(kind="bed", capacity=(at_once,) * 60),), options=()
    )
    berths = lay_out(season, Draft(strikes=strikes, keeps=()), places, {}, {})
    assert len(berths) == len(spans)
    for one in berths:
        for other in berths:
            apart = one.until_week <= other.from_week or other.until_week <= one.from_week
            assert one is other or one.code != other.code or apart


@pytest.mark.parametrize("seed", [0, 1])
def test_the_optimum_is_that_of_a_reference_solver(seed: int) -> None:
    """Reference: scipy.optimize.milp on the same rows, without our start, parts or listening."""
    where = house(weeks=26, places=25, tight=0.9, seed=seed)
    options = options_of(where)
    rows = programme_of(where, options)
    matrix = csc_matrix(
        (rows.value, rows.row, rows.start), shape=(len(rows.row_low), len(rows.cost))
    )
    reference = milp(
        np.array(rows.cost),
        integrality=np.array(rows.whole, dtype=int),
        bounds=Bounds(0.0, np.array(rows.high)),
        constraints=LinearConstraint(matrix, np.array(rows.row_low), np.array(rows.row_high)),
        options={"mip_rel_gap": 0.0},
    )
    ours = exact_search(where, options, nodes=20_000)
    assert ours.proven
    assert ours.cost == pytest.approx(reference.fun, abs=1e-4)
