"""Learning: what the house's own records make of the catalogue's figure for a stage.

Every duration is first divided by the one predicted for that weather, so that what is learnt is a
ratio: how this house differs from the catalogue, not how last winter differed from last summer.
The catalogue's low, typical and high are where belief begins; finished stages move it, and so do
those still waiting, as far as they have waited. What happened in weeks nobody wrote down is left
out. A figure that the grower sets by hand wins over all of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import exp, inf, log, sqrt
from typing import Literal

from cropplan.growth.censored import Belief, Mix, Weighed, mixed_with_waiting
from cropplan.growth.chance import Spread, spread_from
from cropplan.problems import Refusal

__all__ = [
    "Fate",
    "Learnt",
    "Weighed",
    "belief_from",
    "fate",
    "learn",
    "predictive",
    "spread_of",
    "tray_weight",
    "updated",
]

CATALOGUE_WEIGHT = 0.25
"""How many of the house's records the catalogue's typical figure is worth. [-] The share of a
catalogue's doubt that lies between trays of one house against that between houses, when houses
differ by up to 40 % and trays by some 10 %: (0.11 / 0.24)². Common practice, no source;
tests/story/coverage_of_learning.py measures what it gives."""

CATALOGUE_SHAPE = 1.5
"""Half the number of records that the catalogue's span is worth. [-] Common practice, no source;
measured as above."""

LIKENESS = 0.5
"""How alike the plants of one tray are, as a correlation: one batch, one medium, one bench. [-]
Common practice, no source; a tray then counts as one to two records."""

_UNHEARD = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What is known of a stage in this house, as ratios to the predicted duration.

    typical, low, high : half are quicker than typical; eight in ten lie from low to high. [-]
    weight : the records' share in the typical figure, 0 for the bare catalogue, towards 1. [-]
    n_finished, n_waiting : records that were heard.
    basis : whose figure it is: the catalogue's, the house's, or the grower's own.
    spread : the same as a curve, for `stages.forecast` and `stages.given_not_yet`.
    """

    typical: float
    low: float
    high: float
    weight: float
    n_finished: int
    n_waiting: int
    basis: Literal["catalogue", "house", "own"]
    spread: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Fate:
    """How far a stage was followed.

    until : the day it was seen to end, or the last day it was known to be waiting.
    finished : it was seen to end.
    """

    until: date
    finished: bool


def tray_weight(plants: int, likeness: float = LIKENESS) -> float:
    """How many records a tray of so many plants is worth: n / (1 + (n - 1) likeness). [-]

    Source: Kish 1965, Survey Sampling, the design effect of a cluster; a tray enters with its
    plants' middle duration and this weight.
    """
    if plants < 1:
        raise Refusal(f"a tray of {plants} plants says nothing; it needs at least one")
    return plants / (1 + (plants - 1) * likeness)


def fate(
    start: date, seen: date | None, today: date, unrecorded: Sequence[tuple[date, date]]
) -> Fate | None:
    """What the record truly says of a stage, weeks without any record left out.

    seen : the day it was seen to end; None while nobody has seen it.
    unrecorded : first and last day of each stretch in which nothing was written down.

    A stage seen to end on the first day after such a stretch, or in it, may have ended any time
    within; one not seen at all may have. Both were waiting when the stretch began, and no more is
    known. Returns None when even that says nothing: the stage began in or after the stretch that
    hides its end.
    """
    gaps = sorted(gap for gap in unrecorded if gap[1] >= start and gap[0] <= (seen or today))
    if seen is not None:
        hidden = [first for first, last in gaps if first <= seen and (seen - last).days <= 1]
        if not hidden:
            return Fate(until=seen, finished=True)
        return _waiting_until(start, hidden[0])
    return _waiting_until(start, gaps[0][0] if gaps else today)


def _waiting_until(start: date, day: date) -> Fate | None:
    return Fate(until=day, finished=False) if day > start else None


def belief_from(
    low: float,
    typical: float,
    high: float,
    *,
    weight: float = CATALOGUE_WEIGHT,
    shape: float = CATALOGUE_SHAPE,
) -> Belief:
    """The belief that predicts the catalogue's own 80 % span before any record.

    low, typical, high : days or ratios in any one unit; eight in ten lie from low to high.
    weight : how many records the typical figure is worth. [-]
    shape : half the records that the span is worth. [-]
    """
    span = spread_from(low, typical, high, 2 * shape)
    scale = (span.below + span.above) / 2
    return Belief(
        m=log(typical), k=weight, a=shape, b=shape * weight / (weight + 1) * scale * scale
    )


def updated(belief: Belief, finished: Sequence[Weighed]) -> Belief:
    """The belief once finished stages are heard; exact.

    Source: normal-inverse-gamma conjugacy, e.g. Bishop 2006, 2.3.6, each record counted by its
    weight; checked in tests/published/test_growth_learning.py.
    """
    n = sum(row.weight for row in finished)
    if n == 0:
        return belief
    mean = sum(row.weight * log(row.ratio) for row in finished) / n
    squares = sum(row.weight * (log(row.ratio) - mean) ** 2 for row in finished)
    k = belief.k + n
    shift = belief.k * n * (mean - belief.m) ** 2 / (2 * k)
    return Belief(
        m=(belief.k * belief.m + n * mean) / k,
        k=k,
        a=belief.a + n / 2,
        b=belief.b + squares / 2 + shift,
    )


def predictive(belief: Belief) -> Spread:
    """What the belief says of the next stage: the logarithm of its ratio is Student's t."""
    scale = sqrt(belief.b * (belief.k + 1) / (belief.a * belief.k))
    return Spread(median=exp(belief.m), below=scale, above=scale, df=2 * belief.a)


def learn(
    catalogue: tuple[float, float, float],
    finished: Sequence[Weighed],
    waiting: Sequence[Weighed],
    *,
    success: float = 1.0,
    own: tuple[float, float, float] | None = None,
) -> Learnt:
    """What is known of a stage in this house.

    catalogue : low, typical and high as ratios to the predicted duration, the middle one 1. [-]
    finished : ratios of stages seen to end. [-]
    waiting : ratios so far of stages that have not, none of 0. [-]
    success : share that ends at all; a cutting long overdue may be one that never roots, and is
        heard only by its chance of being one that does. Above 0, to 1. [-]
    own : low, typical, high that the grower has set; they win. [-]
    """
    heard = {"n_finished": len(finished), "n_waiting": len(waiting)}
    if own is not None:
        return _learnt(spread_from(*own, inf), weight=0.0, basis="own", **heard)
    if not finished and not waiting:
        return _learnt(spread_from(*catalogue, inf), weight=0.0, basis="catalogue", **heard)
    prior = belief_from(*catalogue)
    belief = updated(prior, finished)
    spread = predictive(belief)
    telling = _telling(waiting, spread, success)
    if telling:
        mix = mixed_with_waiting(belief, telling)
        spread = spread_of(mix, df=2 * belief.a)
    return _learnt(spread, weight=1 - prior.k / belief.k, basis="house", **heard)


def _telling(waiting: Sequence[Weighed], spread: Spread, success: float) -> list[Weighed]:
    """Those that might have ended by now, each weighed by its chance of ending at all."""
    rows = []
    for row in waiting:
        left = spread.still_waiting(row.ratio)
        coming = success * left / (success * left + 1 - success) if success < 1 else 1.0
        if left < 1 - _UNHEARD and coming > _UNHEARD:
            rows.append(Weighed(ratio=row.ratio, weight=row.weight * coming))
    return rows


def spread_of(mix: Mix, df: float) -> Spread:
    """The spread with a mix's own median and 80 % span, and tails of so many degrees of freedom."""
    low, typical, high = (mix.ratio_at(chance) for chance in (0.1, 0.5, 0.9))
    return spread_from(low, typical, high, df)


def _learnt(
    spread: Spread,
    *,
    weight: float,
    n_finished: int,
    n_waiting: int,
    basis: Literal["catalogue", "house", "own"],
) -> Learnt:
    return Learnt(
        typical=spread.median,
        low=spread.ratio_at(0.1),
        high=spread.ratio_at(0.9),
        weight=weight,
        n_finished=n_finished,
        n_waiting=n_waiting,
        basis=basis,
        spread=spread,
    )
