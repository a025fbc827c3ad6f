"""What to know before the walk: unwritten weeks, clones at risk, plants held too long."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import timedelta

from cropplan.holding.place import Place, PlaceKind
from cropplan.holding.planting import RAISING, SPROUTED, Planting, Stage
from cropplan.schedule.away import NO_STRIKES_BEFORE
from cropplan.schedule.clones import is_last_of_clone, last_of_clone_since
from cropplan.schedule.news import to_be_said
from cropplan.schedule.plan_in_danger import plan_in_danger
from cropplan.schedule.scene import Scene
from cropplan.schedule.water_remarks import water_remarks
from cropplan.schedule.wording import day_text, days_text, list_text, plants_text

#: Days without an entry after which the record no longer says what is true. Common practice, no
#: source.
SILENCE = 14


def remarks(scene: Scene, house: str) -> Iterator[str]:
    """Remarks on one house, most pressing first."""
    living = [
        p
        for p in scene.holding.plantings.values()
        if p.alive and scene.holding.places[p.place].house == house
    ]
    yield from _silence(scene)
    yield from _away(scene, house)
    yield from water_remarks(scene, house)
    yield from plan_in_danger(scene)
    yield from _near_disease(scene, house)
    yield from _clones_at_risk(scene, living)
    yield from _held_too_long(scene, house, living)
    yield from _empty_places(scene, house, living)
    yield from _old_lines(scene, living)


def unwritten_days(scene: Scene) -> int:
    """Days since anything was written, absences left out; 0 when that is nothing unusual."""
    last = scene.holding.last_entry
    if last is None:
        return 0
    silent = 0
    day = last + timedelta(days=1)
    while day < scene.today:
        silent += not any(absence.holds(day) for absence in scene.holding.absences)
        day += timedelta(days=1)
    return silent if silent >= SILENCE else 0


def _silence(scene: Scene) -> Iterator[str]:
    silent = unwritten_days(scene)
    last = scene.holding.last_entry
    if silent and last is not None:
        yield (
            f"nothing written since {day_text(last, scene.today)} ({days_text(silent)}): "
            "walk the house and write what is true now; those days count as not known"
        )


def _away(scene: Scene, house: str) -> Iterator[str]:
    for absence in scene.holding.absences:
        if absence.house not in {None, house}:
            continue
        if absence.holds(scene.today):
            yield f"away until {day_text(absence.last, scene.today)}: only what must go on is asked"
        elif 0 < (absence.first - scene.today).days <= NO_STRIKES_BEFORE:
            yield (
                f"away {day_text(absence.first, scene.today)} to "
                f"{day_text(absence.last, scene.today)}: no new cuttings now"
            )


def _near_disease(scene: Scene, house: str) -> Iterator[str]:
    """What stands on the same water as a diseased crop is looked over until the place is clean."""
    places = scene.holding.places
    for place in places.values():
        if place.disease_on is None or place.house != house or place.loop is None:
            continue
        near = [
            planting.tag
            for planting in scene.holding.plantings.values()
            if planting.alive and places[planting.place].loop == place.loop
        ]
        if near:
            since = day_text(place.disease_on, scene.today)
            yield f"disease in {place.code} on {since}: look over {list_text(near)} on its water"


def _clones_at_risk(scene: Scene, living: Sequence[Planting]) -> Iterator[str]:
    """Clones of which one plant is left, or none outside one batch."""
    everywhere = [p for p in scene.holding.plantings.values() if p.alive]
    last_ones = [
        planting
        for planting in living
        if is_last_of_clone(planting, everywhere)
        and to_be_said(scene, last_of_clone_since(planting, scene.gone))
    ]
    single = [f"{last.tag} in {last.place}" for last in last_ones if last.count == 1]
    if len(single) > 1:
        yield f"{list_text(single, most=len(single))} are each the last plant of their clone"
    for last in last_ones:
        name = f" '{last.cultivar}'" if last.cultivar else ""
        if last.count == 1 and len(single) == 1:
            yield f"{last.tag} in {last.place} is the last plant of its clone{name}"
        elif last.count > 1 and last.stage in RAISING:
            batch = f"{last.tag} in {last.place} ({plants_text(last.count)})"
            yield f"{batch} is all there is of its clone{name}"


def _held_too_long(scene: Scene, house: str, living: Sequence[Planting]) -> Iterator[str]:
    for planting in living:
        if planting.stage not in SPROUTED:
            continue
        guess = scene.timelines[planting.tag].first_guess.get(Stage.SET_OUT)
        hold = scene.catalogue.crops[planting.crop].values.get("days_can_hold")
        if guess is None or hold is None:
            continue
        held = (scene.today - guess.likely).days
        too_long = guess.likely + timedelta(days=math.floor(hold.most) + 1)
        if scene.today >= too_long and to_be_said(scene, too_long):
            yield (
                f"{planting.tag} in {planting.place} ({plants_text(planting.count)}) has been fit "
                f"to set out for {days_text(held)}: pot on, set out or give away"
                f"{_first_to_tire(scene, house, living)}"
            )


def _first_to_tire(scene: Scene, house: str, living: Sequence[Planting]) -> str:
    """Where no place is free, the plant that is the first to make room."""
    ends = [
        (day, planting)
        for planting in living
        if planting.stage not in RAISING
        and (day := scene.timelines[planting.tag].likely(Stage.SPENT)) is not None
    ]
    if _free_places(scene, house) or not ends:
        return ""
    day, first = min(ends, key=lambda pair: (pair[0], pair[1].tag))
    return f"; no place is free, {first.tag} in {first.place} tires first ({day_text(day)})"


def _empty_places(scene: Scene, house: str, living: Sequence[Planting]) -> Iterator[str]:
    """Places that stand empty, where fewer plants are coming on than would fill them."""
    empty = _free_places(scene, house)
    coming = sum(planting.count for planting in living if planting.stage in RAISING)
    room = sum(place.holds for place in empty)
    codes = {place.code for place in empty}
    cleared = [p.ended_on for p in scene.gone if p.place in codes and p.ended_on is not None]
    if coming >= room or not to_be_said(scene, max(cleared, default=None)):
        return
    places = "1 place stands" if len(empty) == 1 else f"{len(empty)} places stand"
    named = list_text([place.code for place in empty])
    yield f"{places} empty ({named}); {plants_text(coming)} coming on to fill {room}"


def _free_places(scene: Scene, house: str) -> list[Place]:
    """Places in use where plants stand for good, and nothing stands now."""
    taken = {p.place for p in scene.holding.plantings.values() if p.alive}
    return [
        place
        for place in scene.holding.places.values()
        if place.house == house
        and place.kind not in {PlaceKind.TRAY, PlaceKind.POT}
        and place.retired_on is None
        and place.code not in taken
    ]


def _old_lines(scene: Scene, living: Sequence[Planting]) -> Iterator[str]:
    old = []
    for planting in living:
        cap = scene.catalogue.crops[planting.crop].values.get("generations")
        if cap is not None and planting.generation > cap.typical:
            old.append(planting)
    begun = [p.started for p in old if p.started is not None]
    if old and to_be_said(scene, max(begun, default=None)):
        told = list_text([f"{p.tag} ({p.generation})" for p in old])
        yield f"many cuttings from fresh stock: {told}; think of new stock"
