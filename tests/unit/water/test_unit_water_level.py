"""Water added against water expected."""

from __future__ import annotations

import math

import pytest

from cropplan.problems import Refusal
from cropplan.water.level import LevelQuestion, TopUp, expected_top_up, judge_top_up

USUAL = [TopUp(added=10, days=1)] * 5


def judged(top_up: TopUp, earlier: list[TopUp] | None = None) -> LevelQuestion:
    """A loop of 1000 L that should lose 1 to 3 % a day."""
    return judge_top_up(
        top_up, volume=1000, loss_low=1, loss_high=3, earlier=earlier or []
    ).question


def test_an_expected_amount_asks_nothing() -> None:
    """1 to 3 % of volume a day, ends included (FAO Technical Paper 589, from memory)."""
    assert judged(TopUp(added=60, days=3)) is LevelQuestion.NOTHING
    assert judged(TopUp(added=30, days=1)) is LevelQuestion.NOTHING
    assert judged(TopUp(added=10, days=1)) is LevelQuestion.NOTHING


def test_an_unusual_amount_asks_about_a_leak() -> None:
    """Situation: more water than leaf and air can take."""
    assert judged(TopUp(added=31, days=1)) is LevelQuestion.LEAK


def test_too_little_asks_whether_all_was_written() -> None:
    """Plants go on drinking; a small figure is likelier forgotten than true."""
    assert judged(TopUp(added=5, days=1)) is LevelQuestion.SHORT


def test_water_drained_with_the_solids_is_no_leak() -> None:
    """60 L added for 40 L drained is a loss of 2 %."""
    assert judged(TopUp(added=60, days=1, drained=40)) is LevelQuestion.NOTHING


def test_more_drained_than_added_is_no_gain() -> None:
    """The loss is never below zero."""
    answer = judge_top_up(TopUp(added=10, days=1, drained=40), volume=1000, loss_low=1, loss_high=3)
    assert answer.lost == 0


def test_a_loop_with_a_record_is_judged_by_its_own_use() -> None:
    """Five top-ups of 1 % make 2.5 % unusual although any loop may lose 3 %."""
    answer = judge_top_up(
        TopUp(added=25, days=1), volume=1000, loss_low=1, loss_high=3, earlier=USUAL
    )
    assert answer.question is LevelQuestion.LEAK
    assert answer.from_own_record
    assert (answer.usual_low, answer.usual_high) == (0.5, 2.0)


def test_four_top_ups_are_too_few_to_go_by() -> None:
    """The general figures hold until the fifth."""
    assert judged(TopUp(added=25, days=1), USUAL[:4]) is LevelQuestion.NOTHING


def test_a_record_of_drained_water_only_is_not_gone_by() -> None:
    """A usual loss of nothing would make every drop a leak."""
    drained = [TopUp(added=10, days=1, drained=10)] * 5
    assert judged(TopUp(added=20, days=1), drained) is LevelQuestion.NOTHING


@pytest.mark.parametrize("added", [-1, math.nan, math.inf])
def test_water_that_cannot_be_is_refused(added: float) -> None:
    """The refusal names the figure."""
    with pytest.raises(Refusal, match="water added"):
        TopUp(added=added, days=1)
    with pytest.raises(Refusal, match="water drained"):
        TopUp(added=1, days=1, drained=added)


def test_two_top_ups_on_one_day_belong_together() -> None:
    """A rate over no days is no rate."""
    with pytest.raises(Refusal, match="add the amounts of one day together"):
        TopUp(added=10, days=0)


@pytest.mark.parametrize("volume", [0, -5, math.nan])
def test_a_loop_without_water_is_refused(volume: float) -> None:
    """A share of nothing cannot be told."""
    with pytest.raises(Refusal, match="water volume"):
        expected_top_up(volume=volume, percent_per_day=1.5, days=1)
    with pytest.raises(Refusal, match="water volume"):
        judge_top_up(TopUp(added=1, days=1), volume=volume, loss_low=1, loss_high=3)


def test_losses_in_the_wrong_order_are_refused() -> None:
    """The lower figure is first."""
    with pytest.raises(Refusal, match="3 to 1 %"):
        judge_top_up(TopUp(added=1, days=1), volume=1000, loss_low=3, loss_high=1)
