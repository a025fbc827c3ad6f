"""Waits that a treatment, or solids on a bed, put on what is picked and on the water itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from cropplan.holding.loop import Loop
from cropplan.holding.place import Place
from cropplan.holding.task import SubjectKind
from cropplan.holding.turns import PICK
from cropplan.schedule.call import Call
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text

_RAW_WASTE = "raw-fish-waste-on-food"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A wait: until when, which is the first day it no longer holds, and why."""

    until: date
    why: str


def held_call(scene: Scene, call: Call) -> Call:
    """A pick as the waits on its place leave it: the hold is said first, on the line itself."""
    if call.duty.id != PICK or call.subject.kind is not SubjectKind.PLANTING:
        return call
    place = scene.holding.places[call.places[0]]
    waits = list(holds_on(scene, place))
    cautions = call.cautions
    if place.solids_on is not None:
        cautions = (*cautions, _RAW_WASTE)
    if not waits:
        return replace(call, cautions=cautions)
    longest = max(waits, key=lambda hold: hold.until)
    told = f"HOLD, not to be eaten before {day_text(longest.until, scene.today)}: {longest.why}"
    window = replace(call.window, why=f"{told}; {call.window.why}")
    return replace(call, window=window, cautions=cautions)


def holds_on(scene: Scene, place: Place) -> Iterator[Hold]:
    """The waits that hold today for what is picked from a place."""
    loop = scene.holding.loops.get(place.loop or "")
    for hold in (_treated(loop), _solids(scene, place)):
        if hold is not None and hold.until > scene.today:
            yield hold


def water_hold(loop: Loop, today: date) -> Hold | None:
    """Why the water of a loop is not to be used today; None when it may be."""
    until = loop.no_water_until
    if until is None or until <= today:
        return None
    return Hold(until=until, why=f"{loop.name} was treated with {loop.treated_with}")


def banner(loop: Loop, today: date) -> str | None:
    """What everyone must know of a treated loop; None once no wait holds."""
    waits = []
    if loop.no_eat_until is not None and loop.no_eat_until > today:
        waits.append(f"eat no fish and no crop of it before {day_text(loop.no_eat_until, today)}")
    if loop.no_water_until is not None and loop.no_water_until > today:
        waits.append(f"use none of its water before {day_text(loop.no_water_until, today)}")
    if not waits:
        return None
    return f"{loop.name} is treated ({loop.treated_with}): {'; '.join(waits)}"


def _treated(loop: Loop | None) -> Hold | None:
    """The wait on crops of a treated loop: while it is not to be eaten from, nor its water used."""
    if loop is None:
        return None
    days = [day for day in (loop.no_eat_until, loop.no_water_until) if day is not None]
    if not days:
        return None
    return Hold(until=max(days), why=f"{loop.name} was treated with {loop.treated_with}")


def _solids(scene: Scene, place: Place) -> Hold | None:
    """The wait of the grower's own choosing after solids; none unless it is set."""
    wait = scene.holding.houses[place.house].solids_wait_days
    if wait is None or place.solids_on is None:
        return None
    on = day_text(place.solids_on, scene.today)
    return Hold(
        until=place.solids_on + timedelta(days=wait),
        why=f"solids went on {place.code} on {on}, your wait is {wait} days; check your authority",
    )
