"""What entries about houses, places, temperatures and times away do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from cropplan.holding.entry import (
    HouseSet,
    PlaceRetired,
    PlacesAdded,
    PlaceSet,
    SetBack,
    TemperaturesRead,
    Tended,
    WentAway,
)
from cropplan.holding.growing import open_place
from cropplan.holding.handle import plain
from cropplan.holding.holding import Holding
from cropplan.holding.house import House
from cropplan.holding.loop import Loop
from cropplan.holding.place import Care, Place
from cropplan.holding.season import GoalSet
from cropplan.holding.water_acts import WentWithout
from cropplan.problems import Refusal, did_you_mean


def house_called(holding: Holding, name: str) -> House:
    """The house of that name; Refusal when there is none."""
    house = holding.houses.get(name)
    if house is None:
        raise Refusal(f"no house is called '{name}'{did_you_mean(name, holding.houses)}")
    return house


def loop_called(holding: Holding, name: str) -> Loop:
    """The loop of that name; Refusal when there is none."""
    loop = holding.loops.get(name)
    if loop is None:
        raise Refusal(f"no water loop is called '{name}'{did_you_mean(name, holding.loops)}")
    return loop


def house_set(holding: Holding, act: HouseSet) -> Holding:
    """The holding with a house put in or changed. Each has a number of its own, for handles."""
    house = act.house
    refuse_twin("house", house.name, holding.houses)
    for other in holding.houses.values():
        if other.number == house.number and other.name != house.name:
            raise Refusal(f"house number {house.number} is {other.name}; give {house.name} another")
    for normals in (house.outside_low_c, house.outside_high_c, house.clearness):
        if len(normals) not in {0, 12}:
            raise Refusal(f"normals are 12 figures, January to December; got {len(normals)}")
    if len(house.outside_low_c) != len(house.outside_high_c):
        raise Refusal("normals need both lows and highs; only one of the two is given")
    before = holding.houses.get(house.name)
    if before is not None:
        house = replace(house, failed=before.failed, failed_on=before.failed_on)
    return replace(holding, houses={**holding.houses, house.name: house})


def went_without(holding: Holding, act: WentWithout, day: date) -> Holding:
    """The holding after the power or the heat of a house failed; an older failure is history."""
    house = house_called(holding, act.house)
    if house.failed_on is not None and house.failed_on > day:
        return holding
    house = replace(house, failed=act.what, failed_on=day)
    return replace(holding, houses={**holding.houses, house.name: house})


def places_added(holding: Holding, act: PlacesAdded) -> Holding:
    """The holding with new places, at the end of their house's walking order."""
    house_called(holding, act.house)
    if act.holds < 1:
        raise Refusal(f"a place holds at least 1 plant, got {act.holds}")
    if act.loop is not None:
        loop_called(holding, act.loop)
    places = dict(holding.places)
    walk = max((p.walk for p in places.values() if p.house == act.house), default=0)
    for code in act.codes:
        if code in places:
            raise Refusal(f"the place '{code}' is there already, in {places[code].house}")
        refuse_twin("place", code, places)
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
    """The holding after media work: a change restarts the age, disinfecting lifts suspicion.

    Work written late undoes nothing that was done since.
    """
    places = dict(holding.places)
    for code in act.places:
        place = open_place(holding, code, day)
        if act.care is Care.CHANGE and (place.filled is None or place.filled <= day):
            place = replace(place, filled=day, medium=act.medium or place.medium)
        cleansed = act.care in {Care.CHANGE, Care.DISINFECT}
        if cleansed and place.disease_on is not None and place.disease_on <= day:
            place = replace(place, disease_on=None)
        places[code] = place
    return replace(holding, places=places)


def temperatures_read(holding: Holding, act: TemperaturesRead) -> Holding:
    """The holding as it was: readings are too many to be held, but each must be of a house."""
    for reading in act.readings:
        house_called(holding, reading.house)
        if reading.low_c > reading.high_c:
            raise Refusal(
                f"{reading.house} on {reading.day}: the low ({reading.low_c:g} °C) is above "
                f"the high ({reading.high_c:g} °C)"
            )
    return holding


def set_back(holding: Holding, act: SetBack) -> Holding:
    """The holding with days of growth lost."""
    lost = act.setback
    house_called(holding, lost.house)
    if not 1 <= lost.days <= 60:
        raise Refusal(f"a setback costs 1 to 60 days of growth, got {lost.days}")
    return replace(holding, setbacks=(*holding.setbacks, lost))


def went_away(holding: Holding, act: WentAway) -> Holding:
    """The holding with a time away."""
    away = act.absence
    if away.last < away.first:
        raise Refusal(f"away from {away.first} to {away.last}: the end is before the beginning")
    if away.house is not None:
        house_called(holding, away.house)
    return replace(holding, absences=(*holding.absences, away))


def refuse_twin(what: str, name: str, others: Iterable[str]) -> None:
    """Refuse a name that differs from another in capitals and hyphens only."""
    if not plain(name):
        raise Refusal(f"'{name}' is no name for a {what}; use letters or figures")
    for other in others:
        if other != name and plain(other) == plain(name):
            raise Refusal(f"a {what} is called '{other}' already; give '{name}' another name")


def goal_set(holding: Holding, act: GoalSet) -> Holding:
    """The holding with a crop aimed at."""
    goal = act.goal
    if goal.amount <= 0:
        raise Refusal(f"a goal is above 0, got {goal.amount:g}; 'goal drop' ends one")
    if goal.last < goal.first:
        raise Refusal(f"a goal from {goal.first} to {goal.last}: the end is before the beginning")
    if not 1 <= goal.priority <= 9:
        raise Refusal(f"a priority is 1 (first) to 9, got {goal.priority}")
    return replace(holding, goals={**holding.goals, goal.crop: goal})


def goal_dropped(holding: Holding, crop: str) -> Holding:
    """The holding in which a crop is no longer aimed at."""
    if crop not in holding.goals:
        raise Refusal(f"no goal is set for '{crop}'{did_you_mean(crop, holding.goals)}")
    return replace(holding, goals={c: g for c, g in holding.goals.items() if c != crop})
