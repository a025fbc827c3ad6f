"""Degree-days against handbooks, another library's printed values, and hourly thermometers."""

import csv
from importlib.util import find_spec
from itertools import groupby
from pathlib import Path

import pytest

from cropplan.growth.readings import read_days
from cropplan.growth.warmth import (
    DayWarmth,
    average_degree_days,
    met_service_degree_days,
    modified_degree_days,
    sine_degree_days,
    triangle_degree_days,
)


def _from_fahrenheit(low: float, high: float) -> DayWarmth:
    return DayWarmth(low=(low - 32) / 1.8, high=(high - 32) / 1.8)


def _c(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def test_the_average_as_the_citrus_handbook_works_it() -> None:
    """UC IPM, citrus, "a simple way to calculate degree-days": mean 64 °F less 53 °F is 11 °D."""
    assert average_degree_days(_from_fahrenheit(52, 76), _c(53)) * 1.8 == pytest.approx(11)


@pytest.mark.parametrize(
    ("low", "high", "expected"), [(65, 90, 25.5), (46, 72, 11), (42, 63, 6.5), (63, 87, 24.5)]
)
def test_the_corn_rule_as_extension_services_work_it(
    low: float, high: float, expected: float
) -> None:
    """Base 50, ceiling 86 °F: three days in the Waushara Argus, 25 April 2018 (calculating growing
    degree days: 25.5, 11, 6.5); 87/63 in Karhoff, Ohio State University Extension, June 2023."""
    found = modified_degree_days(_from_fahrenheit(low, high), _c(50), _c(86))
    assert found * 1.8 == pytest.approx(expected)


@pytest.mark.parametrize(
    ("low", "high", "sine", "triangle"),
    [
        (7, 14, 0.47, 0.29),
        (7, 10, 0, 0),
        (13, 14, 1.5, 1.5),
        (13, 40, 12.94, 13.59),
        (7, 40, 10.94, 11.14),
    ],
)
def test_single_sine_and_triangle_as_trenchr_expects_them(
    low: float, high: float, sine: float, triangle: float
) -> None:
    """TrenchR, tests of degree_days (after UC IPM 2016): thresholds 12 and 33 °C, horizontal
    cut-off, to 0.01.

    Its sixth row, 35 to 40 °C, is left out: there its single sine expects 5, high less low, while
    its triangle and its double sine expect 21, the whole range, which is ours.
    """
    day = DayWarmth(low=low, high=high)
    assert sine_degree_days(day, 12, 33) == pytest.approx(sine, abs=0.01)
    assert triangle_degree_days(day, 12, 33) == pytest.approx(triangle, abs=0.01)


def test_a_day_above_the_ceiling_is_worth_the_whole_range() -> None:
    """TrenchR, single and double triangulation and double sine, 35 to 40 °C: 21 = 33 - 12."""
    day = DayWarmth(low=35, high=40)
    assert sine_degree_days(day, 12, 33) == pytest.approx(21)
    assert triangle_degree_days(day, 12, 33) == pytest.approx(21)


def test_the_met_service_rule_on_the_same_day() -> None:
    """Met Éireann, degree days, case IV: (14 - 12) / 4."""
    assert met_service_degree_days(DayWarmth(low=7, high=14), 12) == 0.5


def _seattle(name: str) -> str:
    found = find_spec("vega_datasets")
    assert found is not None
    assert found.origin is not None
    return (Path(found.origin).parent / "_data" / name).read_text()


def test_a_real_year_of_daily_extremes() -> None:
    """NOAA's Seattle record for 2014, in vega_datasets, base 10 °C; worked out
    beforehand by a script that shares no code with ours: average 1490.2, triangle 1537.9, sine
    1559.7."""
    days, problems = read_days(_seattle("seattle-weather.csv"), file="seattle-weather.csv")
    assert problems == ()
    warmths = [day.warmth for day in days if day.day.year == 2014]
    assert len(warmths) == 365
    assert sum(average_degree_days(day, 10) for day in warmths) == pytest.approx(1490.2, abs=0.1)
    assert sum(triangle_degree_days(day, 10) for day in warmths) == pytest.approx(1537.9, abs=0.1)
    assert sum(sine_degree_days(day, 10) for day in warmths) == pytest.approx(1559.7, abs=0.1)


def test_rules_against_hourly_thermometers() -> None:
    """NOAA's hourly Seattle temperatures for 2010, in vega_datasets: the sum over the hours is the
    truth. From low and high alone the triangle is within 5 % of it and the sine within 6 %, both
    above; the corn rule is out by more than either."""
    text = _seattle("seattle-temps.csv")
    rows = [(stamp[:10], float(temp)) for stamp, temp in list(csv.reader(text.splitlines()))[1:]]
    truth = 0.0
    for _, hours in groupby(rows, key=lambda row: row[0]):
        temps = [_c(temp) for _, temp in hours]
        truth += sum(max(0, temp - 10) for temp in temps) / len(temps)
    days, _ = read_days(text, file="seattle-temps.csv")
    triangle = sum(triangle_degree_days(day.warmth, 10) for day in days)
    sine = sum(sine_degree_days(day.warmth, 10) for day in days)
    corn = sum(modified_degree_days(day.warmth, 10, 30) for day in days)
    assert truth < triangle < truth * 1.05
    assert truth < sine < truth * 1.06
    assert corn > sine
