"""What is typed in a house's units and shown again in them is the same amount."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropplan.cli import amounts
from cropplan.holding.house import Units
from cropplan.schedule.measures import mass_text, volume_text, warmth_text

UNITS = st.sampled_from(Units)


def metric() -> Units:
    """A house in metric units; a typed unit never asks."""
    return Units.METRIC


@given(st.floats(min_value=1, max_value=20_000), UNITS)
def test_masses_come_back_to_the_figures_shown(grams: float, units: Units) -> None:
    """Ounces and pounds: NIST Handbook 44, Appendix C; half of the last figure may be lost."""
    shown = mass_text(grams, units)
    lost = {"oz": 0.05 * 28.35, "lb": 0.05 * 453.6, "g": 0.5, "kg": 500}[shown.split()[1]]
    assert amounts.grams(shown.replace(" ", ""), metric) == pytest.approx(grams, abs=lost * 1.01)


@given(st.floats(min_value=0.5, max_value=20_000), UNITS)
def test_volumes_come_back_to_the_figures_shown(litres: float, units: Units) -> None:
    """US gallons of 231 cubic inches: NIST Handbook 44, Appendix C."""
    shown = volume_text(litres, units)
    digit = 0.05 if "." in shown else 0.5
    lost = digit * (3.7854 if units is Units.US else 1.0)
    assert amounts.litres(shown.replace(" ", ""), metric) == pytest.approx(litres, abs=lost * 1.01)


@given(st.floats(min_value=-5, max_value=45), UNITS)
def test_temperatures_come_back_to_the_degree_shown(celsius: float, units: Units) -> None:
    """°F is 1.8 °C + 32; shown to the degree of the house's scale."""
    shown = warmth_text(celsius, units).replace(" °", "")
    lost = 0.5 / 1.8 if units is Units.US else 0.5
    assert amounts.celsius(shown, metric) == pytest.approx(celsius, abs=lost * 1.01)
