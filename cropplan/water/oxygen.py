"""Oxygen that fresh water can hold, by temperature and air pressure.

Warm water and thin air hold less, while fish in warm water use more: the reading that matters is
often the share of what the water could hold.
"""

from __future__ import annotations

import math
from typing import Final

from cropplan.problems import Refusal

ATMOSPHERE: Final = 101.325
"""Standard air pressure at sea level. [kPa]"""

_ZERO_CELSIUS: Final = 273.15


def air_pressure(altitude: float) -> float:
    """Mean air pressure at a height above the sea in the standard atmosphere.

    altitude : height above sea level. [m]
    Returns air pressure [kPa]; holds for -500 to 5000 m.
    Raises Refusal outside that range.
    Source: International Standard Atmosphere, ISO 2533:1975, lowest layer; checked in
    tests/published/test_water_oxygen_tables.py against a printed pressure and altitude table.
    """
    if not -500 <= altitude <= 5000:
        raise Refusal(f"altitude {altitude:g} m is outside -500 to 5000")
    return ATMOSPHERE * math.pow(1 - 2.25577e-5 * altitude, 5.25588)


def saturation(temp_water: float, *, pressure: float) -> float:
    """Oxygen in fresh water at rest under moist air.

    temp_water : water temperature. [°C]
    pressure : air pressure, not reduced to sea level. [kPa]
    Returns dissolved oxygen at saturation [mg/L]; holds for 0 to 40 °C, 0.5 to 1.1 atmospheres
    and salinity 0.
    Raises Refusal outside those ranges.
    Source: APHA 1985, Standard Methods, after Benson and Krause 1984, with their correction for
    pressure (USGS Office of Water Quality technical memorandum 2011.03); checked in
    tests/published/test_water_oxygen_tables.py.
    """
    if not 0 <= temp_water <= 40:
        raise Refusal(f"water temperature {temp_water:g} degC is outside 0 to 40")
    atmospheres = pressure / ATMOSPHERE
    if not 0.5 <= atmospheres <= 1.1:
        raise Refusal(
            f"air pressure {pressure:g} kPa is outside {0.5 * ATMOSPHERE:.1f} to "
            f"{1.1 * ATMOSPHERE:.1f}; 1013 hPa is 101.3 kPa"
        )
    kelvin = temp_water + _ZERO_CELSIUS
    at_sea_level = math.exp(
        -139.34411
        + 1.575701e5 / kelvin
        - 6.642308e7 / kelvin**2
        + 1.243800e10 / kelvin**3
        - 8.621949e11 / kelvin**4
    )
    vapour = math.exp(11.8571 - 3840.70 / kelvin - 216961 / kelvin**2)
    theta = 0.000975 - 1.426e-5 * temp_water + 6.436e-8 * temp_water**2
    thin_air = (atmospheres - vapour) * (1 - theta * atmospheres)
    return at_sea_level * thin_air / ((1 - vapour) * (1 - theta))


def share_of_saturation(oxygen: float, temp_water: float, *, pressure: float) -> float:
    """A reading as a share of what the water could hold.

    oxygen : dissolved oxygen read. [mg/L]
    temp_water : water temperature. [°C]
    pressure : air pressure, not reduced to sea level. [kPa]
    Returns a share, 1 when saturated; strong growth of algae can lift it above 1.
    Raises Refusal for a negative reading and as saturation does.
    """
    if not oxygen >= 0:
        raise Refusal(f"oxygen {oxygen:g} mg/L cannot be below zero")
    return oxygen / saturation(temp_water, pressure=pressure)
