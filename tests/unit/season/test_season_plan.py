"""A plan's strikes, expectations, reasons and remedies."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cropplan.season.backward import last_strike, startable
from cropplan.season.demand import Mothering, Origin, Season
from cropplan.season.draft import Draft, Keep
from cropplan.season.forecast import forecast
from cropplan.season.mothers import Taken, cuttings_of, mothers_of
from cropplan.season.options import options_of
from cropplan.season.plan import SeasonPlan, Status, plan_of
from cropplan.season.reasons import Cause, Reason, Remedy, thin_weeks
from cropplan.season.search import exact_search
from tests.unit.season.season_builders import STANDS, TOMATO, goal, option, season, standing


def best(where: Season) -> SeasonPlan:
    """The proven best plan of a small season."""
    return plan_of(where, exact_search(where, options_of(where), nodes=5000))


def causes(where: Season, draft: Draft) -> dict[int, list[Reason]]:
    """Reasons of each run of thin weeks, by its first week."""
    thin = thin_weeks(where, draft)
    return {each.from_week: list(each.reasons) for each in thin}


def test_a_batch_shares_its_spares() -> None:
    """Two plants need three cuttings at 80 %, four need five; the second pair adds only two."""
    where = season(options=(option(success=0.8, certainty=0.7),))
    two = Draft(strikes=(TOMATO, replace(TOMATO, pulled=7)), keeps=(STANDS,))
    assert cuttings_of(where, two) == (3, 2)
    apart = Draft(strikes=(TOMATO, replace(TOMATO, strike=2)), keeps=(STANDS,))
    assert cuttings_of(where, apart) == (3, 3)


def test_cuttings_come_from_fit_mothers_that_can_give_most() -> None:
    """Three from the two-plant clump that gives four, the rest from the lone plant."""
    lone = standing("tom2", count=1)
    where = season(places=6, standing=(lone, standing()))
    draft = Draft(
        strikes=(replace(TOMATO, plants=5),),
        keeps=(STANDS, Keep(tag="tom2", plants=1, pulled=5)),
    )
    taken = (Taken(mother="tom1", cuttings=4), Taken(mother="tom2", cuttings=1))
    assert mothers_of(where, draft) == (taken,)


def test_cuttings_may_come_from_plants_of_the_plan_itself() -> None:
    """In week 7 only the plants struck in week 1 stand; sown ones come from none."""
    seed = option("basil", origin=Origin.SOWN)
    where = season(options=(option(), seed))
    child = replace(TOMATO, strike=7, set_out=9, first_pick=11, pulled=13)
    sown = replace(TOMATO, crop="basil", origin=Origin.SOWN)
    found = mothers_of(where, Draft(strikes=(TOMATO, child, sown), keeps=(STANDS,)))
    assert found[1] == (Taken(mother=0, cuttings=2),)
    assert found[2] == ()


def test_the_forecast_counts_losses_and_spreads() -> None:
    """Sure plants give the plan's pick without a span; losses and spread open one around less."""
    sure = forecast(season(), Draft(strikes=(TOMATO,), keeps=(STANDS,)))
    assert [(w.expected, w.low, w.high) for w in sure[5:9]] == [(2.0, 2.0, 2.0)] * 4
    risky = season(options=(option(success=0.7, certainty=0.8, spread=(0.2,) * 12),))
    spread = forecast(risky, Draft(strikes=(TOMATO,), keeps=(STANDS,)))
    assert 1.6 < spread[5].expected < 2.0
    assert 0.0 < spread[5].low < spread[5].expected < spread[5].high
    dull = forecast(replace(season(), weather=0.1), Draft(strikes=(TOMATO,), keeps=(STANDS,)))
    assert dull[0].high - dull[0].low == pytest.approx(2 * 1.2816 * 0.1 * 2.0, rel=1e-4)


def test_weeks_no_strike_can_reach_are_told_apart() -> None:
    """Struck this week, tomatoes are picked from week 4; what comes before is decided."""
    weeks = forecast(season(), Draft(strikes=(), keeps=(STANDS,)))
    assert [week.decided for week in weeks[:6]] == [True] * 4 + [False] * 2


def test_the_plan_meets_its_goal_where_it_can_and_is_proven() -> None:
    """Two bearing plants cover weeks 0 to 4; the relay covers the rest."""
    plan = best(season())
    assert plan.status is Status.PROVEN
    assert plan.cost.shortfall == pytest.approx(0.0, abs=1e-9)
    assert plan.thin == ()
    assert plan.gap_of_cost == pytest.approx(0.0, abs=1e-6)
    assert plan.gap_of_wanted == pytest.approx(0.0, abs=1e-6)
    assert plan.wanted == 24.0
    assert [s.strike for s in plan.strikes] == sorted(s.strike for s in plan.strikes)
    assert all(s.mothers for s in plan.strikes)
    assert all(week.expected == pytest.approx(2.0) for week in plan.weeks)


def test_early_pulls_are_named() -> None:
    """Spent plants make way at once when only two buckets are there."""
    spent = standing(picks=(0.0,) * 5)
    plan = best(season(places=2, standing=(spent,)))
    assert sum(keep.plants for keep in plan.early_pulls) == 2
    assert {(keep.tag, keep.pulled) for keep in plan.early_pulls} <= {("tom1", 0), ("tom1", 3)}


def test_too_late_is_the_reason_before_the_first_possible_pick() -> None:
    """Without bearing plants nothing is picked before week 4, whatever is done now."""
    young = standing(picks=())
    quick = option("cress", origin=Origin.SOWN, lead_weeks=(2,) * 12)
    reasons = causes(
        season(standing=(young,), options=(option(), quick)),
        Draft(strikes=(), keeps=(STANDS,)),
    )[0]
    late = [reason for reason in reasons if reason.cause is Cause.TIME]
    assert [reason.remedy for reason in late] == [Remedy.FILLER, Remedy.EARLIER]
    assert (late[0].subject, late[0].number, late[0].closes) == ("cress", 2, 4.0)
    assert (late[1].number, late[1].closes) == (4, 8.0)


def test_full_places_are_a_reason_with_the_number_missing() -> None:
    """Two buckets for a goal of four: two more would close all of it."""
    tight = season(places=2, goals=(goal(amount=4.0),))
    plan = best(tight)
    late = plan.thin[-1]
    assert late.missing > 0
    reason = next(r for r in late.reasons if r.cause is Cause.PLACES)
    assert (reason.remedy, reason.subject) == (Remedy.PLACES, "bucket")
    assert reason.number >= 2


def test_few_mothers_are_a_reason_with_the_number_missing() -> None:
    """One mother that gives one cutting a week cannot serve a goal of four from week 4."""
    shy = option(mothering=Mothering(shoots=1.0, fit_from=99, fit_until=100))
    where = season(
        places=20,
        trays=30,
        options=(shy,),
        standing=(standing(count=1, shoots=1.0, picks=(), until=12, fit_until=12),),
        goals=(goal(amount=8.0, from_week=4),),
    )
    plan = best(where)
    reasons = plan.thin[0].reasons
    reason = next(r for r in reasons if r.cause is Cause.MOTHERS)
    assert (reason.remedy, reason.subject) == (Remedy.MOTHERS, "tomato")
    assert reason.number >= 1
    assert Cause.PLACES not in {r.cause for r in reasons}


def test_tray_room_is_a_reason_of_its_own() -> None:
    """One tray position, places and mothers enough."""
    where = season(places=20, trays=1, goals=(goal(amount=4.0, from_week=5),))
    reasons = best(where).thin[0].reasons
    assert Cause.TRAYS in {r.cause for r in reasons}
    assert Cause.PLACES not in {r.cause for r in reasons}


def test_winter_light_is_a_reason() -> None:
    """At two fifths of full light the same plants would have met the goal in full light."""
    dark = season(places=2, options=(option(light=(0.4,) * 12),), goals=(goal(from_week=5),))
    reasons = best(dark).thin[0].reasons
    light = next(r for r in reasons if r.cause is Cause.LIGHT)
    assert light.remedy is Remedy.LAMPS
    assert light.closes > 0
    ranks = [list(Remedy).index(r.remedy) for r in reasons]
    assert ranks == sorted(ranks)


def test_causes_that_only_help_together_are_named_together() -> None:
    """No tray room and no place left: lifting either alone closes nothing."""
    stuck = season(
        places=2,
        trays=0,
        standing=(standing(until=12, pull_early=False, picks=(1.0,) * 12, fit_until=12),),
        goals=(goal(amount=4.0, from_week=6),),
    )
    reasons = causes(stuck, Draft(strikes=(), keeps=(replace(STANDS, pulled=12),)))[6]
    assert [r.cause for r in reasons] == [Cause.TRAYS, Cause.PLACES]
    assert reasons[0].closes == reasons[1].closes > 0.0


def test_no_mothers_at_all_is_a_reason() -> None:
    """The plants may not be propagated, so nothing was ever an option; that is said."""
    barred = season(standing=(standing(propagate=False),))
    reasons = causes(barred, Draft(strikes=(), keeps=(STANDS,)))[5]
    assert (reasons[0].cause, reasons[0].subject) == (Cause.MOTHERS, "tomato")


def test_the_last_week_to_strike_counts_back_from_the_pick() -> None:
    """Four weeks before, or six for strikes of the slow time of year."""
    assert last_strike(season(), option(), 9) == 5
    slow = option(lead_weeks=(4,) * 4 + (6,) * 8)
    assert last_strike(season(options=(slow,)), slow, 9) == 3
    assert last_strike(season(), option(), 3) is None
    assert last_strike(season(away=frozenset({5})), option(), 9) == 4


def test_what_can_be_started_now_is_what_room_and_shoots_allow() -> None:
    """Two buckets are free and four shoots: two tomatoes, picked from week 4."""
    idle = Draft(strikes=(), keeps=(replace(STANDS, pulled=5),))
    starts = startable(season(), idle, 0)
    assert [(s.crop, s.plants, s.set_out, s.first_pick) for s in starts] == [("tomato", 2, 2, 4)]
    assert startable(season(), idle, 8) == ()


def test_a_goal_that_nothing_serves_does_not_keep_the_others_from_being_planned() -> None:
    """No quince stands and none can be struck: tomatoes are planned, and the quince is told of."""
    quince = goal("quince", amount=1.0)
    where = season(goals=(goal(), quince), options=(option(), option("quince")))
    plan = best(where)
    assert plan.strikes
    (told,) = [thin for thin in plan.thin if thin.goal == "quince goal"]
    assert [reason.remedy for reason in told.reasons] == [Remedy.BRING_IN]
