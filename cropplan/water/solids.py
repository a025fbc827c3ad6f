"""Solid waste from feed: how much there is, how much a filter keeps, and where it may go."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date, timedelta

from cropplan.problems import Refusal


def dry_solids(feed: float, solids_share: float) -> float:
    """Dry solid waste that feed turns into.

    feed : feed given. [g]
    solids_share : dry solids in the water for each unit of feed, 0 to 1. [g/g]
    Returns dry solids. [g]
    Raises Refusal for negative feed or a share outside 0 to 1.
    """
    _refuse_bad_share("solids from feed", solids_share)
    if not feed >= 0:
        raise Refusal(f"feed {feed:g} g cannot be below zero")
    return feed * solids_share


def caught_solids(solids: float, caught_share: float) -> float:
    """Dry solids that a filter keeps back, by the share its kind is known to catch. [g]"""
    _refuse_bad_share("solids caught", caught_share)
    return solids * caught_share


def mineralised_between(filled: date, *, low_days: int, high_days: int) -> tuple[date, date]:
    """First and likely last day on which drained solids are mineralised under strong air.

    filled : day the vessel was filled.
    low_days, high_days : time in the aerated vessel. [d]
    Source of the usual 8 to 10 days: Hager, Bright, Dusci, Tidwell 2021, Aquaponics Production
    Manual, Kentucky State University.
    """
    if not 0 < low_days <= high_days:
        raise Refusal(f"mineralising takes {low_days} to {high_days} d: the lower figure is first")
    return filled + timedelta(days=low_days), filled + timedelta(days=high_days)


def bed_doses(amount: float, bed_areas: Mapping[str, float]) -> dict[str, float]:
    """Drained solids shared out over beds by their area.

    amount : what there is to give, in any one unit.
    bed_areas : area by the bed's code. [m²]
    Returns the dose of each bed, in the unit of the amount.
    Raises Refusal when the beds have no area.
    """
    total = math.fsum(bed_areas.values())
    if not total > 0:
        raise Refusal("there is no bed area to give the solids to")
    return {code: amount * area / total for code, area in bed_areas.items()}


def _refuse_bad_share(what: str, share: float) -> None:
    if not 0 <= share <= 1:
        raise Refusal(f"{what} {share:g} is outside 0 to 1; 25 % is 0.25")
