"""Which cohorts and endings the planner may choose from."""

from __future__ import annotations

from cropplan.season.demand import Mothering, Origin
from cropplan.season.options import Cohort, options_of
from cropplan.season.reach import reach_of
from tests.unit.season.season_builders import option, season, standing


def struck(cohorts: tuple[Cohort, ...]) -> set[int]:
    """Weeks in which anything is struck."""
    return {cohort.strike for cohort in cohorts}


def test_a_cohort_carries_the_weeks_that_follow_from_its_strike() -> None:
    """Two weeks in the tray and four to the pick, then the chosen stay."""
    first = options_of(season()).cohorts[0]
    assert (first.strike, first.set_out, first.first_pick, first.pulled) == (0, 2, 4, 6)
    assert first.picks == (1.0, 1.0)


def test_what_could_not_be_picked_in_time_is_left_out() -> None:
    """A strike whose first pick falls after the horizon is no option."""
    assert max(struck(options_of(season()).cohorts)) == 7


def test_stays_that_outlast_the_horizon_are_one_option() -> None:
    """Past the horizon a longer stay changes nothing."""
    last = [c for c in options_of(season()).cohorts if c.strike == 7]
    assert [c.pulled for c in last] == [13]


def test_light_and_time_of_year_move_picks_and_leads() -> None:
    """A winter strike takes longer and a dull week gives less."""
    dull = option(lead_weeks=(4,) * 3 + (6,) * 9, light=(1.0,) * 9 + (0.5,) * 3)
    cohorts = options_of(season(options=(dull,))).cohorts
    winter = next(c for c in cohorts if c.strike == 3)
    assert (winter.first_pick, winter.picks) == (9, (0.5, 0.5))


def test_nothing_is_struck_or_set_out_while_away_or_decided() -> None:
    """Away weeks and the frozen near term are kept free; a ready plant waits if it may."""
    empty = season(away=frozenset({4}), frozen_weeks=1)
    assert struck(options_of(empty).cohorts) == {1, 3, 5, 6, 7}
    patient = season(away=frozenset({4}), frozen_weeks=1, options=(option(hold_weeks=2),))
    waiting = [c for c in options_of(patient).cohorts if c.strike == 2]
    assert {(c.set_out, c.first_pick) for c in waiting} == {(5, 7)}


def test_plants_wait_longer_than_needed_only_where_striking_later_is_barred() -> None:
    """Struck in week 1, out in week 5: striking in week 3 instead is barred by absence."""
    away = season(away=frozenset({3}), options=(option(hold_weeks=3),))
    waits = {c.strike: set() for c in options_of(away).cohorts}
    for cohort in options_of(away).cohorts:
        waits[cohort.strike].add(cohort.set_out - cohort.strike - 2)
    assert waits[0] == {0, 3}
    assert waits[1] == {1, 3}
    assert waits[5] == {0}


def test_setting_out_keeps_to_the_growers_days() -> None:
    """Weeks without a working day are no weeks for setting out."""
    cohorts = options_of(season(not_setting_out=frozenset({2, 3}))).cohorts
    assert not {c.set_out for c in cohorts} & {2, 3}


def test_few_mothers_allow_only_whole_plants() -> None:
    """Two plants with half a shoot each give one cutting a week, and one with them none."""
    slow = option(mothering=Mothering(shoots=0.5, fit_from=1, fit_until=6))
    two = season(options=(slow,), standing=(standing(shoots=0.5),))
    assert reach_of(two).most[0, None][:4] == [1, 1, 1, 1]
    one = season(options=(slow,), standing=(standing(shoots=0.5, count=1),))
    assert options_of(one).cohorts == ()


def test_reach_grows_with_the_mothers_that_could_be_struck() -> None:
    """One cutting a week now, more from the first fit planned plant on, never past the places."""
    lone = season(standing=(standing(count=1, shoots=1.0, until=9, fit_until=9),))
    assert reach_of(lone).most[0, None][:6] == [1, 1, 1, 3, 4, 4]


def test_mothers_not_to_be_propagated_give_nothing() -> None:
    """A planting marked so is no mother."""
    assert options_of(season(standing=(standing(propagate=False),))).cohorts == ()


def test_a_generation_cap_ends_the_line_unless_seed_starts_a_new_one() -> None:
    """Third-generation plants may not be struck from under a cap of three; sown ones may."""
    capped = option(mothering=Mothering(shoots=2.0, fit_from=1, fit_until=6, generation_cap=3))
    old = season(options=(capped,), standing=(standing(generation=3),))
    assert options_of(old).cohorts == ()
    young = season(options=(capped,), standing=(standing(generation=1),))
    assert {c.generation for c in options_of(young).cohorts} == {2, 3}
    seed = option(
        origin=Origin.SOWN,
        mothering=Mothering(shoots=2.0, fit_from=1, fit_until=6, generation_cap=3),
    )
    both = season(options=(capped, seed), standing=(standing(generation=3),))
    assert {c.generation for c in options_of(both).cohorts} == {0, 1, 2}


def test_cuttings_already_promised_are_not_promised_twice() -> None:
    """A striking decided for week 0 takes its cuttings from what the mothers give then."""
    decided = standing(
        "tom2", count=3, set_out=2, until=9, struck=0, cuttings=3, tray="tray", tray_places=3,
        fit_from=3, fit_until=9, picks=(),
    )  # fmt: skip
    assert reach_of(season(standing=(standing(), decided))).most[0, None][0] == 1


def test_standing_plants_may_end_in_steps_or_stay() -> None:
    """Every third week before their time, or at their time; only then when they must stay."""
    assert [e.pulled for e in options_of(season()).endings] == [0, 3, 5]
    kept = season(standing=(standing(pull_early=False),))
    assert [e.pulled for e in options_of(kept).endings] == [5]
    frozen = season(frozen_weeks=2, away=frozenset({2}))
    assert [e.pulled for e in options_of(frozen).endings] == [3, 5]


def test_a_crop_nobody_wants_is_not_struck() -> None:
    """Without a goal a crop is started only to keep its clone alive."""
    spare = option("coleus")
    stands = standing("col1", crop="coleus")
    idle = options_of(season(options=(option(), spare), standing=(standing(), stands)))
    assert {c.crop for c in idle.cohorts} == {"tomato"}
    loved = option("coleus", keep_alive=1)
    kept = options_of(season(options=(option(), loved), standing=(standing(), stands)))
    assert {c.crop for c in kept.cohorts} == {"tomato", "coleus"}
