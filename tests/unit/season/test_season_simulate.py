"""The simulator finds every broken rule, and tallies what a plan gives."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from cropplan.season.demand import Mothering, Season
from cropplan.season.draft import Draft, Keep
from cropplan.season.simulate import account, faults
from tests.unit.season.season_builders import STANDS, TOMATO, goal, option, season, standing


def broken(where: Season, *, keeps: tuple[Keep, ...] = (STANDS,), **changes: Any) -> str:
    """The faults of a plan with one strike, changed from a good one."""
    return " / ".join(faults(where, Draft(strikes=(replace(TOMATO, **changes),), keeps=keeps)))


def test_a_plan_that_keeps_every_rule_has_no_faults() -> None:
    """The good plan, from which the others are made, is good."""
    assert broken(season()) == ""


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"plants": 5}, "week 5: 5 plants in 4 of bucket"),
        ({"plants": 7, "set_out": 3}, "week 1: 7 plants in 6 of tray"),
        ({"set_out": 4, "first_pick": 6}, "set out after 1 weeks of waiting"),
        ({"first_pick": 4}, "first pick in week 4"),
        ({"pulled": 5}, "pulled before it is picked"),
        ({"plants": 0}, "0 plants"),
        ({"strike": 6, "set_out": 8, "first_pick": 10, "pulled": 12}, "from mothers that give 0"),
    ],
)
def test_a_broken_strike_is_named(changes: dict[str, Any], words: str) -> None:
    """Room, waiting, time and mothers are each checked on their own."""
    assert words in broken(season(), **changes)


@pytest.mark.parametrize(
    ("where", "words"),
    [
        (season(frozen_weeks=2), "nothing may be started that week"),
        (season(away=frozenset({1})), "nothing may be started that week"),
        (season(away=frozenset({3})), "set out in week 3, when nothing is"),
        (season(not_setting_out=frozenset({3})), "set out in week 3, when nothing is"),
        (season(away=frozenset({9})), "pulled in week 9, when all are away"),
        (season(standing=(standing(propagate=False),)), "from mothers that give 0"),
        (season(standing=(standing(fit_from=2),)), "from mothers that give 0"),
        (season(places=2, gap=1), "week 5: 4 plants in 2 of bucket"),
    ],
)
def test_a_rule_of_the_season_is_kept(where: Season, words: str) -> None:
    """The same plan is faulty where the season forbids it."""
    assert words in broken(where)


def test_mothers_pulled_that_week_give_nothing() -> None:
    """A plant pulled in the week its cuttings are wanted is no mother."""
    assert "from mothers that give 0" in broken(season(), keeps=(replace(STANDS, pulled=1),))


@pytest.mark.parametrize(
    ("keep", "planting", "words"),
    [
        (replace(STANDS, plants=1), standing(), "1 of 2 plants end"),
        (replace(STANDS, pulled=6), standing(), "2 plants until week 6"),
        (replace(STANDS, pulled=3), standing(pull_early=False), "may not be pulled in week 3"),
        (replace(STANDS, plants=1), standing(splits=False), "may not be split"),
    ],
)
def test_an_ending_against_the_rules_is_named(keep: Keep, planting: Any, words: str) -> None:
    """What stands ends once, at its time or where it may be pulled."""
    assert words in broken(season(standing=(planting,)), keeps=(keep,))


def test_a_generation_past_its_cap_is_named() -> None:
    """A clone struck too often from itself is a fault."""
    capped = option(mothering=Mothering(shoots=2.0, fit_from=1, fit_until=6, generation_cap=1))
    where = season(options=(capped,), standing=(standing(generation=1),))
    assert "past generation 1" in broken(where, generation=2)
    assert "past generation 1" in broken(where)


def test_cuttings_promised_to_a_decided_striking_are_counted() -> None:
    """The mothers give four cuttings; three are promised, two more are too many."""
    decided = standing(
        "tom2", count=2, set_out=3, until=9, struck=1, cuttings=3, tray="tray", tray_places=3,
        fit_from=9, fit_until=9, picks=(),
    )  # fmt: skip
    where = season(places=6, standing=(standing(), decided))
    keeps = (STANDS, Keep(tag="tom2", plants=2, pulled=9))
    assert "5 cuttings of tomato from mothers that give 4" in broken(where, keeps=keeps)
    assert broken(where, keeps=keeps, plants=1) == ""


def test_an_account_tallies_picks_shortfall_and_glut() -> None:
    """Two plants until week 4, two more from 5 to 8: weeks 9 to 11 lack two units each."""
    done = account(season(), Draft(strikes=(TOMATO,), keeps=(STANDS,)))
    assert done.picks[0] == (2.0,) * 9 + (0.0,) * 3
    assert (done.cost.shortfall, done.cost.glut) == (6.0, 0.0)
    assert (done.cost.plants, done.cost.striking_weeks) == (2, 1)
    assert done.cost.total == pytest.approx(6.0 + 0.002 + 0.0005)
    assert done.standing["bucket"] == (2.0, 2.0, 2.0, 4.0, 4.0, 2.0, 2.0, 2.0, 2.0, 0.0, 0.0, 0.0)
    assert done.standing["tray"] == (0.0, 2.0, 2.0) + (0.0,) * 9


def test_glut_is_what_is_picked_above_the_goal_and_a_third() -> None:
    """1.3 times a goal of one is 1.3; two units leave 0.7 of glut in each of nine weeks."""
    modest = season(goals=(goal(amount=1.0, weight=2.0),))
    done = account(modest, Draft(strikes=(TOMATO,), keeps=(STANDS,)))
    assert done.cost.glut == pytest.approx(2.0 * 9 * 0.7)


def test_weeks_without_a_living_plant_count_for_a_crop_to_be_kept() -> None:
    """The clone lives in the house or tray until week 8, then no more."""
    loved = season(options=(option(keep_alive=1),))
    assert account(loved, Draft(strikes=(TOMATO,), keeps=(STANDS,))).cost.dead_weeks == 3
    unknown = Draft(strikes=(replace(TOMATO, crop="quince"),), keeps=())
    with pytest.raises(KeyError, match="no way is known to raise quince"):
        account(loved, unknown)
