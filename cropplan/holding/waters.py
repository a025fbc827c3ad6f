"""What entries about fish water do: feeds, drains, tests, weighings, water added, treatments."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from cropplan.holding.entry import (
    Drained,
    Fed,
    LoopSet,
    LoopTurned,
    Tested,
)
from cropplan.holding.growing import open_place
from cropplan.holding.holding import Holding, LastTest
from cropplan.holding.loop import Loop
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.things import house_called, loop_called, refuse_twin
from cropplan.holding.turns import DRAIN, turn_of
from cropplan.holding.water_acts import ToppedUp, Treated, Weighed
from cropplan.problems import Refusal

#: A feed conversion outside these tells of lost fish or unwritten feeds, and is not kept. [g/g]
#: Common practice, no source.
_BELIEVABLE_FCR = (0.5, 6.0)


def loop_set(holding: Holding, act: LoopSet) -> Holding:
    """The holding with a loop put in or changed; what was done with it so far stays."""
    loop = act.loop
    house_called(holding, loop.house)
    refuse_twin("water loop", loop.name, holding.loops)
    before = holding.loops.get(loop.name)
    if before is not None:
        same = loop.weighed_on == before.weighed_on
        loop = replace(
            loop,
            last_fed=before.last_fed,
            last_fed_by=before.last_fed_by,
            fed_since_drain_g=before.fed_since_drain_g,
            fed_since_weighing_g=before.fed_since_weighing_g if same else 0.0,
            fcr=before.fcr,
            treated_with=before.treated_with,
            no_eat_until=before.no_eat_until,
            no_water_until=before.no_water_until,
            vessel_filled=before.vessel_filled,
        )
    return _with(holding, loop)


def loop_turned(holding: Holding, act: LoopTurned) -> Holding:
    """The holding with a loop stocked, fallow or cycling."""
    return _with(holding, replace(loop_called(holding, act.loop), state=act.state))


def fed(holding: Holding, act: Fed, day: date, by: str | None) -> Holding:
    """The holding after a feed; the grams add to what the filter has had since it was drained.

    A feed written late, from before the last drain, weighing or feed, is history.
    """
    loop = loop_called(holding, act.loop)
    if act.grams is not None and act.grams < 0:
        raise Refusal(f"a feed cannot be {act.grams:g} g")
    drained_on = _last_drained(holding, act.loop)
    if drained_on is None or drained_on <= day:
        loop = replace(loop, fed_since_drain_g=loop.fed_since_drain_g + (act.grams or 0.0))
    if loop.weighed_on is not None and loop.weighed_on <= day:
        loop = replace(loop, fed_since_weighing_g=loop.fed_since_weighing_g + (act.grams or 0.0))
    if loop.last_fed is None or loop.last_fed <= day:
        loop = replace(loop, last_fed=day, last_fed_by=by)
    return _with(holding, loop)


def drained(holding: Holding, act: Drained, day: date) -> Holding:
    """The holding after the solids of a loop were drained; an older drain is history."""
    loop = loop_called(holding, act.loop)
    if act.litres is not None and act.litres < 0:
        raise Refusal(f"a volume of {act.litres:g} L cannot be drained")
    if act.vessel and act.beds:
        raise Refusal("solids go to beds or to the vessel; write two drains for both")
    places = dict(holding.places)
    for code in act.beds:
        place = open_place(holding, code, day)
        if place.solids_on is None or place.solids_on < day:
            places[code] = replace(place, solids_on=day)
    if act.vessel and (loop.vessel_filled is None or loop.vessel_filled < day):
        loop = replace(loop, vessel_filled=day)
    drained_on = _last_drained(holding, act.loop)
    if drained_on is None or drained_on <= day:
        loop = replace(loop, fed_since_drain_g=0.0)
    return _with(replace(holding, places=places), loop)


def _last_drained(holding: Holding, loop: str) -> date | None:
    return turn_of(holding, DRAIN, subject(SubjectKind.LOOP, loop)).last_done


def tested(holding: Holding, act: Tested, day: date) -> Holding:
    """The holding with the newest value of each test; an older one written late is history."""
    loop_called(holding, act.loop)
    tests = dict(holding.tests)
    for key, value in act.values.items():
        known = tests.get((act.loop, key))
        if known is None or known.day <= day:
            tests[act.loop, key] = LastTest(loop=act.loop, key=key, value=value, day=day)
    return replace(holding, tests=tests)


def weighed(holding: Holding, act: Weighed, day: date) -> Holding:
    """The holding after fish were weighed; what they gained on their feed is their conversion."""
    loop = loop_called(holding, act.loop)
    if act.count < 1 or not act.mean_g > 0:
        raise Refusal(f"{act.count} fish of {act.mean_g:g} g each cannot have been weighed")
    if loop.weighed_on is not None and loop.weighed_on > day:
        return holding
    fcr = loop.fcr
    if loop.weighed_on is not None and loop.weight_g is not None and loop.fish:
        gain = (act.mean_g - loop.weight_g) * loop.fish
        low, high = _BELIEVABLE_FCR
        if gain > 0 and low <= loop.fed_since_weighing_g / gain <= high:
            fcr = loop.fed_since_weighing_g / gain
    return _with(
        holding,
        replace(loop, weight_g=act.mean_g, weighed_on=day, fed_since_weighing_g=0.0, fcr=fcr),
    )


def topped_up(holding: Holding, act: ToppedUp) -> Holding:
    """The holding as it was: water added is logged, not held, but it must be of a loop."""
    loop_called(holding, act.loop)
    if not act.litres > 0:
        raise Refusal(f"{act.litres:g} L of water cannot have been added")
    return holding


def treated(holding: Holding, act: Treated) -> Holding:
    """The holding after a treatment; it never shortens the wait after an earlier one."""
    loop = loop_called(holding, act.loop)
    return _with(
        holding,
        replace(
            loop,
            treated_with=act.what,
            no_eat_until=_later(loop.no_eat_until, act.no_eat_until),
            no_water_until=_later(loop.no_water_until, act.no_water_until),
        ),
    )


def _later(one: date | None, other: date | None) -> date | None:
    return max((day for day in (one, other) if day is not None), default=None)


def _with(holding: Holding, loop: Loop) -> Holding:
    return replace(holding, loops={**holding.loops, loop.name: loop})
