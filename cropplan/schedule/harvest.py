"""The harvest to come: what the plants in bearing should give, week by week.

The catalogue's yield of a plant in bearing is the anchor. This house's light and warmth move it;
plants not yet bearing count from their likely first pick, tired ones until their likely end.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.catalogue.model import Crop, Habit
from cropplan.growth.chance import Spread
from cropplan.growth.stages import Weather, forecast
from cropplan.growth.yields import (
    FRUIT_LIGHT_ELASTICITY,
    LEAF_LIGHT_ELASTICITY,
    WeekPick,
    YieldAnchor,
    in_round_figures,
    light_behind,
    week_pick,
)
from cropplan.holding.planting import Planting, Stage
from cropplan.schedule.lengths import bearing_stage, pace_for
from cropplan.schedule.scene import Scene

WEEK = timedelta(days=7)
#: The light and warmth that a catalogue yield is taken to hold for where it does not say.
#: Common practice, no source. [mol m⁻² d⁻¹], [°C]
_USUAL_LIGHT, _USUAL_WARMTH = 17.0, 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedWeek:
    """What one crop should give in one week, in the crop's unit.

    week : its Monday. plants : in bearing that week, a part of one for a part of the week.
    """

    crop: str
    unit: str
    week: date
    plants: float
    pick: WeekPick


def expected_weeks(
    scene: Scene, weeks: int, attained: Mapping[str, Spread] | None = None
) -> list[ExpectedWeek]:
    """The weeks to come, crop by crop; weeks without a plant in bearing are left out.

    attained : the house's own pickings against this forecast, by crop.
    """
    first = scene.today - timedelta(days=scene.today.weekday())
    rows = []
    for crop in scene.catalogue.crops.values():
        for number in range(weeks):
            row = _week(scene, crop, first + number * WEEK, (attained or {}).get(crop.id))
            if row is not None:
                rows.append(row)
    return rows


def _week(scene: Scene, crop: Crop, week: date, attained: Spread | None) -> ExpectedWeek | None:
    anchor = anchor_of(crop)
    bearing = list(_bearing(scene, crop, week))
    if anchor is None or not bearing:
        return None
    plants = sum(share for _, share in bearing)
    weather = scene.weather_for(bearing[0][0])
    pick = in_round_figures(pick_of_plants(crop, anchor, plants, week, weather, attained))
    return ExpectedWeek(crop=crop.id, unit=crop.pick_unit, week=week, plants=plants, pick=pick)


def pick_of_plants(
    crop: Crop,
    anchor: YieldAnchor,
    plants: float,
    week: date,
    weather: Weather,
    attained: Spread | None = None,
) -> WeekPick:
    """What so many plants in bearing give in one week, by the light and warmth behind it.

    attained : the house's own pickings against this forecast; None before any are known.
    """
    ripening = pace_for(crop, "flower_to_pick") if "flower_to_pick" in crop.values else None
    dli = light_for(crop, week, weather)
    mid = weather(week + timedelta(days=3)).warmth.mean
    return week_pick(plants, anchor, dli=dli, temp_c=mid, ripening=ripening, attained=attained)


def light_for(crop: Crop, week: date, weather: Weather) -> float:
    """The mean light in which a week's pick was made. [mol m⁻² d⁻¹]"""
    days = 0
    if "flower_to_pick" in crop.values:
        told = forecast(pace_for(crop, "flower_to_pick"), week, weather)
        days = 0 if told is None else (told.likely - week).days
    return light_behind(week, days, lambda day: weather(day).dli)


def anchor_of(crop: Crop) -> YieldAnchor | None:
    """The catalogue's yield of the crop, with the light and warmth it holds for."""
    figure = crop.values.get("weekly_yield")
    if figure is None:
        return None
    light = crop.values.get("light_target")
    ripening = crop.values.get("flower_to_pick")
    warmth = ripening.at_c if ripening is not None else None
    return YieldAnchor(
        low=figure.least,
        typical=figure.typical,
        high=figure.most,
        at_dli=_USUAL_LIGHT if light is None else light.typical,
        at_c=_USUAL_WARMTH if warmth is None else warmth,
        elasticity=FRUIT_LIGHT_ELASTICITY if crop.habit is Habit.FRUIT else LEAF_LIGHT_ELASTICITY,
    )


def _bearing(scene: Scene, crop: Crop, week: date) -> Iterator[tuple[Planting, float]]:
    """The crop's plantings that bear in a week, with their plants times the share of the week."""
    for planting in scene.holding.plantings.values():
        if planting.crop != crop.id or not planting.alive or planting.stage is Stage.RESTING:
            continue
        dates = scene.timelines[planting.tag].dates
        starts = dates.get(bearing_stage(crop))
        if starts is None and planting.stage is not bearing_stage(crop):
            continue
        begin = max(week, starts.likely if starts else week)
        ends = dates.get(Stage.SPENT)
        end = min(week + WEEK, max(ends.likely, scene.today) if ends else week + WEEK)
        share = (end - begin).days / 7
        if share > 0:
            yield planting, planting.count * share
