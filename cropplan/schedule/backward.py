"""From the wanted first pick back to the day to begin, and from a beginning to its first pick."""

from __future__ import annotations

from datetime import date, timedelta

from cropplan.catalogue.model import Crop
from cropplan.growth.stages import Forecast, Weather, forecast, forecast_after, start_for
from cropplan.holding.planting import Origin, Stage
from cropplan.schedule.lengths import bearing_stage, first_stage, pace_for, steps_from
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.timeline import QUARANTINE

_APART = timedelta(days=QUARANTINE[1])


def begin_by(
    crop: Crop, way: Origin, pick: date, weather: Weather, lessons: Lessons
) -> date | None:
    """The last day to begin so that the likely first pick falls on `pick`, without slack.

    None when the catalogue lacks a stage on the way, or it would take longer than three years.
    """
    keys = _keys_to_pick(crop, way)
    day: date | None = pick if keys else None
    for key in reversed(keys):
        if day is None:
            return None
        taught = lessons.spreads.get((crop.id, key))
        ratio = 1.0 if taught is None else taught.median
        day = start_for(pace_for(crop, key), day, weather, ratio)
    return day - _APART if day is not None and way is Origin.BOUGHT_IN else day


def first_pick(
    crop: Crop, way: Origin, begun: date, weather: Weather, lessons: Lessons
) -> Forecast | None:
    """When what is begun on a day would first be picked; None as for `begin_by`."""
    apart = _APART if way is Origin.BOUGHT_IN else timedelta()
    told: Forecast | None = None
    for key in _keys_to_pick(crop, way):
        pace, spread = pace_for(crop, key), lessons.spreads.get((crop.id, key))
        if told is None:
            told = forecast(pace, begun + apart, weather, spread)
        else:
            told = forecast_after(told, pace, weather, spread)
        if told is None:
            return None
    return told


def _keys_to_pick(crop: Crop, way: Origin) -> list[str]:
    """The figures that add up from the beginning to the first pick; none when one is missing."""
    at = Stage.SET_OUT if way is Origin.BOUGHT_IN else first_stage(way)
    keys = []
    for begin, end, key in steps_from(crop, way):
        if begin is at and end is not Stage.SPENT:
            keys.append(key)
            at = end
    return keys if at is bearing_stage(crop) else []
