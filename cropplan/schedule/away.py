"""Absences: what must go on, what is brought forward, and what waits without becoming late."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta

from cropplan.catalogue.model import Trigger
from cropplan.holding.house import Absence
from cropplan.holding.span import Basis
from cropplan.schedule.call import Call, Window
from cropplan.schedule.wording import day_text

#: No cuttings are struck so shortly before going away, for nobody would tend them. [d]
#: Common practice, no source.
NO_STRIKES_BEFORE = 10

_DAY = timedelta(days=1)


def around_absences(call: Call, absences: Iterable[Absence], today: date) -> Call:
    """An open turn as the absences of its house leave it.

    Survival work goes on. What would fall due while away is brought forward to the day before, as
    long as that day is still to come and the plants may be ready by then; otherwise it waits for
    the day of return, and is not late.
    """
    for away in _of_house(call, absences):
        call = _around(call, away, today)
    return call


def after_absences(call: Call, absences: Iterable[Absence]) -> Call:
    """A turn that follows an open one: what would fall within an absence waits for the return."""
    for away in _of_house(call, absences):
        if _held_from(call, away) <= call.window.due <= away.last:
            call = _waiting(call, away)
    return call


def _of_house(call: Call, absences: Iterable[Absence]) -> Iterator[Absence]:
    """The absences that concern a call, in order, those that touch made one."""
    if call.duty.survival:
        return
    joined: Absence | None = None
    for away in sorted(absences, key=lambda a: a.first):
        if away.house not in {None, call.house}:
            continue
        if joined is not None and away.first <= joined.last + _DAY:
            joined = replace(joined, last=max(joined.last, away.last))
            continue
        if joined is not None:
            yield joined
        joined = away
    if joined is not None:
        yield joined


def _around(call: Call, away: Absence, today: date) -> Call:
    window, leaving = call.window, away.first - _DAY
    held_from = _held_from(call, away)
    if today > away.last:
        fell_due = away.holds(window.due) or away.holds(window.latest)
        return replace(call, window=_from_return(window, away)) if fell_due else call
    if window.due > away.last or (window.due < held_from and today < held_from):
        return call
    ready = window.basis is not Basis.PREDICTED or window.earliest <= leaving
    if call.duty.trigger is Trigger.REPLACE or today > leaving or not ready:
        return _waiting(call, away)
    why = f"before going away on {day_text(away.first)}; {window.why}"
    sooner = replace(
        window, due=leaving, earliest=min(window.earliest, leaving), latest=leaving, why=why
    )
    return replace(call, window=sooner)


def _held_from(call: Call, away: Absence) -> date:
    """From when on work of this kind is left alone: new cuttings need care for some days."""
    before = NO_STRIKES_BEFORE if call.duty.trigger is Trigger.REPLACE else 0
    return away.first - timedelta(days=before)


def _waiting(call: Call, away: Absence) -> Call:
    window = _from_return(call.window, away)
    why = f"waits until {day_text(window.due)}, away; {window.why}"
    return replace(call, window=replace(window, why=why))


def _from_return(window: Window, away: Absence) -> Window:
    """The window as it counts from the day of return, with the slack it had."""
    back = away.last + _DAY
    latest = max(window.latest, back + (window.latest - window.due))
    return replace(window, due=back, latest=latest)
