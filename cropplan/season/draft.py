"""A plan as the planner decides it: what is struck when, and when each standing planting ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cropplan.season.demand import Origin, Season
from cropplan.season.options import Options


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """Plants of one crop started together for one fate. Weeks count from now; spans are half open.

    plants : plants to be set out, which is fewer than the cuttings struck. [plant]
    strike, set_out, first_pick, pulled : weeks of their life. [week]
    generation : clone generation; None where the crop has no cap on it.
    """

    crop: str
    origin: Origin
    kind: str
    tray: str | None
    plants: int
    strike: int
    set_out: int
    first_pick: int
    pulled: int
    generation: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Keep:
    """Plants of a standing planting that are kept until the week they are pulled."""

    tag: str
    plants: int
    pulled: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """All that is decided; everything else about a plan follows from it."""

    strikes: tuple[Strike, ...]
    keeps: tuple[Keep, ...]


def draft_of(season: Season, options: Options, counts: Sequence[int]) -> Draft:
    """The draft that a count for each cohort, then for each ending, stands for.

    A planting that does not split has a count of 1 for its one ending.
    """
    strikes = tuple(
        Strike(
            crop=cohort.crop,
            origin=cohort.origin,
            kind=cohort.kind,
            tray=cohort.tray,
            plants=count,
            strike=cohort.strike,
            set_out=cohort.set_out,
            first_pick=cohort.first_pick,
            pulled=cohort.pulled,
            generation=cohort.generation,
        )
        for cohort, count in zip(options.cohorts, counts, strict=False)
        if count
    )
    keeps = []
    for ending, count in zip(options.endings, counts[len(options.cohorts) :], strict=True):
        if count:
            planting = season.standing[ending.standing]
            plants = count if planting.splits else planting.count
            keeps.append(Keep(tag=planting.tag, plants=plants, pulled=ending.pulled))
    return Draft(strikes=strikes, keeps=tuple(keeps))
