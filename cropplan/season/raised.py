"""The ways in which this house can raise a crop, as the planner is told them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from math import ceil

from cropplan.catalogue.model import Crop, Habit
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import CLONAL, Stage
from cropplan.holding.planting import Origin as Way
from cropplan.schedule.attained import Attained
from cropplan.schedule.backward import first_pick
from cropplan.schedule.lengths import steps_from
from cropplan.schedule.relay import CERTAINTY, usual_way
from cropplan.schedule.scene import Scene
from cropplan.schedule.timeline import QUARANTINE
from cropplan.season.crop_figures import (
    DEVIATIONS_IN_80,
    WEEK,
    bearing_on,
    curve_of,
    full_bearing,
    mothering_of,
    pick_weeks,
    stays_of,
    yield_spread,
)
from cropplan.season.demand import CropOption, Origin

#: Rooted plants may wait so long for their place. Common practice, no source. [week]
_HOLD = 1
#: Plants of a crop that cannot be sown again, of which there must always be as many, if there are:
#: one may die, and so may the cuttings of the other. Common practice, no source.
_SPARE = 3
#: Where fewer stand, each cutting counts: so many are struck one by one, with none to spare.
_FEW = 40


def ways_to_raise(
    scene: Scene, crop: Crop, monday: date, weeks: int, attained: Attained | None
) -> Iterator[CropOption]:
    """The usual way and seed, where the house has places for the crop and its lengths are known.

    Plants are bought only for a line that has come to its last generation and cannot be sown.
    """
    there = {place.kind for place in scene.holding.places.values() if place.retired_on is None}
    kinds = tuple(kind.value for kind in crop.places if kind in there)
    tray = PlaceKind.TRAY.value if PlaceKind.TRAY in there else None
    fresh = Way.BOUGHT_IN if _worn_out(scene, crop) else Way.SEED
    for way in dict.fromkeys((usual_way(crop), fresh)):
        if kinds and way in crop.ways:
            leads = _leads(scene, crop, way, monday, weeks)
            if leads is not None:
                yield _way(scene, crop, way, kinds, tray, leads, monday, attained)


def _worn_out(scene: Scene, crop: Crop) -> bool:
    """Whether a crop that cannot be sown stands in its last generation only."""
    cap = crop.values.get("generations")
    if cap is None or Way.SEED in crop.ways or usual_way(crop) not in CLONAL:
        return False
    living = [p for p in scene.holding.plantings.values() if p.alive and p.crop == crop.id]
    return bool(living) and all(planting.generation >= cap.typical for planting in living)


def _leads(
    scene: Scene, crop: Crop, way: Way, monday: date, weeks: int
) -> list[tuple[int, float]] | None:
    """Weeks from beginning to first pick, and how far they stray, by week of beginning. [week]"""
    weather = next(iter(scene.weathers.values()))
    leads = []
    for week in range(weeks):
        begun = monday + week * WEEK
        told = first_pick(crop, way, begun, weather, scene.lessons)
        if told is None:
            return None
        lead = max(1, ceil((told.likely - begun).days / 7))
        leads.append((lead, (told.latest - told.earliest).days / 7 / DEVIATIONS_IN_80))
    return leads


def _way(
    scene: Scene,
    crop: Crop,
    way: Way,
    kinds: tuple[str, ...],
    tray: str | None,
    leads: list[tuple[int, float]],
    monday: date,
    attained: Attained | None,
) -> CropOption:
    weather = next(iter(scene.weathers.values()))
    success = crop.values.get(f"{way.value}_success")
    learnt = scene.lessons.successes.get((crop.id, f"{way.value}_success"))
    share = min(1.0, learnt.mean if learnt else (success.typical if success else 1.0))
    clonal = way in CLONAL
    return CropOption(
        crop=crop.id,
        origin=Origin.STRUCK if clonal else Origin.SOWN,
        kinds=kinds,
        tray=tray,
        tray_weeks=tuple(min(lead, _weeks_in_tray(crop, way)) for lead, _ in leads),
        lead_weeks=tuple(lead for lead, _ in leads),
        lead_spread=tuple(spread for _, spread in leads),
        hold_weeks=_HOLD,
        curve=curve_of(crop, scene.lessons),
        bearing=() if crop.habit is Habit.HEAD else bearing_on(crop, scene.lessons),
        light=tuple(
            full_bearing(crop, monday + week * WEEK, weather, attained)
            for week in range(len(leads))
        ),
        stays=stays_of(crop),
        success=share,
        certainty=CERTAINTY if _alive(scene, crop) >= _SPARE else min(CERTAINTY, share**_FEW),
        spread=tuple(
            yield_spread(crop, monday + week * WEEK, weather, attained)
            for week in range(len(leads))
        ),
        pick_weeks=pick_weeks(crop),
        mothering=mothering_of(crop) if usual_way(crop) in CLONAL else None,
        # What cannot be sown again is lost with its last plants.
        keep_alive=min(_SPARE, _alive(scene, crop)) if clonal and Way.SEED not in crop.ways else 0,
    )


def _alive(scene: Scene, crop: Crop) -> int:
    """Living plants of a crop."""
    living = [p for p in scene.holding.plantings.values() if p.alive and p.crop == crop.id]
    return sum(planting.count for planting in living)


def _weeks_in_tray(crop: Crop, way: Way) -> int:
    if way is Way.BOUGHT_IN:
        return ceil(QUARANTINE[1] / 7)
    days = sum(
        crop.values[key].typical
        for _, end, key in steps_from(crop, way)
        if end in {Stage.ROOTED, Stage.EMERGED, Stage.SET_OUT}
    )
    return ceil(days / 7)
