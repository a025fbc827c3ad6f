"""Warmth: the rule of the house, normals from day to day, and degree-days against plain sums."""

from collections.abc import Callable
from datetime import date
from math import pi, sin

import pytest

from cropplan.growth.warmth import (
    Cutoff,
    DayWarmth,
    average_degree_days,
    from_month_normals,
    house_temperature,
    met_service_degree_days,
    sine_degree_days,
    steady,
    triangle_degree_days,
)
from cropplan.problems import Refusal

NORMALS = tuple(DayWarmth(low=float(low), high=low + 8.0) for low in range(12))


def test_a_low_above_its_high_is_refused() -> None:
    """The two are swapped; both are shown."""
    with pytest.raises(Refusal, match="low of 20 °C is above its high of 10 °C"):
        DayWarmth(low=20, high=10)


def test_a_ceiling_under_the_base_is_refused() -> None:
    """No degree-days lie between them."""
    with pytest.raises(Refusal, match="ceiling of 5 °C must be above the base of 10 °C"):
        sine_degree_days(steady(20), 10, 5)


def _summed(wave: Callable[[float], float], rate: Callable[[float], float]) -> float:
    moments = 20_000
    return sum(rate(wave((moment + 0.5) / moments)) for moment in range(moments)) / moments


def _rate(cutoff: Cutoff, base: float, ceiling: float) -> Callable[[float], float]:
    def horizontal(temp: float) -> float:
        return min(max(temp - base, 0), ceiling - base)

    def intermediate(temp: float) -> float:
        return max(temp - base, 0) - 2 * max(temp - ceiling, 0)

    def vertical(temp: float) -> float:
        return max(temp - base, 0) if temp <= ceiling else 0.0

    return {"horizontal": horizontal, "intermediate": intermediate, "vertical": vertical}[cutoff]


@pytest.mark.parametrize("cutoff", ["horizontal", "intermediate", "vertical"])
@pytest.mark.parametrize(
    ("low", "high"), [(10, 25), (5, 25), (5, 35), (15, 35), (20, 40), (32, 40), (2, 8), (22, 22)]
)
def test_closed_forms_equal_the_sum_over_twenty_thousand_moments(
    cutoff: Cutoff, low: float, high: float
) -> None:
    """Each cut-off as UC IPM defines it, the day a sine or a triangle; base 10, ceiling 30."""
    day = DayWarmth(low=low, high=high)
    rate = _rate(cutoff, 10, 30)
    sine = _summed(lambda t: day.mean + (high - low) / 2 * sin(2 * pi * t), rate)
    triangle = _summed(lambda t: low + (high - low) * (1 - abs(2 * t - 1)), rate)
    assert sine_degree_days(day, 10, 30, cutoff) == pytest.approx(sine, abs=3e-3)
    assert triangle_degree_days(day, 10, 30, cutoff) == pytest.approx(triangle, abs=3e-3)


def test_without_a_ceiling_heat_has_no_end() -> None:
    """None means no cut-off: a hot day counts in full."""
    assert sine_degree_days(DayWarmth(low=30, high=50), 10) == 30
    assert triangle_degree_days(DayWarmth(low=30, high=50), 10) == 30


def test_a_day_far_beyond_an_intermediate_cut_off_is_worth_nothing() -> None:
    """The falling rate ends at zero; a plant does not grow backward."""
    assert sine_degree_days(DayWarmth(low=50, high=70), 10, 30, "intermediate") == 0


@pytest.mark.parametrize(
    ("low", "high", "expected"), [(12, 20, 6), (2, 8, 0), (6, 20, 4), (2, 14, 1)]
)
def test_the_met_service_rule_has_its_four_cases(low: float, high: float, expected: float) -> None:
    """Cases I to IV as Met Éireann prints them, base 10, worked by hand."""
    assert met_service_degree_days(DayWarmth(low=low, high=high), 10) == expected


def test_every_rule_agrees_on_a_steady_day() -> None:
    """They differ only in how the day swings."""
    rules = (average_degree_days, met_service_degree_days, sine_degree_days, triangle_degree_days)
    assert {rule(steady(17.5), 10) for rule in rules} == {7.5}


def test_normals_are_met_in_the_middle_of_the_month() -> None:
    """16 January at noon is the middle of its 31 days; half a day off moves it a thousandth."""
    middle = from_month_normals(NORMALS, date(2026, 1, 16))
    assert middle.low == pytest.approx(0, abs=0.02)


def test_normals_run_over_the_new_year() -> None:
    """December's 11 °C and January's 0 °C meet half way at the turn of the year."""
    last, first = (
        from_month_normals(NORMALS, day) for day in (date(2025, 12, 31), date(2026, 1, 1))
    )
    assert last.low > 5.5 > first.low
    assert last.low - first.low == pytest.approx(11 * pi / 2 / 31, rel=0.01)


def test_normals_never_stray_beyond_the_months_around() -> None:
    """A half cosine does not overshoot."""
    for ordinal in range(date(2028, 1, 1).toordinal(), date(2029, 1, 1).toordinal()):
        warmth = from_month_normals(NORMALS, date.fromordinal(ordinal))
        assert 0 <= warmth.low <= 11
        assert warmth.high - warmth.low == pytest.approx(8)


def test_normals_of_fewer_than_twelve_months_are_refused() -> None:
    """Twelve months, January first."""
    with pytest.raises(Refusal, match="got 1"):
        from_month_normals(NORMALS[:1], date(2026, 1, 1))


@pytest.mark.parametrize(
    ("outside", "day_set", "night_set", "expected"),
    [
        ((-5, 2), 20, 16, (16, 20)),  # a cold day: the heating holds both
        ((8, 18), 20, 16, (16, 24)),  # mild: the sun lifts the day beyond its set point
        ((18, 30), 20, 16, (18, 30)),  # hot: vents are open and outside rules
        ((8, 22), 20, 16, (16, 25)),  # warm: vents hold the lift at 25
        ((3, 10), None, None, (3, 16)),  # unheated
        ((3, 10), None, 18, (18, 18)),  # a night set point above the day's warmth
    ],
)
def test_the_rule_of_the_house(
    outside: tuple[float, float],
    day_set: float | None,
    night_set: float | None,
    expected: tuple[float, float],
) -> None:
    """Never below its set points, never below outside, the sun's 6 °C held at the vents' 25."""
    inside = house_temperature(
        DayWarmth(low=outside[0], high=outside[1]),
        day_set_c=day_set,
        night_set_c=night_set,
        sun_rise_c=6,
        vent_c=25,
    )
    assert (inside.low, inside.high) == expected


def test_a_house_without_vents_rises_freely() -> None:
    """No vents, no limit to the sun's lift."""
    inside = house_temperature(
        DayWarmth(low=18, high=30), day_set_c=None, night_set_c=None, sun_rise_c=9
    )
    assert inside.high == 39
