"""Absences: what must go on, what is brought forward, and what waits without becoming late."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from cropplan.catalogue.model import Trigger
from cropplan.holding.house import Absence
from cropplan.schedule.call import Call
from cropplan.schedule.wording import day_text

#: No cuttings are struck so shortly before going away, for nobody would tend them. [d]
#: Common practice, no source.
NO_STRIKES_BEFORE = 10


def around_absences(call: Call, absences: Sequence[Absence], today: date) -> Call:
    """The call as the absences of its house leave it.

    Survival work goes on. What would fall due while away is brought forward to the day before, as
    long as that day is still to come; otherwise it waits for the day of return, and is not late.
    """
    if call.duty.survival:
        return call
    for absence in sorted(absences, key=lambda a: a.first):
        if absence.house in {None, call.house}:
            call = _around(call, absence, today)
    return call


def _around(call: Call, absence: Absence, today: date) -> Call:
    window = call.window
    leaving = absence.first - timedelta(days=1)
    back = absence.last + timedelta(days=1)
    strikes = call.duty.trigger is Trigger.REPLACE
    first = absence.first - timedelta(days=NO_STRIKES_BEFORE if strikes else 0)
    if today > absence.last:
        # Back home: what came due while away counts from the day of return.
        if absence.first <= window.latest < back:
            return _moved(call, max(window.due, min(back, today)), max(window.latest, back), "")
        return call
    if not first <= window.due < back:
        return call
    if not strikes and today <= leaving:
        why = f"before going away on {day_text(absence.first)}"
        return _moved(call, leaving, max(leaving, min(window.latest, leaving)), why)
    return _moved(call, back, max(window.latest, back), f"waits until {day_text(back)}, away")


def _moved(call: Call, due: date, latest: date, why: str) -> Call:
    window = call.window
    said = f"{why}; {window.why}" if why else window.why
    moved = replace(
        window, due=due, earliest=min(window.earliest, due), latest=max(latest, due), why=said
    )
    return replace(call, window=moved)
