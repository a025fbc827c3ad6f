"""All that could be done: every cohort that could be started, every way to end what stands.

A cohort is a number of plants of one crop struck in one week, set out in one kind of place, picked
from one week to another and pulled. The planner decides only how many of each; everything else
about a cohort is worked out here once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cropplan.season.cuttings import reserve
from cropplan.season.demand import CropOption, Mothering, Origin, Season, Standing
from cropplan.season.reach import Reach, reach_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Cohort:
    """Plants that could be struck together and share one fate. Weeks are half open.

    option : index of the way they are raised in the season's options.
    generation : clone generation; None where the crop has no cap on it.
    strike, set_out, first_pick, pulled : weeks of its life; `pulled` may lie past the horizon.
    picks : pick of one plant, from `first_pick` on, up to the horizon. [unit per plant and week]
    fit_from, fit_until : weeks of the horizon in which its plants are fit mothers.
    shoots : cuttings one of its plants gives when fit. [cutting per plant and week]
    cuttings : cuttings kept for each plant. [cutting per plant]
    """

    option: int
    crop: str
    origin: Origin
    kind: str
    tray: str | None
    generation: int | None
    strike: int
    set_out: int
    first_pick: int
    pulled: int
    picks: tuple[float, ...]
    fit_from: int
    fit_until: int
    shoots: float
    cuttings: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """One week in which a standing planting, or part of it, could be pulled.

    standing : index of the planting in the season.
    """

    standing: int
    pulled: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What the planner may choose from: how many of each cohort, how many to each ending.

    reach : how many of each crop could be struck at most.
    """

    cohorts: tuple[Cohort, ...]
    endings: tuple[Ending, ...]
    reach: Reach


def options_of(season: Season, reach: Reach | None = None) -> Options:
    """Every cohort worth starting within the horizon and every ending of what stands.

    reach : how many could be started at most; worked out from mothers and room when None.
    """
    cohorts: list[Cohort] = []
    reach = reach_of(season) if reach is None else reach
    for index, option in enumerate(season.options):
        if _wanted(season, option):
            cohorts.extend(_cohorts_of(season, index, option, reach))
    return Options(
        cohorts=tuple(cohorts),
        reach=reach,
        endings=tuple(
            ending
            for index, planting in enumerate(season.standing)
            for ending in _endings_of(season, index, planting)
        ),
    )


def _wanted(season: Season, option: CropOption) -> bool:
    return option.keep_alive > 0 or any(option.crop in goal.crops for goal in season.goals)


def _cohorts_of(season: Season, index: int, option: CropOption, reach: Reach) -> Iterator[Cohort]:
    for (way, generation), most in reach.most.items():
        if way != index:
            continue
        for strike in range(season.weeks):
            for hold in _holds(season, option, strike) if most[strike] else ():
                for kind in option.kinds:
                    yield from _stays(season, index, kind, generation, strike, hold)


def _holds(season: Season, option: CropOption, strike: int) -> Iterator[int]:
    """Waits in the tray worth considering.

    A longer wait than needed is worth considering only where simply striking later is barred.
    """
    ready = strike + option.tray_weeks[strike]
    longest = option.hold_weeks if option.tray is not None else 0
    waits = [wait for wait in range(longest + 1) if season.may_set_out(ready + wait)]
    for wait in waits:
        if wait == waits[0] or not season.may_start(strike + wait - waits[0]):
            yield wait


def _stays(
    season: Season, index: int, kind: str, generation: int | None, strike: int, hold: int
) -> Iterator[Cohort]:
    option = season.options[index]
    set_out = strike + option.tray_weeks[strike] + hold
    first_pick = strike + option.lead_weeks[strike] + hold
    mothering = option.mothering or Mothering(shoots=0.0, fit_from=0, fit_until=0)
    if first_pick >= season.weeks:
        return
    for stay in sorted(set(option.stays)):
        pulled = first_pick + stay
        while pulled < season.weeks and not season.may_pull(pulled):
            pulled += 1
        last = min(pulled, season.weeks)
        yield Cohort(
            option=index,
            crop=option.crop,
            origin=option.origin,
            kind=kind,
            tray=option.tray,
            generation=generation,
            strike=strike,
            set_out=set_out,
            first_pick=first_pick,
            pulled=pulled,
            picks=tuple(
                option.curve[week - first_pick] * option.light[week]
                if week < first_pick + len(option.curve)
                else 0.0
                for week in range(first_pick, last)
            ),
            fit_from=max(set_out + mothering.fit_from, strike + 1),
            fit_until=min(last, set_out + mothering.fit_until),
            shoots=mothering.shoots,
            cuttings=reserve(option.success, option.certainty),
        )
        if pulled >= season.weeks:
            return


def _endings_of(season: Season, index: int, planting: Standing) -> Iterator[Ending]:
    if planting.pull_early:
        last = min(planting.until, season.weeks)
        may = [w for w in range(max(0, planting.set_out), last) if season.may_pull(w)]
        for week in may[:: season.pull_step]:
            yield Ending(standing=index, pulled=week)
    yield Ending(standing=index, pulled=planting.until)
