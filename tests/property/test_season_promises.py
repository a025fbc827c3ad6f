"""What must hold of every plan, whatever the season."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from cropplan.problems import Refusal
from cropplan.season.demand import PlaceKind, Season
from cropplan.season.draft import draft_of
from cropplan.season.forecast import forecast
from cropplan.season.greedy import first_plan, improve
from cropplan.season.mothers import cuttings_of, mothers_of
from cropplan.season.options import options_of
from cropplan.season.places import Place, lay_out
from cropplan.season.plannable import refuse_unplannable
from cropplan.season.programme import Divided, arrays_of
from cropplan.season.reasons import thin_weeks
from cropplan.season.rows import programme_of
from cropplan.season.search import exact_search
from cropplan.season.simulate import account, faults
from tests.benchmarks.season_instances import house
from tests.property.season_strategies import seasons

QUICK = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)


def plannable(season: Season) -> Season:
    """The season, if any plan can be made for it."""
    try:
        refuse_unplannable(season)
    except Refusal:
        assume(False)
    return season


def optimum(season: Season) -> float:
    """Least cost, proven."""
    outcome = exact_search(season, options_of(season), nodes=100_000)
    assert outcome.proven
    return outcome.cost


@QUICK
@given(seasons(), st.integers(0, 99))
def test_the_greedy_plan_keeps_every_rule_however_long_it_is_bettered(
    season: Season, seed: int
) -> None:
    """Places, trays, mothers, away weeks and endings, by the simulator's account."""
    plannable(season)
    options = options_of(season)
    race = first_plan(season, options)
    plans = [(list(race.ledger.counts), race.ledger.cost())]
    improve(
        race,
        chance=Random(seed),  # noqa: S311 - it guards no secret
        spent=lambda turn: turn / 40,
        better=lambda counts, cost: plans.append((counts, cost)),
    )
    for counts, cost in plans:
        draft = draft_of(season, options, counts)
        assert faults(season, draft) == ()
        assert account(season, draft).cost.total == pytest.approx(cost, abs=1e-6)
    assert [cost for _, cost in plans] == sorted((cost for _, cost in plans), reverse=True)


@QUICK
@given(seasons())
def test_whole_plants_cost_no_less_than_divided_ones(season: Season) -> None:
    """The optimum lies above the bound of divided plants and below the greedy plan."""
    plannable(season)
    options = options_of(season)
    least = optimum(season)
    divided = Divided(arrays_of(programme_of(season, options))).plan(seconds=60.0)
    assert divided is not None
    assert divided.cost <= least + 1e-6
    assert least <= first_plan(season, options).ledger.cost() + 1e-6


@QUICK
@given(seasons(), st.booleans())
def test_more_room_or_lower_goals_never_cost_more(season: Season, room: bool) -> None:
    """Whatever could be done before can still be done."""
    plannable(season)
    eased = replace(season, goals=tuple(replace(g, amount=g.amount / 2) for g in season.goals))
    if room:
        kinds = tuple(
            PlaceKind(
                kind=kind.kind,
                capacity=tuple(n + 1 for n in kind.capacity),
                gap_weeks=kind.gap_weeks,
            )
            for kind in season.kinds
        )
        eased = replace(season, kinds=kinds)
    before, after = optimum(season), optimum(eased)
    if not room:
        # Half the goal leaves half the threshold of glut, which may cost a hundredth.
        after -= 0.01 * sum(g.weight * 3.0 * season.weeks for g in season.goals)
    assert after <= before + 1e-6


@QUICK
@given(seasons())
def test_a_plans_parts_agree_with_each_other(season: Season) -> None:
    """Every strike has its cuttings from mothers, its weeks are told, its thin weeks are thin."""
    plannable(season)
    draft = exact_search(season, options_of(season), nodes=2000).draft
    needed = cuttings_of(season, draft)
    for strike, cuttings, mothers in zip(
        draft.strikes, needed, mothers_of(season, draft), strict=True
    ):
        assert cuttings >= 0
        if strike.origin.value == "struck":
            assert sum(each.cuttings for each in mothers) == cuttings
    weeks = forecast(season, draft)
    assert all(0.0 <= week.low <= week.expected <= week.high for week in weeks)
    for thin in thin_weeks(season, draft):
        assert thin.missing > 0.0
        assert all(reason.closes > 0.0 and reason.number > 0 for reason in thin.reasons)
        closes = [reason.closes for reason in thin.reasons]
        assert max(closes, default=0.0) <= thin.missing + 1e-6


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000))
def test_every_plan_finds_its_places(seed: int) -> None:
    """Counts that fit their kinds always have a layout, with what stands where it is."""
    season = house(weeks=40, places=40, tight=1.1, seed=seed)
    options = options_of(season)
    draft = draft_of(season, options, first_plan(season, options).ledger.counts)
    places = [
        Place(code=f"{kind.kind} {number}", kind=kind.kind, holds=1, walk=number)
        for kind in season.kinds
        for number in range(max(kind.capacity))
    ]
    free = {kind.kind: [p.code for p in places if p.kind == kind.kind] for kind in season.kinds}
    stands = {
        planting.tag: [free[planting.kind].pop() for _ in range(planting.count)]
        for planting in season.standing
    }
    berths = lay_out(season, draft, places, {}, stands)
    assert sum(b.plants for b in berths) == sum(s.plants for s in draft.strikes) + sum(
        k.plants for k in draft.keeps if k.pulled > 0
    )
    for code in {berth.code for berth in berths}:
        spans = sorted((b.from_week, b.until_week) for b in berths if b.code == code)
        assert all(a[1] <= b[0] for a, b in pairwise(spans))
    for tag, codes in stands.items():
        assert {b.code for b in berths if b.item == tag} <= set(codes)
