"""Backward from the pick: the last week to strike, and what can be started in a week."""

from __future__ import annotations

from dataclasses import dataclass

from cropplan.season.demand import CropOption, Season
from cropplan.season.draft import Draft
from cropplan.season.ledger import ledger_of
from cropplan.season.options import options_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Something that can be started in a week, and what comes of it.

    plants : plants there are places, tray room and shoots for. [plant]
    set_out, first_pick : weeks that follow. [week]
    """

    crop: str
    kind: str
    plants: int
    set_out: int
    first_pick: int


def last_strike(season: Season, option: CropOption, first_pick: int) -> int | None:
    """Last week to strike for a first pick no later than wanted; None when it is past. [week]

    first_pick : week the first pick is wanted in. [week]
    A slower time of year may make a later strike pick earlier than one before it; the last of all
    that are in time counts.
    """
    in_time = [
        week
        for week, lead in enumerate(option.lead_weeks)
        if season.may_start(week) and week + lead <= first_pick
    ]
    return max(in_time, default=None)


def startable(season: Season, draft: Draft, week: int) -> tuple[Start, ...]:
    """What could be started in a week beside all that the draft does, soonest pick first."""
    options = options_of(season)
    ledger = ledger_of(season, options, draft)
    found: dict[tuple[str, str], Start] = {}
    for index, cohort in enumerate(options.cohorts):
        if cohort.strike != week:
            continue
        plants = 0
        while ledger.has_place(cohort) and ledger.has_tray(cohort) and ledger.has_shoots(cohort):
            ledger.plant(index, 1)
            plants += 1
        ledger.plant(index, -plants)
        key = (cohort.crop, cohort.kind)
        if plants > (found[key].plants if key in found else 0):
            found[key] = Start(
                crop=cohort.crop,
                kind=cohort.kind,
                plants=plants,
                set_out=cohort.set_out,
                first_pick=cohort.first_pick,
            )
    return tuple(sorted(found.values(), key=lambda start: (start.first_pick, start.crop)))
