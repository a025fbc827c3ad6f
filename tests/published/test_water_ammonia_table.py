"""Un-ionised ammonia against printed tables, and nitrogen conversions against printed figures."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from cropplan.water.ammonia import (
    ammonia_from_nitrogen,
    nitrate_from_nitrogen,
    nitrite_from_nitrogen,
    nitrogen_from_ammonia,
    nitrogen_from_nitrate,
    nitrogen_from_nitrite,
    pka_emerson1975,
    un_ionised,
    un_ionised_fraction,
)

# UF/IFAS FA16, Francis-Floyd et al., Ammonia in aquatic systems, Table 1, calculated by them from
# Emerson et al. 1975; the same table is Table 1.4 of Fundamentals of Aquatic Veterinary Medicine.
# Its 32 degC column is left out: it does not follow from the equation (at pH 8.0 it prints .0877,
# the equation gives .0842). So is 20 degC at pH 7.4, printed .0096 where its neighbours ask .0098.
TEMPERATURES = (6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30)
FA16 = {
    7.0: ".0013 .0016 .0018 .0022 .0025 .0029 .0034 .0039 .0046 .0052 .0060 .0069 .0080",
    7.2: ".0021 .0025 .0029 .0034 .0040 .0046 .0054 .0062 .0072 .0083 .0096 .0110 .0126",
    7.4: ".0034 .0040 .0046 .0054 .0063 .0073 .0085 - .0114 .0131 .0150 .0173 .0198",
    7.6: ".0053 .0063 .0073 .0086 .0100 .0116 .0134 .0155 .0179 .0206 .0236 .0271 .0310",
    7.8: ".0084 .0099 .0116 .0135 .0157 .0182 .0211 .0244 .0281 .0322 .0370 .0423 .0482",
    8.0: ".0133 .0156 .0182 .0212 .0247 .0286 .0330 .0381 .0438 .0502 .0574 .0654 .0743",
    8.2: ".0210 .0245 .0286 .0332 .0385 .0445 .0514 .0590 .0676 .0772 .0880 .0998 .1129",
    8.4: ".0328 .0383 .0445 .0517 .0597 .0688 .0790 .0904 .1031 .1171 .1326 .1495 .1678",
}
FA16_CELLS = [
    (temp_water, ph, float(cell))
    for ph, row in FA16.items()
    for temp_water, cell in zip(TEMPERATURES, row.split(), strict=True)
    if cell != "-"
]

# LaMotte AG-104 manual, percentages for fresh water from Trussell 1972: measured before Emerson's,
# and up to 3 % of the figure (or half a printed digit) away from them.
TRUSSELL = {
    10: ".19 .23 .29 .37 .47 .59 .74 .92 1.16 1.46 1.83 2.29 2.86 3.58 4.46 5.55",
    15: ".27 .34 .43 .54 .68 .85 1.07 1.35 1.69 2.12 2.65 3.32 4.14 5.16 6.41 7.98",
    20: ".40 .50 .63 .79 .99 1.24 1.56 1.96 2.45 3.06 3.83 4.77 5.94 7.36 9.09 11.18",
    25: ".55 .70 .88 1.10 1.38 1.73 2.17 2.72 3.39 4.24 5.28 6.55 8.11 10.00 12.27 14.97",
}
TRUSSELL_CELLS = [
    (temp_water, 7 + tenth / 10, float(cell))
    for temp_water, row in TRUSSELL.items()
    for tenth, cell in enumerate(row.split())
]


@pytest.mark.parametrize(("temp_water", "ph", "printed"), FA16_CELLS)
def test_the_fraction_is_that_of_the_printed_table(
    temp_water: float, ph: float, printed: float
) -> None:
    """UF/IFAS FA16 Table 1, to half a unit of its last digit (and rounding of a few entries)."""
    assert un_ionised_fraction(temp_water, ph) == pytest.approx(printed, abs=0.00006)


@pytest.mark.parametrize(("temp_water", "ph", "percent"), TRUSSELL_CELLS)
def test_the_fraction_agrees_with_older_measurements(
    temp_water: float, ph: float, percent: float
) -> None:
    """LaMotte AG-104 manual after Trussell 1972, fresh water, within 3 % or half a digit."""
    assert un_ionised_fraction(temp_water, ph) * 100 == pytest.approx(percent, rel=0.03, abs=0.005)


def test_the_worked_example_of_one_milligram_at_24_degrees() -> None:
    """UF/IFAS FA16, figure 3: TAN 1.0, 24 degC, pH 8.0 gives 0.0502 mg/L (not 0.502)."""
    assert un_ionised(1.0, 24, 8.0) == pytest.approx(0.0502, abs=0.00005)


def test_the_misprinted_constant_would_miss_the_table() -> None:
    """A package manual prints 2727.92; at 20 degC and pH 8.0 that is .0387, FA16 has .0381."""
    misprinted_pka = 0.09018 + 2727.92 / (20 + 273.15)
    misprinted = 1 / (1 + 10 ** (misprinted_pka - 8.0))
    assert round(misprinted, 4) == 0.0387
    assert round(un_ionised_fraction(20, 8.0), 4) == 0.0381
    assert pka_emerson1975(20) > misprinted_pka


def test_drinking_water_nitrate_of_50_as_the_ion_is_11_as_nitrogen() -> None:
    """WHO guideline 50 mg NO3/L, printed as 11.3 mg N/L (watercontrolinc.com, nitrate)."""
    assert nitrogen_from_nitrate(50) == pytest.approx(11.3, abs=0.05)


def test_us_drinking_water_nitrate_of_10_as_nitrogen_is_44_as_the_ion() -> None:
    """Hach support TE387: nitrate as nitrogen times 4.427 is nitrate."""
    assert nitrate_from_nitrogen(10) == pytest.approx(44.27, abs=0.005)


def test_nitrate_of_30_is_6_78_as_nitrogen() -> None:
    """scienceofagriculture.org, nitrogen results, worked example."""
    assert nitrogen_from_nitrate(30) == pytest.approx(6.78, abs=0.005)


@pytest.mark.parametrize(
    ("convert", "factor"),
    [(ammonia_from_nitrogen, 1.21589), (nitrite_from_nitrogen, 3.28443)],
)
def test_ammonia_and_nitrite_convert_by_the_printed_factors(
    convert: Callable[[float], float], factor: float
) -> None:
    """Factors printed at fishforums.net thread 493071 from H 1.008, N 14.007, O 15.999."""
    assert convert(1) == pytest.approx(factor, abs=0.00001)


def test_one_milligram_of_ammonia_is_0_82_as_nitrogen() -> None:
    """By atomic weights 14/17 (megazyme.com support 8000071754 gives 14.0067/17.031)."""
    assert nitrogen_from_ammonia(1) == pytest.approx(14.0067 / 17.031, abs=0.0001)


def test_nitrite_as_nitrogen_is_the_ion_over_3_284() -> None:
    """US limit of 1 mg N/L is 3.28 mg NO2/L by the factor above."""
    assert nitrogen_from_nitrite(3.28443) == pytest.approx(1, abs=0.00001)
