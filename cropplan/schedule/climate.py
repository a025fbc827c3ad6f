"""A house's days: warmth and light where the plants stand, by date.

Logged readings come first. Other days follow the set temperatures, lifted by the site's normals
where the grower has given them; without normals the set temperatures alone speak.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache

from cropplan.growth.light import TYPICAL_CLEARNESS, LightClimate, daily_light_integral
from cropplan.growth.paces import DayConditions
from cropplan.growth.stages import Weather
from cropplan.growth.warmth import DayWarmth, from_month_normals, house_temperature
from cropplan.holding.house import DayTemperature, House, Setback

#: How far the sun lifts a closed house above the air outside by day, and where its vents open.
#: Common practice, no source; logged readings replace both. [K], [°C]
SUN_LIFT_K = 6.0
VENTS_OPEN_C = 25.0
#: A year that has every day; the same day of two years differs by less than the light model knows.
_LEAP_YEAR = 2024


def light_of(house: House) -> LightClimate:
    """The light climate of a house."""
    return LightClimate(
        latitude=house.latitude,
        clearness=house.clearness or TYPICAL_CLEARNESS,
        cover=house.cover,
        lamp_mol=house.lamp_mol,
    )


def usual_warmth(house: House, day: date) -> DayWarmth:
    """Low and high in the house on a usual such day. [°C]"""
    return _warmth_in(house, _normals_of(house), day)


def _normals_of(house: House) -> tuple[DayWarmth, ...]:
    return tuple(
        DayWarmth(low=low, high=high)
        for low, high in zip(house.outside_low_c, house.outside_high_c, strict=True)
    )


def _warmth_in(house: House, normals: tuple[DayWarmth, ...], day: date) -> DayWarmth:
    if not normals:
        return DayWarmth(low=min(house.night_c, house.day_c), high=max(house.night_c, house.day_c))
    return house_temperature(
        from_month_normals(normals, day),
        day_set_c=house.day_c,
        night_set_c=house.night_c,
        sun_rise_c=SUN_LIFT_K,
        vent_c=VENTS_OPEN_C,
    )


@lru_cache(maxsize=16)
def _usual_days(house: House) -> Callable[[int, int], DayConditions]:
    """The usual conditions of a house by month and day, each worked out once."""
    light, normals = light_of(house), _normals_of(house)

    @lru_cache(maxsize=366)
    def usual(month: int, day: int) -> DayConditions:
        in_any_year = date(_LEAP_YEAR, month, day)
        return DayConditions(
            warmth=_warmth_in(house, normals, in_any_year),
            dli=daily_light_integral(light, in_any_year),
        )

    return usual


def weather_of(
    house: House,
    readings: Mapping[date, DayTemperature] | None = None,
    setbacks: Sequence[Setback] = (),
) -> Weather:
    """The house's conditions by day: what was read where it was read, the usual elsewhere.

    setbacks : whose days count for nothing.
    """
    known = readings or {}
    usual = _usual_days(house)

    def conditions(day: date) -> DayConditions:
        found = usual(day.month, day.day)
        if day in known:
            reading = known[day]
            found = replace(found, warmth=DayWarmth(low=reading.low_c, high=reading.high_c))
        if any(setback.holds(day) for setback in setbacks):
            found = replace(found, lost=1.0)
        return found

    return conditions
