"""The searches give whole plans that keep every rule, soon, and can be ended at any time."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count

import pytest

from cropplan.season import plan as plan_module
from cropplan.season.demand import Mothering, Season
from cropplan.season.options import options_of
from cropplan.season.plan import Status, plan_season, search_for
from cropplan.season.search import (
    Effort,
    Progress,
    best_search,
    exact_search,
    first_draft,
    greedy_search,
)
from cropplan.season.simulate import account, faults
from tests.benchmarks.season_instances import house
from tests.unit.season.season_builders import goal, option, season, standing


def ticking(step: float) -> Callable[[], float]:
    """A clock that goes on by a step whenever it is read."""
    ticks = count()
    return lambda: step * next(ticks)


def small_house(seed: int = 0) -> Season:
    """An invented house of half a year, small enough to be planned to the end."""
    return house(weeks=26, places=25, tight=0.9, seed=seed)


def test_the_first_answer_is_a_whole_plan() -> None:
    """The greedy planner alone keeps every rule and betters doing nothing."""
    full = house(weeks=104, places=150, tight=0.9, seed=0)
    draft = first_draft(full, options_of(full))
    assert faults(full, draft) == ()
    idle = sum(g.weight * g.amount * full.weeks for g in full.goals)
    assert account(full, draft).cost.shortfall < 0.4 * idle


def test_bettering_places_lowers_the_cost_and_repeats_with_its_clock() -> None:
    """The same clock gives the same plan; more of it gives a plan no worse."""
    where = small_house()
    options = options_of(where)
    first = account(where, first_draft(where, options)).cost.total
    runs = [
        greedy_search(where, options, Effort(seconds=seconds, clock=ticking(1.0)))
        for seconds in (200.0, 200.0, 2000.0)
    ]
    assert runs[0] == runs[1]
    assert first >= runs[0].cost >= runs[2].cost
    assert faults(where, runs[2].draft) == ()
    assert runs[2].cost == pytest.approx(account(where, runs[2].draft).cost.total)
    assert (runs[2].bound, runs[2].proven) == (0.0, False)


def test_the_exact_search_repeats_and_proves_the_optimum() -> None:
    """Limited by nodes, two runs agree, and plan and bound meet."""
    where = small_house()
    one, two = (exact_search(where, options_of(where), nodes=3000) for _ in range(2))
    assert one == two
    assert one.proven
    assert one.cost == pytest.approx(one.bound, abs=1e-4)
    assert faults(where, one.draft) == ()


def test_both_workers_together_reach_the_same_optimum() -> None:
    """The shared search ends by itself when bound and plan are near enough."""
    where = small_house()
    told: list[Progress] = []
    effort = Effort(seconds=1e6, clock=ticking(0.01), enough=1e-6, progress=told.append)
    outcome = best_search(where, options_of(where), effort)
    exact = exact_search(where, options_of(where), nodes=3000)
    assert outcome.proven
    assert outcome.cost == pytest.approx(exact.cost, abs=1e-4)
    assert outcome.bound <= exact.cost + 1e-6
    assert [each.cost for each in told] == sorted((each.cost for each in told), reverse=True)
    assert [each.bound for each in told] == sorted(each.bound for each in told)
    assert told[-1].cost == pytest.approx(outcome.cost)


def test_an_ended_search_gives_the_best_so_far_with_its_gap() -> None:
    """Stopped at once, it still answers with a whole plan and claims no more than is proven."""
    where = house(weeks=52, places=75, tight=1.2, seed=1)
    effort = Effort(seconds=1e6, clock=ticking(0.001), stop=lambda: True)
    outcome = best_search(where, options_of(where), effort)
    assert faults(where, outcome.draft) == ()
    assert not outcome.proven
    assert 0.0 <= outcome.bound < outcome.cost
    assert outcome.cost == pytest.approx(account(where, outcome.draft).cost.total)


def test_time_that_runs_out_ends_the_search() -> None:
    """A clock past its seconds ends both workers."""
    where = house(weeks=52, places=75, tight=1.2, seed=1)
    effort = Effort(seconds=1.0, clock=ticking(0.01))
    outcome = best_search(where, options_of(where), effort)
    assert faults(where, outcome.draft) == ()
    assert outcome.bound < outcome.cost


def test_a_crop_to_be_kept_is_kept_alive() -> None:
    """Its clone outlives the plants that stand now, though nobody wants its picks."""
    loved = option(
        "coleus",
        keep_alive=1,
        stays=(2, 4),
        mothering=Mothering(shoots=2.0, fit_from=1, fit_until=9),
    )
    where = season(
        goals=(goal(),),
        options=(option(), loved),
        standing=(standing(), standing("col1", crop="coleus", count=1)),
    )
    outcome = exact_search(where, options_of(where), nodes=3000)
    assert account(where, outcome.draft).cost.dead_weeks == 0
    greedy = first_draft(where, options_of(where))
    assert account(where, greedy).cost.dead_weeks == 0


def test_without_the_solver_a_plan_is_made_and_nothing_claimed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The greedy planner is the fallback; its status says that nothing is proven."""
    monkeypatch.setattr(plan_module, "solver_is_there", lambda: False)
    plan = plan_season(small_house(), search_for(Effort(seconds=300.0, clock=ticking(1.0))))
    assert plan.status is Status.GREEDY
    assert plan.bound == 0.0
    assert plan.gap_of_cost == 1.0


@pytest.mark.parametrize("least", [1, 2])
def test_as_many_as_are_wanted_are_kept_alive(least: int) -> None:
    """Two stand; with two to keep, neither goes without a follower, though picks need no more."""
    loved = option("coleus", keep_alive=least, stays=(2, 4))
    where = season(
        goals=(goal(),),
        options=(option(), loved),
        standing=(standing(), standing("col1", crop="coleus", count=2)),
    )
    outcome = exact_search(where, options_of(where), nodes=2000)
    alive = [0] * where.weeks
    for strike in outcome.draft.strikes:
        for week in range(strike.strike, min(strike.pulled, where.weeks)):
            alive[week] += strike.plants * (strike.crop == "coleus")
    for keep in outcome.draft.keeps:
        for week in range(min(keep.pulled, where.weeks)):
            alive[week] += keep.plants * (keep.tag == "col1")
    assert min(alive) == least
