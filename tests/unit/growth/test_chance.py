"""Chance: a spread keeps the three figures it was made from."""

from math import inf

import pytest

from cropplan.growth.chance import (
    SHARPEST,
    Spread,
    spread_from,
    student_exceeded,
    student_tail,
)
from cropplan.problems import Refusal


@pytest.mark.parametrize("df", [3.0, 11.0, inf])
def test_a_spread_leaves_a_tenth_on_either_side(df: float) -> None:
    """Low, typical and high are its 10, 50 and 90 %, lopsided or not."""
    spread = spread_from(5, 10, 12, df)
    assert [spread.ratio_at(chance) for chance in (0.1, 0.5, 0.9)] == pytest.approx([5, 10, 12])
    assert [spread.still_waiting(days) for days in (5, 10, 12)] == pytest.approx([0.9, 0.5, 0.1])


def test_no_time_is_too_short_to_be_still_waiting() -> None:
    """Nothing ends before it begins."""
    assert spread_from(5, 10, 12, 4).still_waiting(0) == 1


def test_figures_that_are_all_the_same_keep_a_little_spread() -> None:
    """A catalogue's 10, 10, 10 is not certainty."""
    assert spread_from(10, 10, 10, inf).above == SHARPEST


def test_waiting_cuts_off_what_is_past() -> None:
    """Having waited past the median, half of what is left lies beyond the three-quarter point."""
    spread = Spread(median=10, below=0.2, above=0.2, df=inf)
    assert spread.ratio_at_given_waited(0.5, 10) == pytest.approx(spread.ratio_at(0.75))
    assert spread.ratio_at_given_waited(0.5, 0) == pytest.approx(10)


def test_waiting_beyond_all_measure_still_gives_a_later_day() -> None:
    """Where the tail is too thin for arithmetic, the answer is not before what was waited."""
    spread = Spread(median=10, below=0.02, above=0.02, df=inf)
    assert spread.ratio_at_given_waited(0.1, 1000) >= 1000


@pytest.mark.parametrize("chance", [0.0, 1.0, 1.2])
def test_certainty_is_refused(chance: float) -> None:
    """No value is passed with chance 0 or never."""
    with pytest.raises(Refusal, match="must lie between 0 and 1"):
        student_exceeded(chance, 5)


def test_figures_that_do_not_rise_are_refused() -> None:
    """Low, typical, high, in that order."""
    with pytest.raises(Refusal, match="'12, 10, 15' must be above 0 and rise"):
        spread_from(12, 10, 15, 5)


def test_both_tails_mirror_each_other() -> None:
    """The curve is even, for Student and for the normal."""
    for df in (2.0, inf):
        assert student_tail(-1.3, df) == pytest.approx(1 - student_tail(1.3, df))
        assert student_exceeded(0.8, df) == pytest.approx(-student_exceeded(0.2, df))


def test_a_value_beyond_all_reckoning_is_never_exceeded() -> None:
    """Where the tail underflows it is nothing, not an error."""
    assert student_tail(1e200, 3) == 0
