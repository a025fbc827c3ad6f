"""Yields: hand-worked rows, and figures no finer than a planner knows."""

from datetime import date
from math import exp, inf

import pytest

from cropplan.growth.chance import spread_from
from cropplan.growth.paces import ROOTING, LightSum, PlainDays, TemperatureGrid, ThermalTime
from cropplan.growth.yields import (
    FRUIT_LIGHT_ELASTICITY,
    LightUse,
    WeekPick,
    YieldAnchor,
    in_round_figures,
    light_behind,
    light_factor,
    potential_yield,
    under_ceiling,
    warmth_factor,
    week_pick,
)
from cropplan.problems import Refusal

ANCHOR = YieldAnchor(
    low=0.3, typical=0.5, high=0.7, at_dli=20, at_c=20, elasticity=FRUIT_LIGHT_ELASTICITY
)
RIPENING = TemperatureGrid(points=((14, 95), (18, 65), (22, 46), (26, 42)))


def test_in_its_own_light_and_warmth_the_anchor_stands() -> None:
    """Ten plants at the anchor's conditions: ten times its figures."""
    pick = week_pick(10, ANCHOR, dli=20, temp_c=20, ripening=RIPENING)
    assert (pick.low, pick.likely, pick.high) == pytest.approx((3, 5, 7))


def test_a_tenth_less_light_is_the_elasticity_s_share_less() -> None:
    """0.9 ** 0.85 = 0.9143, worked by hand from Marcelis et al. 2006."""
    assert light_factor(ANCHOR, 18) == pytest.approx(0.9143, abs=5e-5)


def test_without_light_there_is_nothing_to_pick() -> None:
    """And beyond twice the anchor's light no more than at twice."""
    assert light_factor(ANCHOR, 0) == 0
    assert light_factor(ANCHOR, 100) == light_factor(ANCHOR, 40)


def test_cold_slows_the_pick_and_heat_does_not_add_to_it() -> None:
    """At 14 °C fruit takes 95 days, at 20 by interpolation 53.9; at 26 it earns no more."""
    assert warmth_factor(RIPENING, 14, 20) == pytest.approx((1 / 95) / ((1 / 65 + 1 / 46) / 2))
    assert warmth_factor(RIPENING, 26, 20) == 1
    assert warmth_factor(LightSum(days_min=40, mol=287), 14, 20) == 1


def test_a_leaf_crop_waits_for_no_ripening() -> None:
    """None for the pace: only light moves it."""
    pick = week_pick(1, ANCHOR, dli=20, temp_c=5, ripening=None)
    assert pick.likely == 0.5


def test_a_yield_seen_where_nothing_ripens_is_refused() -> None:
    """The catalogue's own condition cannot be below the base."""
    with pytest.raises(Refusal, match="nothing ripens at 5 °C"):
        warmth_factor(ThermalTime(base_c=10, degree_days=100), 20, 5)


def test_the_house_s_own_pickings_correct_the_anchor_and_its_span() -> None:
    """A house that attains half of it, give or take a fifth."""
    attained = spread_from(0.4, 0.5, 0.6, inf)
    pick = week_pick(10, ANCHOR, dli=20, temp_c=20, ripening=RIPENING, attained=attained)
    assert (pick.low, pick.likely, pick.high) == pytest.approx((2, 2.5, 3))


def test_light_behind_a_pick_is_that_of_its_ripening() -> None:
    """A week after ten days of ripening: the mean of seventeen days, the last six ahead."""
    asked: list[date] = []

    def dli(day: date) -> float:
        asked.append(day)
        return float(day.day)

    assert light_behind(date(2026, 5, 11), 10, dli) == pytest.approx(9)
    assert (asked[0], asked[-1]) == (date(2026, 5, 1), date(2026, 5, 17))


def test_the_ceiling_is_worked_by_hand() -> None:
    """10 MJ × 0.5 × 0.6 × (1 - e**-2.25) × 3 g × 0.7 / 0.06 / 1000; linear in efficiency."""
    use = LightUse(extinction=0.75, efficiency=3.0, picked_share=0.7, dry_share=0.06)
    by_hand = 10 * 0.5 * 0.6 * (1 - exp(-2.25)) * 3.0 * 0.7 / 0.06 / 1000
    assert potential_yield(10, 0.6, 3, use) == pytest.approx(by_hand)
    half = LightUse(extinction=0.75, efficiency=1.5, picked_share=0.7, dry_share=0.06)
    assert potential_yield(10, 0.6, 3, half) == pytest.approx(by_hand / 2)


def test_no_pick_is_above_what_light_can_make() -> None:
    """The ceiling cuts the high figure and, if it must, the likely one."""
    pick = WeekPick(low=1, likely=3, high=5)
    assert under_ceiling(pick, 2.5) == WeekPick(low=1, likely=2.5, high=2.5)


def test_figures_are_round() -> None:
    """Two figures are all that a planner knows; nothing stays nothing."""
    pick = WeekPick(low=0, likely=0.04567, high=123.4)
    assert in_round_figures(pick) == WeekPick(low=0, likely=0.046, high=120)


@pytest.mark.parametrize(("low", "at_dli"), [(0.0, 20.0), (0.6, 20.0), (0.3, 0.0)])
def test_an_anchor_that_cannot_be_is_refused(low: float, at_dli: float) -> None:
    """Figures above nought that rise, and the light they were seen in."""
    with pytest.raises(Refusal, match="a yield"):
        YieldAnchor(low=low, typical=0.5, high=0.7, at_dli=at_dli, at_c=20, elasticity=0.85)


def test_scaled_days_may_stand_for_ripening() -> None:
    """Any pace with a temperature serves."""
    pace = PlainDays(low=40, typical=45, high=55, at_c=20, scaling=ROOTING)
    assert warmth_factor(pace, 18, 20) < 1
