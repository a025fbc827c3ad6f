"""What entries about houses, loops, places and the grower's own duties do."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from cropplan.holding.entry import (
    DutyAdded,
    DutySet,
    DutyStopped,
    Fed,
    LoopSet,
    LoopTurned,
    PlaceRetired,
    PlacesAdded,
    PlaceSet,
    SetBack,
    Tended,
    Tested,
    WentAway,
)
from cropplan.holding.growing import open_place
from cropplan.holding.holding import DutySetting, Holding, LastTest
from cropplan.holding.loop import Loop
from cropplan.holding.place import Care, Place
from cropplan.problems import Refusal, did_you_mean


def loop_called(holding: Holding, name: str) -> Loop:
    """The loop of that name; Refusal when there is none."""
    loop = holding.loops.get(name)
    if loop is None:
        raise Refusal(f"no water loop is called '{name}'{did_you_mean(name, holding.loops)}")
    return loop


def loop_set(holding: Holding, act: LoopSet) -> Holding:
    """The holding with a loop put in or changed."""
    if act.loop.house not in holding.houses:
        raise Refusal(f"no house is called '{act.loop.house}'")
    return replace(holding, loops={**holding.loops, act.loop.name: act.loop})


def loop_turned(holding: Holding, act: LoopTurned) -> Holding:
    """The holding with a loop stocked, fallow or cycling."""
    loop = replace(loop_called(holding, act.loop), state=act.state)
    return replace(holding, loops={**holding.loops, loop.name: loop})


def places_added(holding: Holding, act: PlacesAdded) -> Holding:
    """The holding with new places, at the end of their house's walking order."""
    if act.house not in holding.houses:
        raise Refusal(f"no house is called '{act.house}'{did_you_mean(act.house, holding.houses)}")
    if act.holds < 1:
        raise Refusal(f"a place holds at least 1 plant, got {act.holds}")
    if act.loop is not None:
        loop_called(holding, act.loop)
    places = dict(holding.places)
    walk = max((p.walk for p in places.values() if p.house == act.house), default=0)
    for code in act.codes:
        if code in places:
            raise Refusal(f"the place '{code}' is there already, in {places[code].house}")
        walk += 1
        places[code] = Place(
            code=code,
            house=act.house,
            kind=act.kind,
            holds=act.holds,
            medium=act.medium,
            filled=act.filled,
            loop=act.loop,
            walk=walk,
        )
    return replace(holding, places=places)


def place_set(holding: Holding, act: PlaceSet, day: date) -> Holding:
    """The holding with what is known of a place put right."""
    place = open_place(holding, act.place, day)
    if act.holds is not None and act.holds < 1:
        raise Refusal(f"a place holds at least 1 plant, got {act.holds}")
    if act.loop is not None:
        loop_called(holding, act.loop)
    place = replace(
        place,
        holds=act.holds or place.holds,
        medium=act.medium or place.medium,
        filled=act.filled or place.filled,
        loop=act.loop or place.loop,
    )
    return replace(holding, places={**holding.places, place.code: place})


def place_retired(holding: Holding, act: PlaceRetired, day: date) -> Holding:
    """The holding with a place out of service; its plants must have been moved or pulled."""
    place = open_place(holding, act.place, day)
    standing = holding.standing_in(act.place)
    if standing:
        tags = ", ".join(p.tag for p in standing)
        raise Refusal(f"{act.place} cannot be retired while {tags} stands there; move it first")
    return replace(holding, places={**holding.places, act.place: replace(place, retired_on=day)})


def tended(holding: Holding, act: Tended, day: date) -> Holding:
    """The holding after media work: a change restarts the age, disinfecting lifts suspicion."""
    places = dict(holding.places)
    for code in act.places:
        place = open_place(holding, code, day)
        if act.care is Care.CHANGE:
            filled = day if place.filled is None else max(place.filled, day)
            place = replace(place, filled=filled, medium=act.medium or place.medium)
        if act.care in {Care.CHANGE, Care.DISINFECT}:
            place = replace(place, disease_on=None)
        places[code] = place
    return replace(holding, places=places)


def fed(holding: Holding, act: Fed, day: date, by: str | None) -> Holding:
    """The holding after a feed; the grams add to what the filter has had since it was drained."""
    loop = loop_called(holding, act.loop)
    if act.grams is not None and act.grams < 0:
        raise Refusal(f"a feed cannot be {act.grams:g} g")
    loop = replace(
        loop,
        last_fed=day if loop.last_fed is None else max(loop.last_fed, day),
        last_fed_by=by,
        fed_since_drain_g=loop.fed_since_drain_g + (act.grams or 0.0),
    )
    return replace(holding, loops={**holding.loops, loop.name: loop})


def drained(holding: Holding, name: str) -> Holding:
    """The holding after the solids of a loop were drained."""
    loop = replace(loop_called(holding, name), fed_since_drain_g=0.0)
    return replace(holding, loops={**holding.loops, name: loop})


def tested(holding: Holding, act: Tested, day: date) -> Holding:
    """The holding with the newest value of each test; an older one written late is history."""
    loop_called(holding, act.loop)
    tests = dict(holding.tests)
    for key, value in act.values.items():
        known = tests.get((act.loop, key))
        if known is None or known.day <= day:
            tests[act.loop, key] = LastTest(loop=act.loop, key=key, value=value, day=day)
    return replace(holding, tests=tests)


def duty_added(holding: Holding, act: DutyAdded) -> Holding:
    """The holding with a duty of the grower's own."""
    if act.duty.id in holding.own_duties:
        raise Refusal(f"the duty '{act.duty.id}' is there already")
    return replace(holding, own_duties={**holding.own_duties, act.duty.id: act.duty})


def duty_set(holding: Holding, act: DutySet) -> Holding:
    """The holding with the grower's own interval for a duty."""
    if act.every_days is not None and act.every_days < 1:
        raise Refusal(f"an interval is at least 1 day, got {act.every_days}")
    own = holding.own_duties.get(act.duty)
    if own is not None:
        if own.rule is not None:
            raise Refusal(f"{act.duty} falls on fixed days ({own.rule}); stop it and add another")
        if act.every_days is None:
            raise Refusal(f"{act.duty} is your own duty and needs an interval of its own")
        changed = replace(own, every_days=act.every_days)
        return replace(holding, own_duties={**holding.own_duties, own.id: changed})
    setting = DutySetting(duty=act.duty, every_days=act.every_days)
    return replace(holding, settings={**holding.settings, act.duty: setting})


def duty_stopped(holding: Holding, act: DutyStopped) -> Holding:
    """The holding in which a duty is no longer wanted."""
    known = holding.settings.get(act.duty)
    setting = replace(known or DutySetting(duty=act.duty), stopped=True)
    return replace(holding, settings={**holding.settings, act.duty: setting})


def set_back(holding: Holding, act: SetBack) -> Holding:
    """The holding with days of growth lost."""
    lost = act.setback
    if lost.house not in holding.houses:
        near = did_you_mean(lost.house, holding.houses)
        raise Refusal(f"no house is called '{lost.house}'{near}")
    if not 1 <= lost.days <= 60:
        raise Refusal(f"a setback costs 1 to 60 days of growth, got {lost.days}")
    return replace(holding, setbacks=(*holding.setbacks, lost))


def went_away(holding: Holding, act: WentAway) -> Holding:
    """The holding with a time away."""
    away = act.absence
    if away.last < away.first:
        raise Refusal(f"away from {away.first} to {away.last}: the end is before the beginning")
    return replace(holding, absences=(*holding.absences, away))
