"""The programme's parts: rows that say what the rules say, parts planned anew, quiet solver."""

from __future__ import annotations

import subprocess
import sys
from random import Random

import pytest

from cropplan.season.draft import draft_of
from cropplan.season.greedy import first_plan
from cropplan.season.ledger import ledger_of
from cropplan.season.options import options_of
from cropplan.season.programme import Divided, Limits, arrays_of, cost_of, part_of, solve
from cropplan.season.rounding import rounded
from cropplan.season.rows import programme_of
from cropplan.season.simulate import account, faults
from cropplan.season.stretches import Stretches
from tests.benchmarks.season_instances import house

WHERE = house(weeks=30, places=40, tight=1.0, seed=5)
OPTIONS = options_of(WHERE)
ARRAYS = arrays_of(programme_of(WHERE, OPTIONS))


def test_programme_ledger_and_simulator_agree_on_a_plans_cost() -> None:
    """Three accounts, made apart, come to the same sum."""
    race = first_plan(WHERE, OPTIONS)
    counts = race.ledger.counts
    draft = draft_of(WHERE, OPTIONS, counts)
    told = account(WHERE, draft).cost.total
    assert abs(cost_of(ARRAYS, counts) - told) < 1e-6
    assert abs(race.ledger.cost() - told) < 1e-6
    again = ledger_of(WHERE, OPTIONS, draft)
    assert again.counts == counts
    assert abs(again.cost() - told) < 1e-6
    assert not again.overdrawn()


def test_a_part_planned_anew_is_no_worse_and_keeps_the_rest() -> None:
    """Only the freed columns change, and the whole still keeps every rule."""
    counts = first_plan(WHERE, OPTIONS).ledger.counts
    free = [i for i, cohort in enumerate(OPTIONS.cohorts) if cohort.strike < 6]
    part = part_of(ARRAYS, counts, free)
    solved = solve(part, start=[counts[i] for i in free], limits=Limits(nodes=200))
    assert solved.counts is not None
    after = list(counts)
    for index, plants in zip(free, solved.counts, strict=True):
        after[index] = plants
    assert cost_of(ARRAYS, after) <= cost_of(ARRAYS, counts) + 1e-6
    saved = cost_of(part, [counts[i] for i in free]) - cost_of(part, solved.counts)
    assert cost_of(ARRAYS, counts) - cost_of(ARRAYS, after) == pytest.approx(saved, abs=1e-6)
    assert faults(WHERE, draft_of(WHERE, OPTIONS, after)) == ()


def test_plants_that_could_be_divided_cost_no_more() -> None:
    """The bound of divided plants lies below every plan of whole plants."""
    counts = first_plan(WHERE, OPTIONS).ledger.counts
    divided = Divided(ARRAYS).plan(seconds=60.0)
    assert divided is not None
    assert 0.0 < divided.cost < cost_of(ARRAYS, counts)


def test_a_divided_plan_that_takes_too_long_is_none() -> None:
    """Without time there is no plan, and so no cuts: the programme stays as it was."""
    assert Divided(ARRAYS).plan(seconds=0.0) is None
    cut = rounded(ARRAYS, left=lambda: 0.0, bound=lambda _: None)
    assert cut.arrays is ARRAYS
    assert cut.slopes is None


def test_stretches_grow_where_they_end_soon_and_shrink_where_they_do_not() -> None:
    """A part that was done at once is made wider, one that ran out of time narrower."""
    stretches = Stretches(WHERE, OPTIONS, Random(0))  # noqa: S311 - it guards no secret
    stretch = stretches.choose()
    assert stretch.sort.weeks is not None
    before = stretch.sort.weeks
    stretches.learn(stretch, gain=1.0, seconds=0.1, optimal=True)
    wider = stretch.sort.weeks
    assert wider > before
    stretches.learn(stretch, gain=0.0, seconds=stretch.seconds, optimal=True)
    assert stretch.sort.weeks == wider
    stretches.learn(stretch, gain=0.0, seconds=stretch.seconds, optimal=False)
    assert stretch.sort.weeks < wider
    kept = len(OPTIONS.cohorts) + len(OPTIONS.endings)
    assert all(0 <= column < kept for column in stretch.columns)


def test_the_solver_prints_nothing() -> None:
    """Its banner would spoil what a command prints for a program to read."""
    script = (
        "from cropplan.season.options import options_of\n"
        "from cropplan.season.search import exact_search\n"
        "from tests.benchmarks.season_instances import house\n"
        "where = house(weeks=20, places=10, tight=0.9, seed=0, goals=2)\n"
        "exact_search(where, options_of(where), nodes=10)\n"
        "print('{}')\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
    assert (done.stdout, done.stderr) == (b"{}\n", b"")


def test_the_solver_is_not_loaded_until_it_is_used() -> None:
    """Neither solver nor arrays may slow down what only reads a plan."""
    script = (
        "import sys, cropplan.season.plan, cropplan.season.places, cropplan.season.rules\n"
        "print(sorted({'numpy', 'highspy'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
    assert done.stdout == b"[]\n"
