"""Leads: the last day to begin for a wanted first pick, and what can be begun now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.catalogue.model import Crop
from cropplan.catalogue.read import find_crop
from cropplan.desk.desk import Desk, catalogue_for, first_house, scene_on, today_in
from cropplan.desk.yields import attained
from cropplan.growth.light import daily_light_integral
from cropplan.growth.stages import Weather, forecast
from cropplan.holding.planting import Origin
from cropplan.schedule.backward import begin_by, first_pick
from cropplan.schedule.climate import light_of
from cropplan.schedule.harvest import ExpectedWeek, expected_weeks
from cropplan.schedule.lengths import pace_for, steps_from
from cropplan.schedule.relay import to_begin
from cropplan.schedule.scene import Scene


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """One way to a first pick.

    begin_by : the last day on which the likely first pick still comes in time.
    safe_by : the day that is early enough eight or nine times in ten; begin_by less the doubt.
    too_late : begin_by has passed.
    to_begin : how many to strike or sow for one plant, with the usual certainty.
    """

    way: Origin
    begin_by: date
    safe_by: date
    too_late: bool
    to_begin: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Backward:
    """The ways to a wanted first pick of a crop, counted back from it.

    light_then : light on the plants at the pick. light_wanted : what the crop wants, when the
        catalogue knows. [mol m⁻² d⁻¹]
    """

    crop: str
    pick: date
    leads: tuple[Lead, ...]
    light_then: float
    light_wanted: float | None


def backward(desk: Desk, crop_text: str, pick: date) -> Backward:
    """The last days to begin a crop so that it is first picked on a day."""
    scene, crop, weather = _for_crop(desk, crop_text)
    leads = []
    for way in crop.ways:
        last = begin_by(crop, way, pick, weather, scene.lessons)
        if way is Origin.BOUGHT_IN or last is None:
            continue
        told = first_pick(crop, way, last, weather, scene.lessons)
        doubt = (told.latest - told.likely) if told else timedelta()
        leads.append(
            Lead(
                way=way,
                begin_by=last,
                safe_by=last - doubt,
                too_late=last < scene.today,
                to_begin=to_begin(crop, way, 1, scene.lessons),
            )
        )
    house = first_house(scene.holding)
    wanted = crop.values.get("light_target")
    return Backward(
        crop=crop.id,
        pick=pick,
        leads=tuple(leads),
        light_then=daily_light_integral(light_of(house), pick),
        light_wanted=None if wanted is None else wanted.typical,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Startable:
    """A crop that could be begun today, and when it would first be picked."""

    crop: str
    way: Origin
    first_pick: date
    earliest: date
    latest: date
    light_then: float
    light_wanted: float | None


def startable_today(desk: Desk, *, on: date | None = None) -> list[Startable]:
    """Every way to begin a crop of the house today, soonest pick first."""
    holding = desk.record.snapshot(living_only=True)
    house = first_house(holding)
    today = on or today_in(desk, house)
    scene = scene_on(desk, holding, today)
    rows = []
    for crop in scene.catalogue.crops.values():
        wanted = crop.values.get("light_target")
        for way in crop.ways:
            told = first_pick(crop, way, today, scene.weathers[house.name], scene.lessons)
            if told is None or way is Origin.BOUGHT_IN:
                continue
            rows.append(
                Startable(
                    crop=crop.id,
                    way=way,
                    first_pick=told.likely,
                    earliest=told.earliest,
                    latest=told.latest,
                    light_then=daily_light_integral(light_of(house), told.likely),
                    light_wanted=None if wanted is None else wanted.typical,
                )
            )
    return sorted(rows, key=lambda row: (row.first_pick, row.crop))


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthNow:
    """How long a stage would take that began today in this house. [d]"""

    key: str
    days: int
    low: int
    high: int
    clamped: bool


def lengths_now(desk: Desk, crop_text: str) -> list[LengthNow]:
    """The lengths of a crop's stages at the house's temperature and light of these days."""
    scene, crop, weather = _for_crop(desk, crop_text)
    rows: dict[str, LengthNow] = {}
    for way in crop.ways:
        for _, _, key in steps_from(crop, way):
            told = forecast(
                pace_for(crop, key),
                scene.today,
                weather,
                scene.lessons.spreads.get((crop.id, key)),
            )
            if told is not None:
                rows[key] = LengthNow(
                    key=key,
                    days=(told.likely - scene.today).days,
                    low=(told.earliest - scene.today).days,
                    high=(told.latest - scene.today).days,
                    clamped=told.clamped,
                )
    return list(rows.values())


def _for_crop(desk: Desk, crop_text: str) -> tuple[Scene, Crop, Weather]:
    holding = desk.record.snapshot(living_only=True)
    house = first_house(holding)
    crop_id = find_crop(crop_text)
    scene = scene_on(desk, holding, today_in(desk, house), catalogue_for(desk, holding, crop_id))
    weather = scene.set_back.get((house.name, crop_id)) or scene.weathers[house.name]
    return scene, scene.catalogue.crops[crop_id], weather


def expected_picks(desk: Desk, *, weeks: int = 8, on: date | None = None) -> list[ExpectedWeek]:
    """What the plants that stand should give in the weeks to come, crop by crop."""
    holding = desk.record.snapshot(living_only=True)
    today = on or today_in(desk, first_house(holding))
    scene = scene_on(desk, holding, today)
    own = attained(desk, scene.catalogue.crops, today)
    return expected_weeks(scene, weeks, {crop: told.spread for crop, told in own.items()})
