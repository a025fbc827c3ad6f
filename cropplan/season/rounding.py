"""Rounding cuts: rows that every whole plan keeps and that plans of divided plants break.

Take a row a·x + s ≥ b of whole columns x ≥ 0 and divisible columns s ≥ 0, divided through by some
d > 0. Call f the part of b beyond its floor, g that of a column's a. Then every whole plan keeps

    Σ (⌊a⌋ + min(1, g / f)) x + Σ_{coefficient > 0} (coefficient / f) s ≥ ⌈b⌉

(the mixed-integer rounding inequality: Nemhauser & Wolsey 1988, Integer and Combinatorial
Optimization, II.1.7). Why: raise to ⌈a⌉ the columns with g ≥ f, and move the rest, with all of s,
into one divisible r ≥ 0 beside a whole y = Σ ⌊a⌋x + Σ_{g ≥ f} x. Then y + r ≥ b, so that either
y ≥ ⌈b⌉, or ⌈b⌉ - y is a whole number k ≥ 1 and r ≥ f + k - 1 ≥ f k, as f ≤ 1. So
y + r / f ≥ ⌈b⌉, which is the row above. Divisible columns that only lower the row are left out,
which can but raise it.

A goal-week of 1.6 with plants that give 1 so knows that one plant is not 0.6 of two; a tray of 8
that it holds no 5⅓ plants of 1.5 cuttings.

Measured on 104 weeks and 150 places, processor seconds: seed 0, tight 0.9: from 498.21 (after 5.7)
to 502.85 (after 9.0), to which the solver's own cuts and tree added 0.03 in a minute. On 52 weeks
and 30 places (seed 2, tight 0.9): from 98.36 to 100.51, and the solver's root, on four seeds of its
own, from 101.25 in the mean to 101.70; the optimum lies between 102.5 and 103.4.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from cropplan.season.programme import Arrays, Divided

_ROUNDS = 6
_MOST = 600  # Cuts taken a round.
_NEAREST = 0.01  # f nearer to a whole number than this makes coefficients too large.
_BROKEN = 1e-3  # Least distance of the divided plan from a cut worth taking.
_ALIKE = 0.9  # Cosine above which the weaker of two cuts is left out.
_EASED = 1e-7  # Taken off a cut's right side, for the rounding of the arithmetic.
_STEPS = (1.0, 2.0, 0.5, 3.0, 1.0 / 3.0)  # Divisors, as multiples of the row's own numbers.


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounded:
    """The programme with cuts, and the reduced costs of its columns; None when time ran out."""

    arrays: Arrays
    slopes: Any


def rounded(
    arrays: Arrays, *, left: Callable[[], float], bound: Callable[[float], object]
) -> Rounded:
    """The programme with cuts that its plan of divided plants breaks; the same whole plans.

    left : asked for the time left. [s] bound : told what no plan can cost less than, as it rises.
    """
    divided = Divided(arrays)
    taken: list[Cut] = []
    slopes = None
    for turn in range(_ROUNDS + 1):
        plan = divided.plan(seconds=left())
        if plan is None:
            break
        bound(plan.cost)
        slopes = plan.slopes
        cuts = [] if turn == _ROUNDS else _unlike(_cuts(arrays, plan.values))
        if not cuts:
            break
        taken.extend(cuts)
        for cut in cuts:
            divided.add(cut.least, cut.columns, cut.factors)
    return Rounded(arrays=_with_rows(arrays, taken) if taken else arrays, slopes=slopes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A row that every whole plan keeps: its columns times their factors come to `least` or more.

    far : distance of the divided plan from it. [plant]
    """

    far: float
    columns: Any
    factors: Any
    least: float


def _cuts(arrays: Arrays, values: Any) -> list[Cut]:
    import numpy as np

    order = np.argsort(arrays.row, kind="stable")
    column_of = np.repeat(np.arange(len(arrays.cost)), np.diff(arrays.start))[order]
    value_of = arrays.value[order]
    ends = np.searchsorted(arrays.row[order], np.arange(len(arrays.row_low) + 1))
    cuts: list[Cut] = []
    for row in range(len(arrays.row_low)):
        columns = column_of[ends[row] : ends[row + 1]]
        entries = value_of[ends[row] : ends[row + 1]]
        for sign, least in ((1.0, arrays.row_low[row]), (-1.0, -arrays.row_high[row])):
            if np.isfinite(least):
                cut = cut_of(sign * entries, least, columns, arrays.whole[columns], values[columns])
                cuts.extend([] if cut is None else [cut])
    return sorted(cuts, key=lambda cut: -cut.far)


def cut_of(entries: Any, least: float, columns: Any, whole: Any, values: Any) -> Cut | None:
    """The cut of one row that the divided plan breaks most."""
    import numpy as np

    held = whole & (values > _EASED)
    sizes = np.unique(np.round(np.abs(entries[held]), 9))
    sizes = sizes[sizes > 0.0]
    best: Cut | None = None
    for divisor in np.unique(np.outer(_STEPS, sizes)):
        beyond = least / divisor - np.floor(least / divisor)
        if not _NEAREST <= beyond <= 1.0 - _NEAREST:
            continue
        factors = _factors(entries / divisor, whole, beyond)
        right = float(np.ceil(least / divisor)) - _EASED
        far = (right - float(factors @ values)) / (float(np.linalg.norm(factors)) or 1.0)
        if far > (_BROKEN if best is None else best.far):
            used = factors != 0.0
            best = Cut(
                far=far, columns=columns[used].astype(np.int32), factors=factors[used], least=right
            )
    return best


def _factors(entries: Any, whole: Any, beyond: float) -> Any:
    """Factors of the cut from a row already divided through, whose right side is `beyond` its
    floor."""
    import numpy as np

    floors = np.floor(entries + 1e-9)
    parts = np.maximum(0.0, entries - floors)
    return np.where(
        whole, floors + np.minimum(1.0, parts / beyond), np.maximum(0.0, entries) / beyond
    )


def _unlike(cuts: list[Cut]) -> list[Cut]:
    """The strongest cuts, without those that say nearly the same."""
    import numpy as np

    width = max((int(cut.columns.max()) + 1 for cut in cuts), default=0)
    directions = np.zeros((0, width))
    taken: list[Cut] = []
    for cut in cuts:
        direction = np.zeros(width)
        direction[cut.columns] = cut.factors / np.linalg.norm(cut.factors)
        if (directions @ direction <= _ALIKE).all():
            directions = np.vstack((directions, direction))
            taken.append(cut)
        if len(taken) == _MOST:
            break
    return taken


def _with_rows(arrays: Arrays, cuts: list[Cut]) -> Arrays:
    import numpy as np

    rows = len(arrays.row_low)
    width = len(arrays.cost)
    sizes = [len(cut.columns) for cut in cuts]
    held = np.repeat(np.arange(width), np.diff(arrays.start))
    column = np.concatenate([held] + [cut.columns for cut in cuts])
    row = np.concatenate([arrays.row, np.repeat(np.arange(rows, rows + len(cuts)), sizes)])
    value = np.concatenate([arrays.value] + [cut.factors for cut in cuts])
    order = np.argsort(column, kind="stable")
    return replace(
        arrays,
        start=np.searchsorted(column[order], np.arange(width + 1)).astype(np.int32),
        row=row[order].astype(np.int32),
        value=value[order],
        row_low=np.concatenate((arrays.row_low, [cut.least for cut in cuts])),
        row_high=np.concatenate((arrays.row_high, np.full(len(cuts), np.inf))),
    )
