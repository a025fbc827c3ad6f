"""Clones: which living plants are copies of each other, and what may be taken from which."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from cropplan.catalogue.model import Crop
from cropplan.holding.planting import CLONAL, RAISING, Planting, Stage


def kin_of(planting: Planting, living: Iterable[Planting]) -> list[Planting]:
    """The other living plantings that carry the same clone, by descent or by its name."""
    return [
        other
        for other in living
        if other.tag != planting.tag and other.crop == planting.crop and _alike(planting, other)
    ]


def is_last_of_clone(planting: Planting, living: Iterable[Planting]) -> bool:
    """Whether no other living planting carries the clone; seed and bought plants carry none."""
    return planting.way in CLONAL and not kin_of(planting, living)


def last_of_clone_since(planting: Planting, ended: Iterable[Planting]) -> date | None:
    """Since when a planting is the last of its clone: its own beginning or its last sister's end.

    ended : plantings that ended lately. None when nobody knows.
    """
    own = min(planting.seen.values(), default=planting.started)
    ends = [sister.ended_on for sister in kin_of(planting, ended)]
    return max((day for day in (own, *ends) if day is not None), default=None)


def mothers_for(
    planting: Planting, crop: Crop, living: Iterable[Planting], day: date
) -> list[Planting]:
    """The plants from which its successors may be taken on a day, the best first.

    Of the same clone or name; not barred; long enough in their place. Chosen mothers come first,
    tired plants last, and of the others those with the fewest cuttings behind them.
    """
    same = [planting, *kin_of(planting, living)]
    fit = [p for p in same if p.alive and p.barred_why is None and _old_enough(p, crop, day)]
    return sorted(fit, key=_as_mother)


def _alike(planting: Planting, other: Planting) -> bool:
    same_name = planting.cultivar is not None and planting.cultivar == other.cultivar
    return same_name or planting.clone == other.clone


def _old_enough(planting: Planting, crop: Crop, day: date) -> bool:
    since = planting.seen.get(Stage.SET_OUT)
    wanted = crop.values.get("mother_from")
    if planting.stage in RAISING:
        return False
    return since is None or wanted is None or since + timedelta(days=wanted.typical) <= day


def _as_mother(planting: Planting) -> tuple[bool, bool, int, str]:
    spent = planting.stage is Stage.SPENT
    return not planting.tagged_mother, spent, planting.generation, planting.tag
