"""Feed for the fish: ration, growth and balance with the planted area."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from cropplan.problems import Refusal
from cropplan.water.feed import (
    FeedingRange,
    PlantedArea,
    RationBand,
    Verdict,
    appetite,
    area_fed,
    balance,
    daily_ration,
    feed_conversion,
    feed_needed,
    first_out_of_balance,
    ration_percent,
    weekly_balance,
    weight_now,
)

WARM = FeedingRange(stops_below=17, full_from=24, full_to=30, stops_above=36)
BANDS = (
    RationBand(up_to=20, percent_per_day=8),
    RationBand(up_to=100, percent_per_day=3.5),
    RationBand(up_to=math.inf, percent_per_day=1.5),
)
LEAVES = PlantedArea(area=4, ratio_low=40, ratio_high=50)
FRUIT = PlantedArea(area=2, ratio_low=50, ratio_high=80)
MONDAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("temp_water", "share"),
    [(10, 0), (17, 0), (20.5, 0.5), (24, 1), (28, 1), (30, 1), (33, 0.5), (36, 0), (40, 0)],
)
def test_appetite_rises_to_the_full_range_and_falls_beyond_it(
    temp_water: float, share: float
) -> None:
    """Cold and hot water cut the ration; common practice, no source for the straight line."""
    assert appetite(temp_water, WARM) == pytest.approx(share)


@pytest.mark.parametrize(
    ("body_weight", "percent"), [(5, 8), (20, 8), (20.1, 3.5), (100, 3.5), (400, 1.5)]
)
def test_small_fish_are_given_a_larger_share_of_their_weight(
    body_weight: float, percent: float
) -> None:
    """A band holds up to and with its weight; common practice, no source."""
    assert ration_percent(body_weight, BANDS) == percent


def test_fish_above_the_last_band_are_fed_as_the_last_band() -> None:
    """A table that ends at 100 g still feeds a fish of 300 g."""
    assert ration_percent(300, BANDS[:2]) == 3.5


def test_a_day_of_feed_is_count_times_weight_times_ration_times_appetite() -> None:
    """40 fish of 250 g at 1.5 % with half an appetite take 75 g."""
    feed = daily_ration(count=40, body_weight=250, temp_water=20.5, bands=BANDS, feeding=WARM)
    assert feed == pytest.approx(75)


def test_an_empty_tank_is_given_nothing() -> None:
    """No fish, no feed (situation: fallow tank)."""
    assert daily_ration(count=0, body_weight=250, temp_water=26, bands=BANDS, feeding=WARM) == 0


@pytest.mark.parametrize("weight", [0, -5, math.nan, math.inf])
def test_a_weight_that_no_fish_has_is_refused(weight: float) -> None:
    """The refusal names the weight that was given."""
    with pytest.raises(Refusal, match=f"{weight:g} g"):
        ration_percent(weight, BANDS)


def test_a_fish_without_any_ration_is_refused() -> None:
    """An empty table is a fault of the question, not a ration of nothing."""
    with pytest.raises(Refusal, match="no ration is known"):
        ration_percent(100, ())


def test_feeding_temperatures_out_of_order_are_refused() -> None:
    """Cold to warm, or the straight lines between them make no sense."""
    with pytest.raises(Refusal, match="24, 17, 30, 36"):
        FeedingRange(stops_below=24, full_from=17, full_to=30, stops_above=36)


def test_feed_conversion_of_fish_that_did_not_gain_is_not_known() -> None:
    """Feed over a gain of nothing is no number; None says so."""
    assert feed_conversion(feed=500, gain=0) is None
    assert feed_conversion(feed=500, gain=-20) is None


def test_growth_between_weighings_follows_the_feed_given() -> None:
    """1600 g of feed at FCR 1.6 over 20 fish puts 50 g on each."""
    now = weight_now(weighed=200, count=20, feed_since=1600, fcr=1.6)
    assert now == pytest.approx(250)
    assert feed_conversion(feed=1600, gain=20 * (now - 200)) == pytest.approx(1.6)


def test_growth_of_no_fish_is_refused() -> None:
    """Feed cannot be shared among no fish."""
    with pytest.raises(Refusal, match="no fish"):
        weight_now(weighed=200, count=0, feed_since=100, fcr=1.6)


@pytest.mark.parametrize("fcr", [0, -1, math.nan])
def test_a_feed_conversion_of_nothing_is_refused(fcr: float) -> None:
    """Division by it would make fish of air."""
    with pytest.raises(Refusal, match="feed conversion"):
        weight_now(weighed=200, count=10, feed_since=100, fcr=fcr)


def test_the_feed_needed_is_the_sum_over_kinds_and_never_an_average() -> None:
    """4 m2 of leaves at 40-50 and 2 m2 of fruit at 50-80 want 260 to 360 g a day."""
    need = feed_needed((LEAVES, FRUIT))
    assert (need.low, need.high) == (260, 360)


@pytest.mark.parametrize(
    ("feed", "verdict", "difference"),
    [
        (0, Verdict.TOO_LITTLE, -260),
        (200, Verdict.TOO_LITTLE, -60),
        (260, Verdict.IN_BALANCE, 0),
        (360, Verdict.IN_BALANCE, 0),
        (500, Verdict.TOO_MUCH, 140),
    ],
)
def test_the_balance_says_by_how_much(feed: float, verdict: Verdict, difference: float) -> None:
    """Too little is counted from the least wanted, too much from the most."""
    answer = balance(feed, (LEAVES, FRUIT))
    assert (answer.verdict, answer.difference) == (verdict, difference)


def test_feed_without_plants_is_too_much_and_no_feed_without_plants_is_in_balance() -> None:
    """An empty house on a stocked tank is flagged; an empty house on an empty tank is not."""
    assert balance(100, ()).verdict is Verdict.TOO_MUCH
    assert balance(0, ()).verdict is Verdict.IN_BALANCE


def test_fish_sold_are_flagged_in_the_week_they_are_gone() -> None:
    """Situation: fish harvested; the plan says from which week the feed falls short."""
    weeks = [MONDAY + timedelta(weeks=n) for n in range(4)]
    feed = dict(zip(weeks, [300.0, 300.0, 120.0, 120.0], strict=True))
    course = weekly_balance(feed, dict.fromkeys(weeks, (LEAVES, FRUIT)))
    found = first_out_of_balance(course)
    assert found is not None
    assert found[0] == weeks[2]
    assert found[1].difference == -140


def test_weeks_known_on_one_side_only_are_left_out() -> None:
    """No balance is made up for a week without a plan."""
    later = MONDAY + timedelta(weeks=1)
    course = weekly_balance({MONDAY: 300, later: 300}, {later: (LEAVES,)})
    assert [week for week, _ in course] == [later]


def test_a_season_in_balance_has_no_first_bad_week() -> None:
    """None, not an early date."""
    assert first_out_of_balance(weekly_balance({MONDAY: 300}, {MONDAY: (LEAVES, FRUIT)})) is None


@pytest.mark.parametrize("ratio", [0, -60, math.nan])
def test_a_feed_ratio_of_nothing_is_refused(ratio: float) -> None:
    """No area can be worked out from it."""
    with pytest.raises(Refusal, match="feed ratio"):
        area_fed(1000, ratio)


@pytest.mark.parametrize("feed", [-1, math.nan, math.inf])
def test_feed_that_cannot_be_is_refused(feed: float) -> None:
    """Below zero, not a number and without end are slips, not feed."""
    with pytest.raises(Refusal, match="feed"):
        balance(feed, (LEAVES,))
    with pytest.raises(Refusal, match="feed"):
        area_fed(feed, 60)


@pytest.mark.parametrize(("low", "high"), [(0, 50), (80, 50), (-1, 50)])
def test_ratios_in_the_wrong_order_are_refused(low: float, high: float) -> None:
    """The lower figure is first and above zero."""
    with pytest.raises(Refusal, match="feed ratio"):
        PlantedArea(area=1, ratio_low=low, ratio_high=high)
