"""Paces: how far a stage gets in a day, in each of the five forms."""

from collections.abc import Callable

import pytest

from cropplan.growth.pace_law import day_law, low_and_high, measured_range, rate, yan_hunt
from cropplan.growth.paces import (
    ROOTING,
    DayConditions,
    DimLight,
    LightSum,
    Pace,
    PlainDays,
    TemperatureGrid,
    ThermalTime,
    YanHunt,
)
from cropplan.growth.warmth import DayWarmth, steady
from cropplan.problems import Refusal

GRID = TemperatureGrid(points=((5, None), (10, 40), (20, 10), (30, 8), (35, None)))


def day(low: float, high: float, dli: float = 20, lost: float = 0) -> DayConditions:
    """A day, short."""
    return DayConditions(warmth=DayWarmth(low=low, high=high), dli=dli, lost=lost)


@pytest.mark.parametrize("temp", [-5, 10, 22, 40])
def test_plain_days_do_not_mind_the_temperature(temp: float) -> None:
    """Days without a stated scaling are days, at any temperature, and never clamped."""
    got = rate(PlainDays(low=8, typical=10, high=14, at_c=22), temp, 20)
    assert (got.per_day, got.clamped) == (0.1, False)


def test_scaled_days_are_the_stated_ones_at_the_stated_temperature() -> None:
    """At 22 °C ten days are ten; warmer is quicker up to the curve's optimum."""
    pace = PlainDays(low=8, typical=10, high=14, at_c=22, scaling=ROOTING)
    assert rate(pace, 22, 20).per_day == pytest.approx(0.1)
    assert rate(pace, 26, 20).per_day > 0.1 > rate(pace, 19, 20).per_day


@pytest.mark.parametrize(("beyond", "edge"), [(10, 18), (33, 30)])
def test_scaled_days_stop_at_the_edges_and_say_so(beyond: float, edge: float) -> None:
    """Below 18 and above 30 °C the reading at the edge is kept."""
    pace = PlainDays(low=8, typical=10, high=14, at_c=22, scaling=ROOTING)
    assert rate(pace, beyond, 20).per_day == rate(pace, edge, 20).per_day
    assert rate(pace, beyond, 20).clamped
    assert not rate(pace, edge, 20).clamped


def test_a_grid_runs_straight_in_rates_between_its_points() -> None:
    """At 15 °C, half way from 40 to 10 days, the rate is the mean of the two rates."""
    assert rate(GRID, 15, 20).per_day == pytest.approx((1 / 40 + 1 / 10) / 2)


def test_a_grid_goes_to_nothing_where_nothing_came() -> None:
    """A cell without emergence is a rate of 0, not a hole, and the way there is straight."""
    assert rate(GRID, 5, 20).per_day == 0
    assert rate(GRID, 7.5, 20).per_day == pytest.approx(1 / 80)
    assert not rate(GRID, 5, 20).clamped


@pytest.mark.parametrize("temp", [4.9, 35.1])
def test_a_grid_says_when_it_is_left(temp: float) -> None:
    """Outside the measured temperatures the edge is kept, and marked."""
    assert rate(GRID, temp, 20).clamped


def test_thermal_time_counts_from_its_base_to_its_ceiling() -> None:
    """100 degree-days over 10 °C: nothing at 8, a tenth at 20, no more at 40 than at 30."""
    pace = ThermalTime(base_c=10, ceiling_c=30, degree_days=100)
    assert [rate(pace, temp, 20).per_day for temp in (8, 20, 30, 40)] == [0, 0.1, 0.2, 0.2]


def test_a_fitted_curve_keeps_to_the_range_it_was_fitted_in() -> None:
    """Fitted from 14 to 26 °C, it is not read at 40, where it would be nothing."""
    pace = YanHunt(r_max=0.02, t_opt_c=26, t_max_c=36, from_c=14, to_c=26)
    assert rate(pace, 40, 20).per_day == pytest.approx(0.02)
    assert rate(pace, 40, 20).clamped
    assert rate(YanHunt(r_max=0.02, t_opt_c=26, t_max_c=36), 40, 20).per_day == 0


def test_light_sums_wait_for_light_until_days_rule() -> None:
    """287 mol at 5 a day are 57.4 days; at 20 a day they would be 14, so the 40 days rule."""
    pace = LightSum(days_min=40, mol=287)
    assert 1 / rate(pace, 20, 5).per_day == pytest.approx(57.4)
    assert 1 / rate(pace, 20, 20).per_day == pytest.approx(40)
    assert rate(pace, 20, 0).per_day == 0


@pytest.mark.parametrize(("strength", "expected"), [(1.0, 0.05), (0.5, 0.1 * 0.5**0.5), (0.0, 0.1)])
def test_dim_light_slows_by_its_strength(strength: float, expected: float) -> None:
    """At half of enough: half, the root of a half, or not at all."""
    pace = PlainDays(low=8, typical=10, high=14, dim=DimLight(enough=10, strength=strength))
    assert rate(pace, 20, 5).per_day == pytest.approx(expected)
    assert rate(pace, 20, 50).per_day == pytest.approx(0.1)


def test_a_lost_day_brings_nothing_and_half_a_lost_day_half() -> None:
    """A setback takes its share of every pace, the light sum's too."""
    paces: list[Pace] = [PlainDays(low=8, typical=10, high=14), LightSum(days_min=10, mol=1), GRID]
    for pace in paces:
        law = day_law(pace)
        whole = law(day(20, 20))
        assert law(day(20, 20, lost=1)) == 0
        assert law(day(20, 20, lost=0.5)) == pytest.approx(whole / 2)


def test_a_swinging_day_is_the_average_of_its_hours_not_its_mean() -> None:
    """10 to 30 °C on a rate that is 0 up to 20 and rises after: half the day counts, the mean
    would not. The four readings come within a tenth of the sum over 10 000 moments."""
    pace = TemperatureGrid(points=((20, None), (40, 5)))
    swung = day_law(pace)(day(10, 30))
    exact = 10 * 0.31831 / 20 / 5  # mean of the positive half of a sine, 1/pi
    assert swung == pytest.approx(exact, rel=0.1)
    assert day_law(pace)(day(20, 20)) == 0


def test_a_curve_with_its_top_at_one() -> None:
    """1 at the optimum, 0 at and beyond both ends."""
    assert yan_hunt(27, 27, 41) == 1
    assert [yan_hunt(temp, 27, 41) for temp in (-1, 0, 41, 50)] == [0, 0, 0, 0]


def test_each_pace_knows_its_own_span_and_range() -> None:
    """Days carry theirs in days, the others as ratios; light sums and plain days hold anywhere."""
    assert low_and_high(PlainDays(low=8, typical=10, high=15)) == (0.8, 1.5)
    assert low_and_high(ThermalTime(base_c=2, degree_days=9, low=0.9, high=1.1)) == (0.9, 1.1)
    assert measured_range(GRID) == (5, 35)
    assert measured_range(LightSum(days_min=4, mol=2)) is None
    assert measured_range(YanHunt(r_max=1, t_opt_c=20, t_max_c=30)) == (0, 30)


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (lambda: PlainDays(low=9, typical=8, high=10), "days of a stage must be above 0 and rise"),
        (lambda: PlainDays(low=8, typical=9, high=10, scaling=ROOTING), "temperature they were"),
        (lambda: ThermalTime(base_c=2, degree_days=0), "sum of 0 degree-days"),
        (lambda: ThermalTime(base_c=2, degree_days=9, low=1.2), "got 1.2, 1, 1.18"),
        (lambda: TemperatureGrid(points=()), "needs one or more temperatures"),
        (lambda: TemperatureGrid(points=((20, 5), (10, 9))), "each above the last"),
        (lambda: TemperatureGrid(points=((20, 0),)), "must be above 0; leave out"),
        (lambda: YanHunt(r_max=1, t_opt_c=30, t_max_c=20), "0 < optimum < maximum"),
        (lambda: LightSum(days_min=0, mol=5), "days and mol above 0"),
    ],
)
def test_a_pace_that_cannot_be_is_refused(made: Callable[[], Pace], said: str) -> None:
    """Each form's figures are checked where it is made."""
    with pytest.raises(Refusal, match=said):
        made()


def test_steady_days_need_no_averaging() -> None:
    """A day without a swing is read once, and reads the same."""
    assert day_law(GRID)(DayConditions(warmth=steady(15), dli=1)) == rate(GRID, 15, 1).per_day
