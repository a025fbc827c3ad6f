"""Rooting: giving up, and refusals; the numbers themselves are in the published checks."""

from math import inf

import pytest

from cropplan.growth.chance import spread_from
from cropplan.growth.rooting import (
    Success,
    give_up_at,
    how_many_to_strike,
    how_many_to_strike_believing,
    left_after,
    success_from,
    to_begin_with,
    will_still_root,
)
from cropplan.problems import Refusal

SPREAD = spread_from(0.7, 1.0, 1.4, inf)


def test_a_fresh_cutting_has_the_chance_it_was_struck_with() -> None:
    """Nothing waited, nothing learnt."""
    assert will_still_root(0.8, 1.0) == pytest.approx(0.8)


def test_a_sure_cutting_is_only_slow() -> None:
    """If all root, one that waits will too, however long."""
    assert will_still_root(1.0, 1e-9) == 1


def test_one_gives_up_where_the_chance_has_fallen_to_the_threshold() -> None:
    """The ratio given back is the one at which the two meet."""
    ratio = give_up_at(0.8, SPREAD, 0.2)
    assert will_still_root(0.8, SPREAD.still_waiting(ratio)) == pytest.approx(0.2)


def test_a_crop_that_roots_well_is_given_up_later() -> None:
    """The dead are fewer, so that a late one is more likely slow."""
    assert give_up_at(0.6, SPREAD) < give_up_at(0.8, SPREAD) < give_up_at(0.95, SPREAD)


def test_a_crop_that_hardly_roots_cannot_be_given_up_by_this_rule() -> None:
    """A fresh cutting would already be under the threshold."""
    with pytest.raises(Refusal, match="only 15% are expected to root"):
        give_up_at(0.15, SPREAD)


def test_certain_rooting_needs_no_spare() -> None:
    """All root: strike what is wanted."""
    assert how_many_to_strike(7, 1, 0.95) == 7


@pytest.mark.parametrize("wanted", [0, -3])
def test_nothing_wanted_nothing_struck(wanted: int) -> None:
    """No plants, no cuttings."""
    assert how_many_to_strike(wanted, 0.8, 0.95) == 0
    assert how_many_to_strike(wanted, 1, 0.95) == 0
    assert how_many_to_strike_believing(wanted, Success(rooted=8, failed=2), 0.95) == 0


@pytest.mark.parametrize(("success", "certainty"), [(0, 0.9), (1.2, 0.9), (0.8, 1), (0.8, 0)])
def test_shares_outside_nought_and_one_are_refused(success: float, certainty: float) -> None:
    """The figure typed is shown."""
    with pytest.raises(Refusal, match="must lie between 0 and 1"):
        how_many_to_strike(5, success, certainty)


def test_more_cuttings_than_any_house_strikes_are_refused() -> None:
    """A belief that is mostly doubt cannot be made safe by numbers."""
    with pytest.raises(Refusal, match="50 rooted plants at 99% certainty"):
        how_many_to_strike_believing(50, Success(rooted=0.5, failed=2), 0.99)


def test_the_house_s_own_count_moves_the_belief() -> None:
    """A catalogue's 80 %, worth ten cuttings, meets 17 rooted of 20."""
    belief = success_from(0.8, 10).updated(17, 3)
    assert (belief.rooted, belief.failed) == pytest.approx((25, 5))
    assert belief.mean == pytest.approx(0.8333, abs=1e-4)


def test_less_known_means_more_struck() -> None:
    """The same mean, worth ten cuttings or a thousand."""
    vague, sure = success_from(0.8, 10), success_from(0.8, 1000)
    assert how_many_to_strike_believing(10, vague, 0.9) > how_many_to_strike_believing(
        10, sure, 0.9
    )


def test_a_belief_without_weight_is_refused() -> None:
    """Neither rooting nor failing may be impossible."""
    with pytest.raises(Refusal, match="some weight"):
        Success(rooted=0, failed=2)


def test_losses_follow_one_another() -> None:
    """A fifth, then a tenth of what is left."""
    assert left_after([0.2, 0.1]) == pytest.approx(0.72)
    assert to_begin_with(72, [0.2, 0.1]) == 100
    with pytest.raises(Refusal, match="less than 1"):
        left_after([1.0])
