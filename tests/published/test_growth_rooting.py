"""How many to strike against scipy's distributions; loss chains and the cure model by hand."""

import pytest
from scipy import stats

from cropplan.growth.censored import weibull_belief
from cropplan.growth.rooting import (
    Success,
    how_many_to_strike,
    how_many_to_strike_believing,
    left_after,
    success_from,
    will_still_root,
)

WANTED = (1, 2, 6, 10, 20, 50, 137)


@pytest.mark.parametrize("certainty", [0.5, 0.90, 0.95, 0.99])
@pytest.mark.parametrize("success", [0.3, 0.6, 0.7, 0.8, 0.9, 0.95])
def test_the_fewest_cuttings_by_scipy_s_binomial(success: float, certainty: float) -> None:
    """scipy.stats.binom: enough with that many, not with one fewer."""
    for wanted in WANTED:
        struck = how_many_to_strike(wanted, success, certainty)
        assert stats.binom.sf(wanted - 1, struck, success) >= certainty
        assert stats.binom.sf(wanted - 1, struck - 1, success) < certainty


@pytest.mark.parametrize("certainty", [0.90, 0.95])
@pytest.mark.parametrize(("rooted", "failed"), [(8, 2), (16, 4), (40, 10), (25, 5), (2.5, 1.5)])
def test_the_fewest_cuttings_by_scipy_s_beta_binomial(
    rooted: float, failed: float, certainty: float
) -> None:
    """scipy.stats.betabinom: enough with that many, not with one fewer."""
    belief = Success(rooted=rooted, failed=failed)
    for wanted in WANTED[:5]:
        struck = how_many_to_strike_believing(wanted, belief, certainty)
        assert stats.betabinom.sf(wanted - 1, struck, rooted, failed) >= certainty
        assert stats.betabinom.sf(wanted - 1, struck - 1, rooted, failed) < certainty


def test_the_worked_numbers() -> None:
    """Ten wanted at 80 %: 15 for 90 % certainty (0.93895 of the time), 16 for 95 %; the belief
    beta(8, 2) asks 17 and 19. The naive 13 falls short one time in four: 0.74732."""
    assert [how_many_to_strike(10, 0.8, c) for c in (0.90, 0.95)] == [15, 16]
    belief = success_from(0.8, 10)
    assert [how_many_to_strike_believing(10, belief, c) for c in (0.90, 0.95)] == [17, 19]
    assert stats.binom.sf(9, 15, 0.8) == pytest.approx(0.93895, abs=5e-6)
    assert stats.binom.sf(9, 13, 0.8) == pytest.approx(0.74732, abs=5e-6)


def test_a_belief_updated_by_the_house_s_own_cuttings() -> None:
    """Beta(8, 2) and 17 of 20: beta(25, 5), mean 0.8333, 5 to 95 % 0.7116 to 0.9295 by scipy."""
    belief = Success(rooted=8, failed=2).updated(17, 3)
    curve = stats.beta(belief.rooted, belief.failed)
    assert belief.mean == pytest.approx(curve.mean())
    assert belief.mean == pytest.approx(0.8333, abs=5e-5)
    assert curve.ppf([0.05, 0.95]) == pytest.approx([0.7116, 0.9295], abs=5e-5)


def test_a_nursery_s_chain_of_losses() -> None:
    """Forest nursery text, table 2.3: losses of 40, 5, 0 and 5 % leave 54.15 of 100; 0, 20, 20 and
    5 % leave 60.80."""
    assert left_after((0.40, 0.05, 0, 0.05)) == pytest.approx(0.5415)
    assert left_after((0, 0.20, 0.20, 0.05)) == pytest.approx(0.6080)


def test_a_cutting_that_has_waited_twice_the_median() -> None:
    """The mixture cure model by hand: success 0.8, Weibull of shape 3 with median 14 d, after 28 d
    one in 256 of the rooting ones is left: 0.8/256 / (0.8/256 + 0.2) = 1/65 = 0.015385."""
    sure = weibull_belief(14, 3, 1e9)
    left = sure.still_waiting(28)
    assert left == pytest.approx(2**-8, rel=1e-6)
    assert will_still_root(0.8, left) == pytest.approx(1 / 65, rel=1e-6)
    assert will_still_root(0.8, 2**-8) == pytest.approx(0.015385, abs=5e-7)
