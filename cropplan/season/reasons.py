"""Why a goal stays thin in some weeks, and the cheapest thing that would help.

Each cause is tried by lifting it alone: earlier striking, more mothers, more tray room, more
places, midsummer light. A cause that would close a tenth or more of what is missing is named, with
how much it would close and what that takes. When none helps alone, they are lifted together.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import ceil

from cropplan.season.demand import CropOption, Goal, Origin, Season
from cropplan.season.draft import Draft
from cropplan.season.forecast import first_reachable
from cropplan.season.ledger import Ledger, ledger_of
from cropplan.season.options import Cohort, Options, options_of
from cropplan.season.reach import generation_cap, shoots_standing, unlimited_reach
from cropplan.season.simulate import Account, account, option_of

THIN = 0.1  # A week short by more than this share of its goal is thin. [1]
_WORTH_NAMING = 0.1
_MOST_PLANTS = 60


class Cause(Enum):
    """What keeps a goal from being met."""

    TIME = "time"
    MOTHERS = "mothers"
    TRAYS = "tray room"
    PLACES = "places"
    LIGHT = "light"


class Remedy(Enum):
    """What would help, cheapest first. Common practice, no source."""

    BRING_IN = "bring some in first"
    FILLER = "pick a quicker crop meanwhile"
    EARLIER = "strike earlier next time"
    MOTHERS = "keep more mother plants"
    TRAYS = "make more tray room"
    PLACES = "add places"
    LAMPS = "light with lamps"


@dataclass(frozen=True, slots=True)
class Reason:
    """One cause, how much of the missing amount lifting it would close, and what that takes.

    closes : amount. [unit] number : plants, positions, places or weeks the remedy needs.
    subject : the crop or place kind it is about.
    """

    cause: Cause
    closes: float
    remedy: Remedy
    number: int
    subject: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Thin:
    """Weeks in a row in which a goal is missed by more than a tenth.

    missing : amount missed over those weeks. [unit] reasons : cheapest remedy first; none when
        the goal is missed only because others count for more.
    """

    goal: str
    from_week: int
    until_week: int
    missing: float
    reasons: tuple[Reason, ...]


def thin_weeks(season: Season, draft: Draft) -> tuple[Thin, ...]:
    """Every run of thin weeks, with its reasons."""
    done = account(season, draft)
    options = options_of(season, unlimited_reach(season))
    found = []
    for index, goal in enumerate(season.goals):
        none = not any(_has_stock(season, option) for option in season.options_for(goal))
        for first, until in _runs(season, goal, done.picks[index]):
            missing = sum(goal.amount - done.picks[index][week] for week in range(first, until))
            found.append(
                Thin(
                    goal=goal.name,
                    from_week=first,
                    until_week=until,
                    missing=missing,
                    reasons=(_bring_in(goal, missing),)
                    if none
                    else _reasons(season, options, draft, done, index, (first, until)),
                )
            )
    return tuple(found)


def _runs(season: Season, goal: Goal, picks: tuple[float, ...]) -> list[tuple[int, int]]:
    runs = []
    first = None
    last = min(goal.until_week, season.weeks)
    for week in range(goal.from_week, last + 1):
        thin = week < last and picks[week] < (1.0 - THIN) * goal.amount
        if thin and first is None:
            first = week
        elif not thin and first is not None:
            runs.append((first, week))
            first = None
    return runs


def _has_stock(season: Season, option: CropOption) -> bool:
    """Whether anything stands that cuttings may be taken from, or needs to."""
    cap = generation_cap(season, option.crop)
    return option.origin is not Origin.STRUCK or any(
        any(shoots)
        for (crop, generation), shoots in shoots_standing(season).items()
        if crop == option.crop and (cap is None or (generation or 0) < cap)
    )


def _bring_in(goal: Goal, missing: float) -> Reason:
    """Nothing can be started for the goal: no mother stands in time, and nothing can be sown."""
    return Reason(Cause.MOTHERS, missing, Remedy.BRING_IN, 1, " or ".join(goal.crops))


def _reasons(
    season: Season,
    options: Options,
    draft: Draft,
    done: Account,
    index: int,
    span: tuple[int, int],
) -> tuple[Reason, ...]:
    goal = season.goals[index]
    missing = [max(0.0, goal.amount - done.picks[index][week]) for week in range(*span)]
    total = sum(missing)
    found = []
    reachable = first_reachable(season, goal.crops)
    if reachable > span[0]:
        found.extend(_too_late(season, goal, span, missing, reachable))
    light = _more_light(season, draft, index, span, done)
    if light > _WORTH_NAMING * total:
        found.append(Reason(Cause.LIGHT, light, Remedy.LAMPS, 1, goal.name))
    alone = [
        reason
        for cause in (Cause.MOTHERS, Cause.TRAYS, Cause.PLACES)
        for reason in _lifted(season, options, draft, index, span, {cause})
        if reason.closes > _WORTH_NAMING * total
    ]
    if not alone and not found:
        every = {Cause.MOTHERS, Cause.TRAYS, Cause.PLACES}
        alone = _lifted(season, options, draft, index, span, every)
    found.extend(alone)
    return tuple(sorted(found, key=lambda each: list(Remedy).index(each.remedy)))


def _too_late(
    season: Season, goal: Goal, span: tuple[int, int], missing: list[float], reachable: int
) -> list[Reason]:
    """Weeks before anything started now can be picked: only earlier striking would have helped."""
    late = sum(missing[: reachable - span[0]])
    found = [
        Reason(
            Cause.TIME, late, Remedy.EARLIER, reachable - max(span[0], 0), " or ".join(goal.crops)
        )
    ]
    quick = [
        (first_reachable(season, (option.crop,)), option.crop)
        for option in season.options
        if option.crop not in goal.crops
    ]
    first, crop = min(quick, default=(season.weeks, ""))
    if first < min(reachable, span[1]):
        found.append(
            Reason(
                Cause.TIME,
                sum(missing[max(0, first - span[0]) : reachable - span[0]]),
                Remedy.FILLER,
                first,
                crop,
            )
        )
    return found


def _more_light(
    season: Season, draft: Draft, index: int, span: tuple[int, int], done: Account
) -> float:
    """Amount that the plants of the plan would add in full light. [unit]"""
    goal = season.goals[index]
    closes = 0.0
    for week in range(*span):
        dull = 0.0
        for strike in draft.strikes:
            option = option_of(season, strike)
            age = week - strike.first_pick
            picked = strike.first_pick <= week < strike.pulled and age < len(option.curve)
            if picked and season.goal_of(strike.crop, week) == index:
                dull += strike.plants * option.curve[age] * max(0.0, 1.0 - option.light[week])
        closes += min(dull, max(0.0, goal.amount - done.picks[index][week]))
    return closes


def _lifted(
    season: Season,
    options: Options,
    draft: Draft,
    index: int,
    span: tuple[int, int],
    lifted: set[Cause],
) -> list[Reason]:
    """What adding plants would close if some limits were lifted, and how far they are passed."""
    ledger = ledger_of(season, options, draft)
    before = _missing(ledger, index, span)
    candidates = [
        number
        for number, cohort in enumerate(options.cohorts)
        if cohort.crop in season.goals[index].crops
        and cohort.first_pick < span[1]
        and cohort.pulled > span[0]
    ]
    for _ in range(_MOST_PLANTS):
        best = _best_extra(ledger, candidates, index, span, lifted)
        if best is None:
            break
        ledger.plant(best, 1)
    closes = before - _missing(ledger, index, span)
    return _passed(season, ledger, closes) if closes > 0.0 else []


def _missing(ledger: Ledger, index: int, span: tuple[int, int]) -> float:
    return sum(max(0.0, ledger.missing[index][week]) for week in range(*span))


def _best_extra(
    ledger: Ledger, candidates: list[int], index: int, span: tuple[int, int], lifted: set[Cause]
) -> int | None:
    """The cohort of which one more plant closes most in the span, within the limits that hold."""
    most, found = 1e-6, None
    missing = ledger.missing[index]
    for number in candidates:
        cohort = ledger.options.cohorts[number]
        gain = sum(
            min(cohort.picks[week - cohort.first_pick], max(0.0, missing[week]))
            for week in range(max(span[0], cohort.first_pick), min(span[1], cohort.pulled))
        )
        if gain > most and _fits(ledger, cohort, lifted):
            most, found = gain, number
    return found


def _fits(ledger: Ledger, cohort: Cohort, lifted: set[Cause]) -> bool:
    return (
        (Cause.PLACES in lifted or ledger.has_place(cohort))
        and (Cause.TRAYS in lifted or ledger.has_tray(cohort))
        and (Cause.MOTHERS in lifted or ledger.has_shoots(cohort))
    )


def _passed(season: Season, ledger: Ledger, closes: float) -> list[Reason]:
    """A reason for each limit that the added plants pass, with by how much."""
    found = []
    gives = {
        option.crop: option.mothering.shoots
        for option in season.options
        if option.mothering is not None and option.mothering.shoots > 0
    }
    for (crop, _), left in ledger.shoots.items():
        lack = -min(left)
        if lack > 1e-6:
            number = ceil(lack / gives[crop] - 1e-6) if crop in gives else ceil(lack)
            found.append(Reason(Cause.MOTHERS, closes, Remedy.MOTHERS, number, crop))
    trays = {option.tray for option in season.options}
    for kind, left in ledger.room.items():
        lack = -min(left)
        if lack > 1e-6:
            cause, remedy = Cause.PLACES, Remedy.PLACES
            if kind in trays:
                cause, remedy = Cause.TRAYS, Remedy.TRAYS
            found.append(Reason(cause, closes, remedy, ceil(lack - 1e-6), kind))
    return found
