"""All that could be done: every cohort that could be started, every way to end what stands.

A cohort is a number of plants of one crop struck in one week, set out in one kind of place, picked
from one week to another and pulled. The planner decides only how many of each; everything else
about a cohort is worked out here once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from cropplan.season.cuttings import reserve
from cropplan.season.demand import CropOption, Mothering, Origin, Season, Standing


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
    """What the planner may choose from: how many of each cohort, how many to each ending."""

    cohorts: tuple[Cohort, ...]
    endings: tuple[Ending, ...]


def options_of(season: Season) -> Options:
    """Every cohort worth starting within the horizon and every ending of what stands."""
    cohorts: list[Cohort] = []
    for index, option in enumerate(season.options):
        if _wanted(season, option):
            cohorts.extend(_cohorts_of(season, index, option))
    return Options(
        cohorts=tuple(cohorts),
        endings=tuple(
            ending
            for index, planting in enumerate(season.standing)
            for ending in _endings_of(season, index, planting)
        ),
    )


def mother_class(crop: str, generation: int | None) -> tuple[str, int | None]:
    """The pool of mothers that cuttings of a generation are taken from."""
    return crop, None if generation is None else generation - 1


def capped(season: Season, crop: str) -> int | None:
    """Highest generation of the crop that may be struck; None without a limit."""
    caps = [
        option.mothering.generation_cap
        for option in season.options
        if option.crop == crop
        and option.mothering is not None
        and option.mothering.generation_cap is not None
    ]
    return min(caps) if caps else None


def promised_cuttings(season: Season) -> dict[tuple[str, int | None, int], float]:
    """Cuttings that strikings already decided will take, by crop, mothers' generation and week.

    They are promised no more than the mothers could give if all of them were kept.
    """
    promised: dict[tuple[str, int | None, int], float] = defaultdict(float)
    most: dict[tuple[str, int | None, int], float] = defaultdict(float)
    for planting in season.standing:
        limited = capped(season, planting.crop) is not None
        generation = planting.generation if limited else None
        if planting.struck is not None and planting.struck >= 0:
            pool = mother_class(planting.crop, generation)
            promised[(*pool, planting.struck)] += planting.cuttings
        if planting.propagate:
            for week in range(max(0, planting.fit_from), min(planting.fit_until, planting.until)):
                most[planting.crop, generation, week] += planting.count * planting.shoots
    return {key: min(owed, most[key]) for key, owed in promised.items()}


def _wanted(season: Season, option: CropOption) -> bool:
    return option.keep_alive or any(option.crop in goal.crops for goal in season.goals)


def _cohorts_of(season: Season, index: int, option: CropOption) -> Iterator[Cohort]:
    for generation, earliest in _generations(season, option):
        for strike in range(max(earliest, 0), season.weeks):
            if not season.may_start(strike):
                continue
            for hold in _holds(season, option, strike):
                for kind in option.kinds:
                    yield from _stays(season, index, kind, generation, strike, hold)


def _holds(season: Season, option: CropOption, strike: int) -> Iterator[int]:
    """Waits in the tray worth considering.

    A longer wait than needed is worth considering only where simply striking later is barred.
    """
    ready = strike + option.tray_weeks[strike]
    waits = [h for h in range(option.hold_weeks + 1) if season.may_set_out(ready + h)]
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
            fit_from=set_out + mothering.fit_from,
            fit_until=min(last, set_out + mothering.fit_until),
            shoots=mothering.shoots,
            cuttings=reserve(option.success, option.certainty),
        )
        if pulled >= season.weeks:
            return


def _generations(season: Season, option: CropOption) -> Iterator[tuple[int | None, int]]:
    """Generations the option can give, each with the first week a mother for it is fit."""
    cap = capped(season, option.crop)
    if option.origin is Origin.SOWN:
        yield (0 if cap is not None else None), 0
        return
    first_fit = _first_fit(season, option.crop)
    if cap is None:
        if first_fit:
            yield None, min(first_fit.values())
        return
    for generation in range(1, cap + 1):
        known = first_fit.get(generation - 1)
        if known is not None and known < season.weeks:
            yield generation, known
            start = max(known, season.frozen_weeks)
            grown = _first_fit_of_struck(option, start)
            if grown is not None:
                first_fit[generation] = min(grown, first_fit.get(generation, grown))


def _first_fit(season: Season, crop: str) -> dict[int, int]:
    """First week a standing or sown plant of each generation is a fit mother."""
    first: dict[int, int] = {}
    for planting in season.standing:
        usable = planting.propagate and planting.shoots > 0 and planting.fit_until > 0
        if planting.crop == crop and usable:
            week = max(0, planting.fit_from)
            first[planting.generation] = min(week, first.get(planting.generation, week))
    for option in season.options:
        if option.crop == crop and option.origin is Origin.SOWN:
            grown = _first_fit_of_struck(option, season.frozen_weeks)
            if grown is not None:
                first[0] = min(grown, first.get(0, grown))
    return first


def _first_fit_of_struck(option: CropOption, start: int) -> int | None:
    if option.mothering is None or option.mothering.shoots <= 0:
        return None
    ready = [week + tray for week, tray in enumerate(option.tray_weeks) if week >= start]
    return min(ready) + option.mothering.fit_from if ready else None


def _endings_of(season: Season, index: int, planting: Standing) -> Iterator[Ending]:
    if planting.pull_early:
        first = max(0, season.frozen_weeks, planting.set_out)
        for week in range(first, min(planting.until, season.weeks), season.pull_step):
            if season.may_pull(week):
                yield Ending(standing=index, pulled=week)
    yield Ending(standing=index, pulled=planting.until)
