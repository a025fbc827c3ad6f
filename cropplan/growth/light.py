"""Light in the house: from the sky's radiation to moles of usable photons on the leaf each day.

Radiation above the air, times the month's clearness, times the cover, gives what reaches the
plants; lamps add theirs. A grower can know each of these: latitude, the climate's normals, the
glass. The daily light integral is the one figure the stages and yields ask for.
"""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date

from cropplan.growth.sun import day_length, extraterrestrial_radiation, geometric_day_length
from cropplan.problems import Refusal

PAR_SHARE = 0.45
"""Share of the sun's energy that plants can use, 400 to 700 nm. [-] Between 0.43, integrated from
the standard spectrum ASTM G173-03 (global tilt), and 0.50 ± 0.03, Szeicz 1974, J. Appl. Ecol."""

PHOTONS_PER_JOULE = 4.57
"""Photons in a joule of usable sun and sky light. [µmol J-1] Thimijan & Heins 1983, HortScience
18:818-822."""

MOL_PER_MJ = PAR_SHARE * PHOTONS_PER_JOULE
"""Photons that plants can use in a megajoule of sunshine: 2.06, from 1.9 under a clear sky to 2.3
under cloud. [mol MJ-1]"""

TYPICAL_CLEARNESS = (0.50,) * 12
"""Clearness where the site's own is not set: FAO-56 eq. 35 with the sun out half the time,
0.25 + 0.50 × 0.5. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LightClimate:
    """What decides the light on the plants of one house.

    latitude : north positive. [°]
    clearness : for January to December, the share of the radiation above the air that reaches the
        ground. [-]
    cover : share of the light outside that reaches the plants, panes, frame and dirt together;
        0.5 to 0.7 for a whole house. [-]
    lamp_mol : what the lamps add on a day they burn. [mol m-2 d-1]
    lamp_hours : the lamps make the lit day up to this length and burn only on days that are
        naturally shorter; 0 for lamps that do not follow the day: they burn every day. [h]
    """

    latitude: float
    clearness: tuple[float, ...] = TYPICAL_CLEARNESS
    cover: float
    lamp_mol: float = 0.0
    lamp_hours: float = 0.0

    def __post_init__(self) -> None:
        if len(self.clearness) != 12:
            raise Refusal(
                f"clearness needs twelve months, January first; got {len(self.clearness)}"
            )
        for month, share in enumerate(self.clearness, start=1):
            if not 0 < share <= 1:
                raise Refusal(f"clearness of month {month} is '{share:g}'; it lies between 0 and 1")
        if not 0 < self.cover <= 1:
            raise Refusal(f"cover transmission '{self.cover:g}' must lie between 0 and 1")
        if self.lamp_mol < 0 or not 0 <= self.lamp_hours <= 24:
            raise Refusal("lamps add 0 or more mol a day and light the house for 0 to 24 hours")


def radiation_outside(climate: LightClimate, day: date) -> float:
    """Radiation on level ground outside, averaged over such days. [MJ m-2 d-1]

    Extraterrestrial radiation times the month's clearness; checked against two measured years in
    tests/published/test_growth_light.py.
    """
    return extraterrestrial_radiation(climate.latitude, day) * climate.clearness[day.month - 1]


def daily_light_integral(climate: LightClimate, day: date) -> float:
    """Usable photons reaching the plants in a day, lamps included, DLI. [mol m-2 d-1]

    R_a × clearness × MOL_PER_MJ × cover + lamps; 0 in polar night without lamps.
    """
    lamps = climate.lamp_mol if _lamps_burn(climate, day) else 0.0
    return radiation_outside(climate, day) * MOL_PER_MJ * climate.cover + lamps


def lit_hours(climate: LightClimate, day: date) -> float:
    """Length of the day as the plants see it: the sun's, or what the lamps make it up to. [h]"""
    return max(day_length(climate.latitude, day), climate.lamp_hours)


def radiation_from_sunshine(latitude: float, day: date, sunshine_hours: float) -> float:
    """Radiation from recorded hours of bright sunshine, R_s. [MJ m-2 d-1]

    sunshine_hours : 0 to the length of the day; more is taken as the whole day. [h]
    Source: Allen et al. 1998, FAO-56, eq. 35 with a_s 0.25 and b_s 0.50.
    """
    longest = geometric_day_length(latitude, day.timetuple().tm_yday)
    share = min(1.0, sunshine_hours / longest) if longest > 0 else 0.0
    return (0.25 + 0.50 * share) * extraterrestrial_radiation(latitude, day)


def clear_sky_radiation(latitude: float, day: date, height: float) -> float:
    """Radiation on a cloudless day, R_so. [MJ m-2 d-1]

    height : above the sea, to 6000. [m]
    Source: Allen et al. 1998, FAO-56, eq. 37.
    """
    return (0.75 + 2e-5 * height) * extraterrestrial_radiation(latitude, day)


def clearness_of_site(latitude: float, monthly_radiation: tuple[float, ...]) -> tuple[float, ...]:
    """A site's clearness from its climate table, January to December. [-]

    monthly_radiation : mean radiation on level ground of each month, outside. [MJ m-2 d-1]
    Returns the ratio to the month's mean radiation above the air, of a common year; a month of
    polar night, where the ratio has no meaning, takes the typical value. Held to at most 1.
    """
    if len(monthly_radiation) != 12:
        raise Refusal(
            f"a climate table needs twelve months, January first; got {len(monthly_radiation)}"
        )
    shares = []
    for month, radiation in enumerate(monthly_radiation, start=1):
        days = range(1, monthrange(2023, month)[1] + 1)
        above = [extraterrestrial_radiation(latitude, date(2023, month, day)) for day in days]
        mean_above = sum(above) / len(above)
        known = mean_above > 0.1 and radiation > 0
        shares.append(min(1.0, radiation / mean_above) if known else TYPICAL_CLEARNESS[month - 1])
    return tuple(shares)


def _lamps_burn(climate: LightClimate, day: date) -> bool:
    if climate.lamp_mol == 0:
        return False
    return climate.lamp_hours == 0 or day_length(climate.latitude, day) < climate.lamp_hours
