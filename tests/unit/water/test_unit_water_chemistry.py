"""Ranges and refusals of the ammonia and oxygen equations."""

from __future__ import annotations

import math

import pytest

from cropplan.problems import Refusal
from cropplan.water import ammonia, oxygen


def test_the_total_at_the_limit_has_just_the_limit_un_ionised() -> None:
    """The answer to 'how much may the test read today' turns back into the limit."""
    total = ammonia.total_at_limit(0.05, 24, 8.0)
    assert ammonia.un_ionised(total, 24, 8.0) == pytest.approx(0.05)


def test_protein_share_of_feed_becomes_ammonia() -> None:
    """1 kg of 32 % feed gives 29.44 g: arithmetic on a constant from memory, no published check."""
    assert ammonia.tan_from_feed(1000, 0.32) == pytest.approx(29.44)


@pytest.mark.parametrize("share", [32, -0.1, math.nan])
def test_protein_given_in_per_cent_is_refused(share: float) -> None:
    """32 for 0.32 would be a hundredfold; the refusal shows the right form."""
    with pytest.raises(Refusal, match=r"32 % is 0\.32"):
        ammonia.tan_from_feed(1000, share)


@pytest.mark.parametrize("temp_water", [-0.1, 50.1, math.nan])
def test_ammonia_outside_the_range_of_its_equation_is_refused(temp_water: float) -> None:
    """Emerson et al. 1975 hold for 0 to 50 degC."""
    with pytest.raises(Refusal, match="0 to 50"):
        ammonia.un_ionised_fraction(temp_water, 7)


@pytest.mark.parametrize("ph", [-1, 67, math.nan])
def test_ph_outside_its_scale_is_refused(ph: float) -> None:
    """The scale runs from 0 to 14."""
    with pytest.raises(Refusal, match="0 to 14"):
        ammonia.un_ionised_fraction(20, ph)


@pytest.mark.parametrize("total", [-0.1, math.nan])
def test_negative_ammonia_is_refused(total: float) -> None:
    """No test reads below zero."""
    with pytest.raises(Refusal, match="cannot be below zero"):
        ammonia.un_ionised(total, 20, 7)


def test_negative_feed_makes_no_ammonia() -> None:
    """Refused with the figure."""
    with pytest.raises(Refusal, match="-3 g/d"):
        ammonia.tan_from_feed(-3, 0.32)


@pytest.mark.parametrize("temp_water", [-0.1, 40.1, math.nan])
def test_oxygen_outside_the_range_of_its_equation_is_refused(temp_water: float) -> None:
    """Benson and Krause hold for 0 to 40 degC."""
    with pytest.raises(Refusal, match="0 to 40"):
        oxygen.saturation(temp_water, pressure=101.325)


@pytest.mark.parametrize("pressure", [1013.25, 1.0, 50, 112])
def test_air_pressure_in_another_unit_is_refused(pressure: float) -> None:
    """Hectopascals and atmospheres fall outside 0.5 to 1.1 atmospheres in kilopascals."""
    with pytest.raises(Refusal, match=r"1013 hPa is 101\.3 kPa"):
        oxygen.saturation(20, pressure=pressure)


@pytest.mark.parametrize("altitude", [-501, 5001, math.nan])
def test_altitude_outside_where_anyone_gardens_is_refused(altitude: float) -> None:
    """The equation is for the lowest layer of air."""
    with pytest.raises(Refusal, match="-500 to 5000"):
        oxygen.air_pressure(altitude)


def test_negative_oxygen_is_refused() -> None:
    """No test reads below zero."""
    with pytest.raises(Refusal, match="oxygen -1 mg/L"):
        oxygen.share_of_saturation(-1, 20, pressure=101.325)


def test_half_the_saturation_is_a_share_of_a_half() -> None:
    """A share, not a percentage."""
    full = oxygen.saturation(20, pressure=95)
    assert oxygen.share_of_saturation(full / 2, 20, pressure=95) == pytest.approx(0.5)
