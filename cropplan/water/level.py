"""Water that has to be added, and when an unusual amount should make one look for a leak."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

from cropplan.problems import Refusal
from cropplan.water.middle import median

ENOUGH_TOP_UPS: Final = 5
"""Top-ups on record before a house's own use is believed. Common practice, no source."""

UNUSUAL_TIMES: Final = 2.0
"""An own use so many times the usual asks about a leak. Common practice, no source."""


class LevelQuestion(Enum):
    """What an amount of water added should make the grower ask."""

    NOTHING = "nothing"
    LEAK = "is there a leak"
    SHORT = "was all of it written down"


@dataclass(frozen=True, slots=True, kw_only=True)
class TopUp:
    """Water added at one time.

    added : water added. [L]
    days : whole days since the level was last made up.
    drained : water let out with the solids in those days. [L]
    """

    added: float
    days: int
    drained: float = 0.0

    def __post_init__(self) -> None:
        for what, value in (("water added", self.added), ("water drained", self.drained)):
            if not value >= 0 or not math.isfinite(value):
                raise Refusal(f"{what} {value:g} L cannot be; it must be zero or more")
        if self.days < 1:
            raise Refusal(
                f"{self.days} days since the last top-up is too short to judge; add the "
                "amounts of one day together"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelJudgement:
    """An amount added, set against what was to be expected.

    question : what to ask the grower.
    lost : daily loss that the top-up made good, without what was drained. [% of volume/d]
    usual_low, usual_high : daily loss that asks nothing. [% of volume/d]
    from_own_record : whether the usual figures come from this loop's own top-ups.
    """

    question: LevelQuestion
    lost: float
    usual_low: float
    usual_high: float
    from_own_record: bool


def expected_top_up(*, volume: float, percent_per_day: float, days: float) -> float:
    """Water that a loop is likely to want after some days.

    volume : water in the whole loop. [L]
    percent_per_day : daily loss. [% of volume/d]
    Returns water to add. [L]
    Raises Refusal for a volume that is not above zero.
    Source: Rakocy, Bailey, Shultz, Danaher, University of the Virgin Islands system, 1.5 % a day;
    checked in tests/published/test_water_worked_examples.py.
    """
    _refuse_no_volume(volume)
    return volume * percent_per_day / 100 * days


def daily_loss(top_up: TopUp, *, volume: float) -> float:
    """Daily loss by leaf and air that a top-up made good; never below zero. [% of volume/d]

    Water let out with the solids is taken off first: it is no leak.
    """
    _refuse_no_volume(volume)
    return max(top_up.added - top_up.drained, 0.0) / top_up.days / volume * 100


def judge_top_up(
    top_up: TopUp,
    *,
    volume: float,
    loss_low: float,
    loss_high: float,
    earlier: Sequence[TopUp] = (),
) -> LevelJudgement:
    """Whether an amount of water added is out of the ordinary for this loop.

    volume : water in the whole loop. [L]
    loss_low, loss_high : daily loss to be expected of any loop. [% of volume/d]
    earlier : the loop's own earlier top-ups, best of the same season; from five on they replace
        the general figures, half to double their median being usual.
    Raises Refusal for a volume that is not above zero or losses in the wrong order.
    """
    if not 0 <= loss_low <= loss_high:
        raise Refusal(f"expected loss {loss_low:g} to {loss_high:g} %: the lower figure is first")
    losses = [daily_loss(past, volume=volume) for past in earlier]
    usual = median(losses) if len(losses) >= ENOUGH_TOP_UPS else 0.0
    # A record of nothing but drained water made good says nothing of leaf and air.
    own = usual > 0
    if own:
        loss_low, loss_high = usual / UNUSUAL_TIMES, usual * UNUSUAL_TIMES
    lost = daily_loss(top_up, volume=volume)
    if lost > loss_high:
        question = LevelQuestion.LEAK
    elif lost < loss_low:
        question = LevelQuestion.SHORT
    else:
        question = LevelQuestion.NOTHING
    return LevelJudgement(
        question=question,
        lost=lost,
        usual_low=loss_low,
        usual_high=loss_high,
        from_own_record=own,
    )


def _refuse_no_volume(volume: float) -> None:
    if not volume > 0 or not math.isfinite(volume):
        raise Refusal(f"water volume {volume:g} L must be above zero")
