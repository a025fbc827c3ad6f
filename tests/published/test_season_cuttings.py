"""How many cuttings to strike, against the binomial law of a reference library."""

from __future__ import annotations

import pytest
from scipy.stats import binom

from cropplan.season.cuttings import chance_of_enough, cuttings_for, expected_plants, reserve


@pytest.mark.parametrize("success", [0.6, 0.7, 0.8, 0.9, 0.95])
@pytest.mark.parametrize("certainty", [0.9, 0.95, 0.99])
@pytest.mark.parametrize("plants", [1, 6, 10, 20, 50])
def test_cuttings_are_the_fewest_that_are_certain_enough(
    plants: int, certainty: float, success: float
) -> None:
    """Reference: scipy.stats.binom.sf, the upper tail of the binomial law."""
    struck = cuttings_for(plants, success, certainty)
    assert binom.sf(plants - 1, struck, success) >= certainty
    assert struck == plants or binom.sf(plants - 1, struck - 1, success) < certainty


@pytest.mark.parametrize(("struck", "chance"), [(13, 0.74732), (14, 0.87016), (15, 0.93895)])
def test_ten_plants_divided_by_four_fifths_fail_one_time_in_four(
    struck: int, chance: float
) -> None:
    """10 / 0.8 gives 13, which is enough only three times in four (scipy.stats.binom.sf)."""
    assert binom.sf(9, struck, 0.8) == pytest.approx(chance, abs=5e-6)
    assert chance_of_enough(10, struck=struck, success=0.8) == pytest.approx(chance, abs=5e-6)


def test_strawberry_plugs_need_spares_at_the_published_success() -> None:
    """Daughters under 0.9 g gave 87 % acceptable plugs, heavier ones 96 % or more.

    Source: Influence of daughter plant weight and position on strawberry transplant production,
    HortScience 39(7):1592 (2004), abstract. The numbers of plugs follow from the binomial law.
    """
    assert cuttings_for(30, 0.87, 0.9) == next(
        n for n in range(30, 60) if binom.sf(29, n, 0.87) >= 0.9
    )
    assert cuttings_for(30, 0.96, 0.9) < cuttings_for(30, 0.87, 0.9)


@pytest.mark.parametrize(("plants", "success"), [(1, 0.8), (4, 0.6), (10, 0.9)])
def test_plants_set_out_have_the_cut_off_binomial_mean_and_variance(
    plants: int, success: float
) -> None:
    """Reference: scipy.stats.binom.expect of what roots, cut off at what is wanted."""
    struck = cuttings_for(plants, success, 0.9)
    mean = binom.expect(lambda k: (k < plants) * k + (k >= plants) * plants, (struck, success))
    square = binom.expect(
        lambda k: (k < plants) * k**2 + (k >= plants) * plants**2, (struck, success)
    )
    assert expected_plants(plants, success, 0.9) == pytest.approx((mean, square - mean**2))


@pytest.mark.parametrize("success", [0.6, 0.75, 0.87, 0.95, 1.0])
def test_what_is_reserved_is_enough_for_any_batch(success: float) -> None:
    """No batch, small or large, needs more cuttings than were reserved for it."""
    kept = reserve(success, 0.9)
    assert all(cuttings_for(n, success, 0.9) <= kept * n + 1e-9 for n in range(1, 81))
