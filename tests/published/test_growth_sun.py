"""The sun against FAO-56's worked examples, two ephemerides and pvlib.

Every figure names its source beside it; figures of a library are computed by that library here.
"""

from datetime import date, datetime, timedelta

import ephem
import numpy as np
import pandas as pd
import pvlib
import pytest
from astral import Observer
from astral.sun import sunrise, sunset

from cropplan.growth.sun import (
    day_length,
    declination,
    extraterrestrial_radiation,
    geometric_day_length,
    relative_distance,
    sunset_hour_angle,
)

YEAR = [date(2026, 1, 1) + timedelta(days=day) for day in range(365)]


def test_fao_56_example_8_radiation_above_the_air() -> None:
    """FAO-56 (Allen et al. 1998) ex. 8: 20° S, 3 September (J 246): the book's 32.2 MJ m-2 d-1.

    To more figures: pyet 1.5.0 and refet 0.5.0 ("asce") print 32.193996 for the same inputs.
    """
    assert relative_distance(246) == pytest.approx(0.985, abs=5e-4)
    assert declination(246) == pytest.approx(0.120, abs=5e-4)
    assert sunset_hour_angle(-20, 246) == pytest.approx(1.527, abs=5e-4)
    found = extraterrestrial_radiation(-20, date(2023, 9, 3))
    assert found == pytest.approx(32.2, abs=0.05)
    assert found == pytest.approx(32.193996, abs=1e-6)


def test_fao_56_example_9_day_length() -> None:
    """FAO-56 ex. 9: the same day and place, 11.7 h.

    The NCL documentation of daylight_fao56 prints 11.66559.
    """
    assert geometric_day_length(-20, 246) == pytest.approx(11.7, abs=0.05)
    assert geometric_day_length(-20, 246) == pytest.approx(11.66559, abs=1e-5)


def test_alice_springs_as_the_waterflows_tests_print_it() -> None:
    """WaterFlows.jl, test/solar_rad.jl: 23.7951° S, 20 July 1980 (J 202)."""
    assert relative_distance(202) == pytest.approx(0.9688418, abs=1e-7)
    assert declination(202) == pytest.approx(0.3556525, abs=1e-7)
    assert sunset_hour_angle(-23.7951, 202) == pytest.approx(1.4062651, abs=1e-7)
    assert geometric_day_length(-23.7951, 202) == pytest.approx(10.7430738, abs=1e-7)
    found = extraterrestrial_radiation(-23.7951, date(1980, 7, 20))
    assert found == pytest.approx(23.6182205, abs=1e-7)


def _by_ephem(latitude: float, longitude: float, day: date) -> float:
    """Sunrise to sunset of the upper edge with 34' of refraction, PyEphem. [h]"""
    place = ephem.Observer()
    place.lat, place.lon = str(latitude), str(longitude)
    place.pressure, place.horizon = 0, "-0:50"
    noon = datetime(day.year, day.month, day.day, 12)  # noqa: DTZ001 - PyEphem takes naive UTC
    place.date = ephem.Date(noon) - longitude / 360
    rise = place.previous_rising(ephem.Sun(), use_center=True)
    fall = place.next_setting(ephem.Sun(), use_center=True)
    return float(fall - rise) * 24


def _by_astral(latitude: float, day: date) -> float:
    place = Observer(latitude, 0, 0)
    hours = (sunset(place, day) - sunrise(place, day)).total_seconds() / 3600
    return hours if hours > 0 else hours + 24


@pytest.mark.parametrize("latitude", range(-65, 66, 5))
def test_day_length_is_within_two_minutes_of_ephem_all_year(latitude: int) -> None:
    """PyEphem 4 (VSOP87), every day of 2026; in fact within half a minute."""
    worst = max(abs(day_length(latitude, day) - _by_ephem(latitude, 0, day)) for day in YEAR)
    assert worst * 60 < 0.5


@pytest.mark.parametrize("longitude", [-170, 120])
def test_day_length_holds_far_from_greenwich(longitude: int) -> None:
    """PyEphem again, where noon falls on another hour of the sun's year."""
    for latitude in (-60, 50, 65):
        for day in YEAR[::5]:
            ours = day_length(latitude, day, longitude=longitude)
            assert abs(ours - _by_ephem(latitude, longitude, day)) * 60 < 0.5


@pytest.mark.parametrize("latitude", range(-60, 61, 12))
def test_day_length_is_within_two_minutes_of_astral_all_year(latitude: int) -> None:
    """Astral 3, every day of 2026, to 60°."""
    worst = max(abs(day_length(latitude, day) - _by_astral(latitude, day)) for day in YEAR)
    assert worst * 60 < 2


@pytest.mark.parametrize("latitude", [-65, 65])
def test_where_astral_differs_more_it_is_astral_that_strays(latitude: int) -> None:
    """At 65°, in the weeks about the long day, astral is 2 to 3 min from us and from PyEphem."""
    apart = [
        day for day in YEAR if abs(day_length(latitude, day) - _by_astral(latitude, day)) > 1 / 30
    ]
    assert 0 < len(apart) < 60
    for day in apart:
        ours, exact = day_length(latitude, day), _by_ephem(latitude, 0, day)
        assert abs(ours - exact) < abs(_by_astral(latitude, day) - exact) / 3
        assert abs(ours - _by_astral(latitude, day)) * 60 < 3.5


@pytest.mark.parametrize(
    ("latitude", "day", "hours", "civil"),
    [
        (40, date(2025, 6, 21), 15.0164, 16.1125),
        (40, date(2025, 12, 21), 9.3274, 10.3473),
        (52, date(2025, 6, 21), 16.7344, 18.3652),
        (52, date(2025, 12, 21), 7.7423, 9.1084),
        (-20, date(2025, 9, 3), 11.7577, 12.4955),
    ],
)
def test_day_length_and_civil_twilight_as_skyfield_gives_them(
    latitude: float, day: date, hours: float, civil: float
) -> None:
    """Skyfield 1.55 with JPL DE421, computed once; within a minute."""
    assert day_length(latitude, day) == pytest.approx(hours, abs=1 / 60)
    assert day_length(latitude, day, dip=6) == pytest.approx(civil, abs=1 / 60)


def test_fao_day_length_is_short_of_the_almanac_s() -> None:
    """FAO-56 eq. 34 leaves out disc and refraction: from 7 min at the equator to 30 at
    60° against PyEphem, so it is not the one that people are shown."""
    short = [
        _by_ephem(latitude, 0, day) - geometric_day_length(latitude, day.timetuple().tm_yday)
        for latitude in (0, 60)
        for day in YEAR[::7]
    ]
    assert min(short) > 5 / 60
    assert 25 / 60 < max(short) < 32 / 60


def _by_pvlib(latitude: float, day: date) -> float:
    """Pvlib's extraterrestrial beam on the level over one day, by the minute. [MJ m-2 d-1]"""
    minutes = pd.date_range(f"{day} 00:00:30", periods=1440, freq="min", tz="UTC")
    zenith = pvlib.solarposition.get_solarposition(minutes, latitude, 0)["zenith"]
    beam = pvlib.irradiance.get_extra_radiation(minutes)
    return float((beam * np.cos(np.radians(zenith)).clip(lower=0)).sum() * 60 / 1e6)


@pytest.mark.parametrize(
    ("latitude", "worst_allowed"),
    [(0, 0.005), (-20, 0.015), (36.1, 0.025), (-36, 0.025), (55.3, 0.055)],
)
def test_radiation_above_the_air_against_pvlib(latitude: float, worst_allowed: float) -> None:
    """Pvlib's own solar position and beam, the middle of each month of 2025.

    FAO-56's simple declination runs about a day and a half off: nothing at the equator, 2.5 % at
    36° and 5 % at 55° in autumn. A site's clearness, made with the same R_a, takes it up.
    """
    for month in range(1, 13):
        day = date(2025, month, 15)
        ours, theirs = extraterrestrial_radiation(latitude, day), _by_pvlib(latitude, day)
        assert ours == pytest.approx(theirs, rel=worst_allowed), day
