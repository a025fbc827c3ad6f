"""Stages: days added forward and backward, spans, overdue stages, setbacks."""

from datetime import date, timedelta
from functools import cache

import pytest

from cropplan.growth.chance import spread_from
from cropplan.growth.stages import (
    DayConditions,
    Forecast,
    LightSum,
    Pace,
    PlainDays,
    TemperatureGrid,
    ThermalTime,
    Weather,
    catalogue_spread,
    finish,
    forecast,
    forecast_after,
    given_not_yet,
    progress,
    start_for,
)
from cropplan.growth.warmth import DayWarmth, steady

NEW_YEAR = date(2026, 1, 1)
TEN_DAYS = PlainDays(low=8, typical=10, high=13)
RIPENING = TemperatureGrid(points=((14, 95), (18, 65), (22, 46), (26, 42)))


def steady_weather(temp_c: float, dli: float = 20.0) -> Weather:
    """The same day for ever."""
    conditions = DayConditions(warmth=steady(temp_c), dli=dli)
    return lambda _: conditions


@cache
def warming(day: date) -> DayConditions:
    """A tenth of a degree warmer every day of the year, between 8 and 44 °C."""
    low = day.timetuple().tm_yday / 10
    return DayConditions(warmth=DayWarmth(low=low + 4, high=low + 12), dli=low)


def in_days(count: int) -> date:
    """So many days after the new year."""
    return NEW_YEAR + timedelta(days=count)


def test_ten_days_from_the_first_end_on_the_eleventh() -> None:
    """The day a stage begins counts, the day it ends does not."""
    assert finish(TEN_DAYS, NEW_YEAR, steady_weather(20)) == date(2026, 1, 11)


def test_a_stage_may_cross_months_and_years() -> None:
    """46 days from mid December end at the turn of January."""
    assert finish(RIPENING, date(2025, 12, 16), steady_weather(22)) == date(2026, 1, 31)


def test_a_stage_may_end_on_the_first_of_a_month() -> None:
    """The last share falls on the 31st, so the stage ends on the 1st."""
    assert finish(TEN_DAYS, date(2026, 1, 22), steady_weather(20)) == date(2026, 2, 1)


def test_a_factor_stretches_the_duration() -> None:
    """A house half as slow again takes fifteen days of ten."""
    assert finish(TEN_DAYS, NEW_YEAR, steady_weather(20), 1.5) == in_days(15)


def test_a_factor_of_nothing_ends_where_it_begins() -> None:
    """No progress needed, no day taken; backward as well."""
    assert finish(TEN_DAYS, NEW_YEAR, warming, 0) == NEW_YEAR
    assert start_for(TEN_DAYS, NEW_YEAR, warming, 0) == NEW_YEAR


def test_a_stage_that_never_ends_says_so() -> None:
    """Below its base for ever, or without light for ever, there is no date, forward or back."""
    paces: list[Pace] = [ThermalTime(base_c=10, degree_days=50), LightSum(days_min=4, mol=9)]
    cold_and_dark = steady_weather(5, dli=0)
    for pace in paces:
        assert finish(pace, NEW_YEAR, cold_and_dark) is None
        assert start_for(pace, NEW_YEAR, cold_and_dark) is None
        assert forecast(pace, NEW_YEAR, cold_and_dark) is None
        assert given_not_yet(pace, NEW_YEAR, in_days(9), cold_and_dark) is None


@pytest.mark.parametrize("pace", [TEN_DAYS, RIPENING, ThermalTime(base_c=10, degree_days=300)])
@pytest.mark.parametrize("wanted", [40, 59, 90, 152, 200, 300])
def test_the_last_day_to_start_is_the_last(pace: Pace, wanted: int) -> None:
    """Started then, the stage has ended by the wanted day; a day later it has not."""
    day = in_days(wanted)
    start = start_for(pace, day, warming)
    assert start is not None
    ended = finish(pace, start, warming)
    ended_late = finish(pace, start + timedelta(days=1), warming)
    assert ended is not None
    assert ended_late is not None
    assert ended <= day < ended_late


def test_progress_is_what_finish_adds_up() -> None:
    """On the day before the end less than one, on the end one or more; none backward."""
    end = finish(RIPENING, NEW_YEAR, warming)
    assert end is not None
    assert progress(RIPENING, NEW_YEAR, end - timedelta(days=1), warming) < 1
    assert progress(RIPENING, NEW_YEAR, end, warming) >= 1
    assert progress(RIPENING, end, NEW_YEAR, warming) == 0


def test_progress_over_a_long_stretch_is_the_sum_of_its_parts() -> None:
    """Whatever month the cut falls in."""
    whole = progress(RIPENING, NEW_YEAR, in_days(300), warming)
    for cut in (1, 30, 31, 58, 200, 299):
        parts = progress(RIPENING, NEW_YEAR, in_days(cut), warming)
        parts += progress(RIPENING, in_days(cut), in_days(300), warming)
        assert parts == pytest.approx(whole)


def test_a_duration_seen_is_a_ratio_to_the_one_predicted() -> None:
    """Fourteen days of a predicted ten are a ratio of 1.4."""
    assert progress(TEN_DAYS, NEW_YEAR, in_days(14), warming) == pytest.approx(1.4)


def test_five_lost_days_move_the_end_by_five() -> None:
    """A heater out for five days, in which nothing grew, is five days later."""

    def setback(day: date) -> DayConditions:
        out = in_days(3) <= day < in_days(8)
        return DayConditions(warmth=steady(20), dli=20, lost=1.0 if out else 0.0)

    assert finish(TEN_DAYS, NEW_YEAR, setback) == in_days(15)


def test_a_forecast_spans_the_low_and_high_of_the_pace() -> None:
    """Nothing learnt: eight in ten lie between the catalogue's own figures."""
    assert forecast(TEN_DAYS, NEW_YEAR, steady_weather(20)) == Forecast(
        likely=in_days(10), earliest=in_days(8), latest=in_days(13), clamped=False
    )


def test_a_forecast_takes_what_the_house_has_taught() -> None:
    """A house that takes 1.5 times as long, give or take a tenth."""
    slow = spread_from(1.4, 1.5, 1.6, 8)
    assert forecast(TEN_DAYS, NEW_YEAR, steady_weather(20), slow) == Forecast(
        likely=in_days(15), earliest=in_days(14), latest=in_days(16), clamped=False
    )


@pytest.mark.parametrize(("temp", "clamped"), [(13.9, True), (14, False), (26, False), (27, True)])
def test_a_forecast_says_when_it_left_what_was_measured(temp: float, clamped: bool) -> None:
    """The mean of any day before the likely end counts."""
    told = forecast(RIPENING, NEW_YEAR, steady_weather(temp))
    assert told is not None
    assert told.clamped is clamped


def test_cold_after_the_end_does_not_clamp_a_forecast() -> None:
    """Only days that the stage goes through matter; those of its own month before it do not."""

    def cold_outside_of_it(day: date) -> DayConditions:
        inside = date(2026, 1, 20) <= day < date(2026, 3, 7)
        return DayConditions(warmth=steady(22 if inside else 5), dli=20)

    told = forecast(RIPENING, date(2026, 1, 20), cold_outside_of_it)
    assert told is not None
    assert not told.clamped
    assert told.likely == date(2026, 3, 7)


def test_an_overdue_stage_is_predicted_from_today_on() -> None:
    """Twenty days into ten that nine in ten end by 13: no date in the past, and a span."""
    told = given_not_yet(TEN_DAYS, NEW_YEAR, in_days(20), steady_weather(20))
    assert told is not None
    assert in_days(20) < told.earliest <= told.likely <= told.latest


def test_a_stage_hardly_begun_is_predicted_as_if_unwatched() -> None:
    """That it has not ended on its second day says nothing."""
    fresh = forecast(TEN_DAYS, NEW_YEAR, steady_weather(20))
    assert given_not_yet(TEN_DAYS, NEW_YEAR, in_days(1), steady_weather(20)) == fresh


def test_waiting_pushes_the_likely_day_on_and_never_back() -> None:
    """Each further day without the event leaves the later days only."""
    likely = []
    for waited in range(1, 30):
        told = given_not_yet(TEN_DAYS, NEW_YEAR, in_days(waited), steady_weather(20))
        assert told is not None
        likely.append(told.likely)
    assert likely == sorted(likely)


def test_wide_tails_keep_an_overdue_stage_open_for_longer() -> None:
    """The less the spread is known, the longer a stage long overdue may yet take."""
    waits = []
    for df in (3.0, 30.0):
        spread = spread_from(0.8, 1.0, 1.3, df)
        told = given_not_yet(TEN_DAYS, NEW_YEAR, in_days(20), steady_weather(20), spread)
        assert told is not None
        waits.append(told.latest)
    assert waits[0] > waits[1]


def test_a_stage_after_a_predicted_one_adds_doubts_as_squares() -> None:
    """3 and 4 days of doubt are 5; the second begins on the likely day of the first."""
    first = Forecast(likely=in_days(10), earliest=in_days(7), latest=in_days(14), clamped=True)
    second = PlainDays(low=16, typical=20, high=23)
    told = forecast_after(first, second, steady_weather(20))
    assert told == Forecast(
        likely=in_days(30), earliest=in_days(25), latest=in_days(35), clamped=True
    )


def test_a_stage_after_a_predicted_one_may_never_end() -> None:
    """In the dark a light sum has no date to give."""
    first = Forecast(likely=in_days(1), earliest=in_days(1), latest=in_days(1), clamped=False)
    assert forecast_after(first, LightSum(days_min=4, mol=9), steady_weather(20, dli=0)) is None


def test_a_latest_day_beyond_the_horizon_is_the_horizon() -> None:
    """Likely within three years but perhaps not: the span ends where looking ends."""
    slow = PlainDays(low=500, typical=800, high=4000)
    told = forecast(slow, NEW_YEAR, steady_weather(20))
    assert told is not None
    assert told.latest == in_days(36 * 30)


def test_the_catalogue_spread_is_the_pace_s_own() -> None:
    """Low and high as ratios, one in ten beyond each."""
    spread = catalogue_spread(TEN_DAYS)
    assert spread.ratio_at(0.1) == pytest.approx(0.8)
    assert spread.ratio_at(0.9) == pytest.approx(1.3)
