"""Oxygen saturation and air pressure against printed tables."""

from __future__ import annotations

import pytest

from cropplan.water.oxygen import ATMOSPHERE, air_pressure, saturation

MM_HG = 0.133322387
"""One millimetre of mercury. [kPa]"""
FOOT = 0.3048
"""[m]"""

# Yokogawa DO402 manual IM 12J05D02-01E, Table 6-1: fresh water under air at 101.325 kPa. The same
# figures, rounded, are the EN 25814 table printed in the ProMinent Dulcotest DO 1 manual, p. 52.
SEA_LEVEL = (
    "14.62 14.22 13.83 13.46 13.11 12.77 12.45 12.14 11.84 11.56 11.29 11.03 10.78 10.54 10.31 "
    "10.08 9.87 9.66 9.47 9.28 9.09 8.91 8.74 8.58 8.42 8.26 8.11 7.97 7.83 7.69 7.56"
)

# Hach DR/850 manual, Table 3. Older data: above the equation by up to about 0.12 at 15 to 20 degC.
HACH = [
    (0, 760, 14.6),
    (5, 760, 12.8),
    (10, 760, 11.3),
    (15, 760, 10.2),
    (20, 760, 9.2),
    (23, 760, 8.7),
    (0, 725, 13.9),
    (10, 700, 10.4),
    (20, 725, 8.7),
    (20, 675, 8.1),
    (20, 625, 7.5),
]

# Hanna HI 98193 manual, p. 13: by height above the sea. [degC, m, mg/L]
BY_HEIGHT = [
    (0, 300, 14.1),
    (0, 600, 13.6),
    (10, 300, 10.9),
    (10, 600, 10.5),
    (20, 300, 8.8),
    (20, 600, 8.4),
    (30, 300, 7.3),
    (30, 600, 7.0),
]

# LaMotte dissolved oxygen test kit manual, p. 15: pressure and height. [mm Hg, ft]
PRESSURE_AT = [
    (730, 1094),
    (714, 1688),
    (699, 2274),
    (684, 2864),
    (669, 3466),
    (654, 4082),
    (638, 4756),
    (623, 5403),
    (608, 6065),
    (593, 6744),
]
# The same table higher up, where it departs from the standard atmosphere.
HIGHER_UP = [
    (578, 7440),
    (562, 8204),
    (547, 8939),
    (532, 9694),
    (517, 10472),
]

# Dussart and Francis-Boeuf 1949, mean pressure by height, as printed with Montgomery, Thom and
# Cockburn 1964 (studylibpt.com 6272704). Measured means, not the standard atmosphere. [m, mm Hg]
MEAN_PRESSURE = [
    (0, 760),
    (200, 741),
    (500, 714),
    (1000, 671),
    (1500, 631),
    (2000, 594),
    (2500, 560),
]


@pytest.mark.parametrize(("temp_water", "printed"), list(enumerate(map(float, SEA_LEVEL.split()))))
def test_saturation_at_sea_level_is_that_of_the_printed_table(
    temp_water: float, printed: float
) -> None:
    """Yokogawa DO402 Table 6-1 (EN 25814), half a unit of its last digit."""
    assert saturation(temp_water, pressure=ATMOSPHERE) == pytest.approx(printed, abs=0.0055)


@pytest.mark.parametrize(("temp_water", "mm_hg", "printed"), HACH)
def test_saturation_under_thinner_air_is_near_the_makers_table(
    temp_water: float, mm_hg: float, printed: float
) -> None:
    """Hach DR/850 Table 3, within 0.15 mg/L, which is where that table is off."""
    assert saturation(temp_water, pressure=mm_hg * MM_HG) == pytest.approx(printed, abs=0.15)


@pytest.mark.parametrize(("temp_water", "metres", "printed"), BY_HEIGHT)
def test_saturation_by_height_is_that_of_the_printed_table(
    temp_water: float, metres: float, printed: float
) -> None:
    """Hanna HI 98193 manual p. 13, to one unit of its last digit."""
    assert saturation(temp_water, pressure=air_pressure(metres)) == pytest.approx(printed, abs=0.1)


@pytest.mark.parametrize(("mm_hg", "feet"), PRESSURE_AT)
def test_air_pressure_by_height_is_that_of_the_printed_table(mm_hg: float, feet: float) -> None:
    """LaMotte dissolved oxygen kit manual p. 15, within 1 mm of mercury."""
    assert air_pressure(feet * FOOT) / MM_HG == pytest.approx(mm_hg, abs=1)


@pytest.mark.parametrize(("mm_hg", "feet"), HIGHER_UP)
def test_air_pressure_in_the_mountains_is_near_the_printed_table(mm_hg: float, feet: float) -> None:
    """LaMotte kit manual p. 15, within 1 %: the table runs up to 4 mm above the standard air."""
    assert air_pressure(feet * FOOT) / MM_HG == pytest.approx(mm_hg, rel=0.01)


@pytest.mark.parametrize(("metres", "mm_hg"), MEAN_PRESSURE)
def test_air_pressure_is_near_the_measured_means(metres: float, mm_hg: float) -> None:
    """Dussart and Francis-Boeuf 1949, within 4 mm of mercury."""
    assert air_pressure(metres) / MM_HG == pytest.approx(mm_hg, abs=4)
