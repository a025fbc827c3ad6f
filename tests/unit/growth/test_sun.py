"""The sun: what must hold at any latitude, beside the published figures."""

from datetime import date

import pytest

from cropplan.growth.sun import (
    day_length,
    days_below,
    extraterrestrial_radiation,
    geometric_day_length,
)
from cropplan.problems import Refusal


def test_polar_night_has_no_day_and_no_radiation() -> None:
    """At 75° N in midwinter the sun stays down; FAO-56's hour angle is held at 0."""
    midwinter = date(2026, 12, 21)
    assert day_length(75, midwinter) == 0
    assert geometric_day_length(75, 355) == 0
    assert extraterrestrial_radiation(75, midwinter) == pytest.approx(0, abs=1e-9)


def test_polar_day_lasts_the_clock_round() -> None:
    """At 75° N in midsummer the sun stays up; the day is 24 h, not more."""
    assert day_length(75, date(2026, 6, 21)) == pytest.approx(24)
    assert geometric_day_length(75, 172) == pytest.approx(24)


@pytest.mark.parametrize("latitude", [90, -90])
def test_the_poles_themselves_are_answered(latitude: float) -> None:
    """The tangent of 90° is not a trap: each pole has half a year of each."""
    lengths = {round(day_length(latitude, date(2026, month, 1))) for month in (1, 7)}
    assert lengths == {0, 24}


def test_a_latitude_off_the_globe_is_refused_with_what_was_typed() -> None:
    """A swapped latitude and longitude is the usual mistake; the figure is shown."""
    with pytest.raises(Refusal, match=r"'151\.2'.*-90 \(south\) to 90"):
        day_length(151.2, date(2026, 1, 1))


def test_the_dark_window_in_the_north_spans_the_new_year() -> None:
    """At 52° N days under 10 h begin in late October and end in the next February."""
    ((first, last),) = days_below(52, 2026)
    assert first.year == 2026
    assert last.year == 2027
    assert (first.month, last.month) == (10, 2)


def test_the_dark_window_in_the_south_lies_within_the_year() -> None:
    """At 40° S the same window is May to July."""
    ((first, last),) = days_below(-40, 2026)
    assert (first.year, first.month, last.year, last.month) == (2026, 5, 2026, 7)


@pytest.mark.parametrize("latitude", [-66, -40, 35, 52, 64.5, 80])
def test_the_window_holds_the_dark_days_and_no_others(latitude: float) -> None:
    """First and last day are under ten hours; the days beside them are not."""
    ((first, last),) = days_below(latitude, 2026)
    before = date.fromordinal(first.toordinal() - 1)
    after = date.fromordinal(last.toordinal() + 1)
    assert day_length(latitude, first) < 10 <= day_length(latitude, before)
    assert day_length(latitude, last) < 10 <= day_length(latitude, after)


def test_there_is_no_dark_window_in_the_tropics() -> None:
    """At the equator no day is under ten hours."""
    assert days_below(0, 2026) == ()


def test_where_every_day_is_too_short_the_window_is_the_year() -> None:
    """Asked for thirteen hours at the equator, no day ever has them."""
    assert days_below(0, 2026, hours=13) == ((date(2026, 1, 1), date(2026, 12, 31)),)


def test_longitude_moves_noon_and_so_the_day_by_minutes() -> None:
    """Half way round the globe the same date's noon comes half a day earlier in the sun's year."""
    here = day_length(65, date(2026, 3, 20))
    east = day_length(65, date(2026, 3, 20), longitude=179)
    assert 1 < abs(here - east) * 60 < 5
