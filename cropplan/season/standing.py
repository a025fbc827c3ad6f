"""What stands and what is already decided, as the planner is told it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from math import erf, sqrt

from cropplan.catalogue.model import Crop, Habit
from cropplan.growth.stages import Weather
from cropplan.holding.place import PlaceKind as HousePlaceKind
from cropplan.holding.planting import CLONAL, RAISING, Planting, Stage
from cropplan.holding.season import PlannedStrike
from cropplan.holding.span import Basis, Dated
from cropplan.schedule.attained import Attained
from cropplan.schedule.lengths import bearing_stage
from cropplan.schedule.scene import Scene
from cropplan.season.crop_figures import (
    DEVIATIONS_IN_80,
    WEEK,
    bearing_on,
    curve_of,
    full_bearing,
    mothering_of,
    pick_weeks,
    yield_spread,
)
from cropplan.season.demand import PlaceKind, Standing

Yields = Mapping[str, Attained]
"""What the house's own pickings were against those forecast, by crop."""


_LONG_AGO = -104  # Week in which plants of unknown age were set out: they may be mothers now.
_RARE = 1e-6  # Chances below it are none.


def standing_in(
    scene: Scene, aimed: frozenset[str], monday: date, weeks: int, attained: Yields
) -> Iterator[Standing]:
    """What stands, each kept or pulled early by choice where its crop is aimed at.

    aimed : crops with a goal. Of the others the places stay theirs: what fades is replaced there,
        and the planner is given none of it.
    """
    for planting in scene.holding.plantings.values():
        if planting.alive and planting.count:
            told = _one(scene, planting, monday, weeks, attained)
            yield told if planting.crop in aimed else _kept_apart(told, weeks)


def decided(
    scene: Scene,
    strike: PlannedStrike,
    tag: str,
    kind: str,
    monday: date,
    weeks: int,
    attained: Yields,
) -> Standing:
    """A striking of the plan in force that is near, as good as done.

    tag : what the planner calls it. kind : place kind it is bound for.
    """
    crop = scene.catalogue.crops[strike.crop]
    weather = next(iter(scene.weathers.values()))
    curve, bearing = curve_of(crop, scene.lessons), bearing_on(crop, scene.lessons)
    first = _week(strike.first_pick, monday)
    until = _week(strike.last_pick, monday) + 1
    full = [
        full_bearing(crop, monday + n * WEEK, weather, attained.get(crop.id)) for n in range(weeks)
    ]
    ages = [week - first if first <= week < until else -1 for week in range(weeks)]
    mothers = mothering_of(crop)
    set_out = max(1, _week(strike.set_out, monday))
    return Standing(
        tag=tag,
        crop=crop.id,
        kind=kind,
        count=strike.plants,
        set_out=set_out,
        until=max(until, set_out + 1),
        picks=tuple(
            curve[age] * light if 0 <= age < len(curve) else 0.0
            for age, light in zip(ages, full, strict=True)
        ),
        bearing=tuple(bearing[age] if 0 <= age < len(bearing) else 1.0 for age in ages),
        tray=HousePlaceKind.TRAY.value if strike.place is not None else None,
        tray_places=strike.count if strike.place is not None else 0,
        struck=max(0, _week(strike.on, monday)),
        cuttings=strike.count if strike.way in CLONAL else 0,
        shoots=mothers.shoots if mothers else 0.0,
        fit_from=set_out + mothers.fit_from if mothers else 0,
        fit_until=min(until, set_out + mothers.fit_until) if mothers else 0,
        pull_early=False,
        spread=tuple(
            yield_spread(crop, monday + n * WEEK, weather, attained.get(crop.id))
            for n in range(weeks)
        ),
        pick_weeks=pick_weeks(crop),
    )


def that_fit(
    standing: list[Standing], kinds: tuple[PlaceKind, ...], weeks: int
) -> tuple[Standing, ...]:
    """What stands, and of what waits in trays as many as will find a place.

    Trays often hold more seedlings than there are places; the planner counts on no more.
    """
    room = {kind.kind: list(kind.capacity) for kind in kinds}
    fitting = []
    for planting in sorted(standing, key=lambda each: (each.tray is not None, each.set_out)):
        stands = range(max(0, planting.set_out), min(weeks, planting.until))
        left = min((room[planting.kind][week] for week in stands), default=planting.count)
        count = planting.count if planting.tray is None else min(planting.count, max(0, left))
        for week in stands:
            room[planting.kind][week] -= count
        if count:
            fitting.append(replace(planting, count=count))
    return tuple(fitting)


def _one(scene: Scene, planting: Planting, monday: date, weeks: int, attained: Yields) -> Standing:
    crop = scene.catalogue.crops[planting.crop]
    dates = scene.timelines[planting.tag].dates
    place = scene.holding.places[planting.place]
    raising = planting.stage in RAISING
    out, ends = dates.get(Stage.SET_OUT), dates.get(Stage.SPENT)
    set_out = _week(out.likely, monday) if out else (0 if raising else _LONG_AGO)
    until = max(1, _week(ends.latest, monday) if ends else weeks)
    bearing = tuple(_chance_of_bearing(scene, planting, monday, week) for week in range(weeks))
    weather = scene.weather_for(planting)
    mothers = mothering_of(crop)
    kind = crop.places[0].value if raising else place.kind.value
    there = {p.kind.value for p in scene.holding.places.values() if p.retired_on is None}
    waits = raising and place.kind is HousePlaceKind.TRAY
    return Standing(
        tag=planting.tag,
        crop=planting.crop,
        kind=kind if kind in there else place.kind.value,
        count=planting.count,
        set_out=max(1, set_out) if waits else min(0, set_out),
        until=max(until, max(1, set_out) + 1),
        picks=_picks(crop, bearing, monday, weather, attained),
        bearing=bearing,
        tray=place.kind.value if waits else None,
        tray_places=planting.count if waits else 0,
        shoots=mothers.shoots if mothers else 0.0,
        fit_from=set_out + mothers.fit_from if mothers else 0,
        fit_until=until if mothers else 0,
        generation=planting.generation,
        propagate=planting.barred_why is None,
        pull_early=not raising,
        spread=tuple(
            yield_spread(crop, monday + n * WEEK, weather, attained.get(crop.id))
            for n in range(weeks)
        ),
        pick_weeks=pick_weeks(crop),
    )


def _picks(
    crop: Crop, bearing: tuple[float, ...], monday: date, weather: Weather, attained: Yields
) -> tuple[float, ...]:
    """The pick of one plant by week, less by the chance that it does not bear."""
    figure = crop.values.get("weekly_yield")
    full = 0.0 if figure is None else figure.typical
    own = attained.get(crop.id)
    if crop.habit is Habit.HEAD:
        return bearing
    return tuple(
        full * chance * full_bearing(crop, monday + week * WEEK, weather, own) if chance else 0.0
        for week, chance in enumerate(bearing)
    )


def _chance_of_bearing(scene: Scene, planting: Planting, monday: date, week: int) -> float:
    """The chance that a planting has begun to bear by mid-week and has not yet tired. [1]

    One that bears today has outlived the chances of tiring before. Of a head, the chance that it is
    ready in that week: it is cut once, and one that is ready is cut in this week.
    """
    crop = scene.catalogue.crops[planting.crop]
    dates = scene.timelines[planting.tag].dates
    if crop.habit is Habit.HEAD:
        return _ready_in(dates.get(bearing_stage(crop)), monday + week * WEEK, this_week=week == 0)
    first, ends = dates.get(bearing_stage(crop)), dates.get(Stage.SPENT)
    middle = monday + week * WEEK + WEEK / 2
    bears = planting.stage is bearing_stage(crop)
    begun = 1.0 if bears else (0.0 if first is None else _come_by(first, middle))
    if ends is None:
        return begun
    if ends.basis is Basis.SEEN:
        return 0.0
    today = min(scene.today, middle)
    return begun * (1.0 - _come_by(ends, middle)) / max(_RARE, 1.0 - _come_by(ends, today))


def _ready_in(ready: Dated | None, week: date, *, this_week: bool) -> float:
    if ready is None:
        return 0.0
    before = 0.0 if this_week else _come_by(ready, week)
    return max(0.0, _come_by(ready, week + WEEK) - before)


def _come_by(told: Dated, day: date) -> float:
    """The chance that what is dated has come by a day: its span holds eight in ten. [1]"""
    if told.basis is Basis.SEEN:
        return float(told.likely <= day)
    side = (told.latest - told.likely) if day > told.likely else (told.likely - told.earliest)
    deviation = max(1.0, side.days / (DEVIATIONS_IN_80 / 2))
    return (1.0 + erf((day - told.likely).days / deviation / sqrt(2.0))) / 2.0


def _kept_apart(told: Standing, weeks: int) -> Standing:
    """A planting of a crop that is not aimed at: it and what follows it keep their room."""
    if told.tray is None:
        return replace(told, until=weeks, pull_early=False)
    # Its place is that of a planting which it will follow, so it only takes its room in the tray.
    return replace(told, set_out=weeks, until=weeks + 1, pull_early=False)


def _week(day: date, monday: date) -> int:
    return (day - monday).days // 7
