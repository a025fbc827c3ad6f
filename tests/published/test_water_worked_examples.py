"""Feed, planted area and top-up against worked examples in print."""

from __future__ import annotations

import math

import pytest

from cropplan.water.feed import (
    FeedingRange,
    PlantedArea,
    RationBand,
    Verdict,
    area_fed,
    balance,
    daily_ration,
    feed_conversion,
    feed_needed,
)
from cropplan.water.level import expected_top_up

RAFT = (60.0, 100.0)
"""Rakocy 2007, guideline 1: raft culture takes 60 to 100 g/m2/d."""


def test_a_kilogram_of_feed_carries_16_7_square_metres_of_raft() -> None:
    """Rakocy 2007, Ten guidelines for aquaponic systems, guideline 1: 1000 g at 60 g/m2/d."""
    assert area_fed(1000, RAFT[0]) == pytest.approx(16.7, abs=0.05)


def test_200_square_metres_of_raft_take_20_kilograms_at_the_high_ratio() -> None:
    """Rakocy 2007, guideline 1: 200 m2 at 100 g/m2/d, printed as 44 lb."""
    need = feed_needed([PlantedArea(area=200, ratio_low=RAFT[0], ratio_high=RAFT[1])])
    assert need.high == pytest.approx(20_000)
    assert need.high / 453.59237 == pytest.approx(44, abs=0.5)
    assert balance(20_000, [PlantedArea(area=200, ratio_low=60, ratio_high=100)]).verdict is (
        Verdict.IN_BALANCE
    )


@pytest.mark.parametrize(("percent", "printed"), [(1, 1.0), (2, 2.0)])
def test_a_fish_of_100_grams_eats_1_to_2_grams_a_day(percent: float, printed: float) -> None:
    """Somerville et al. 2014, FAO Technical Paper 589, section 7.3."""
    feed = daily_ration(
        count=1,
        body_weight=100,
        temp_water=27,
        bands=[RationBand(up_to=math.inf, percent_per_day=percent)],
        feeding=FeedingRange(stops_below=17, full_from=24, full_to=30, stops_above=36),
    )
    assert feed == pytest.approx(printed)


def test_fcr_is_the_same_in_any_one_unit() -> None:
    """FAO Technical Paper 589, section 7.3: total feed over total growth, both in one unit."""
    in_grams = feed_conversion(feed=1700, gain=1000)
    in_pounds = feed_conversion(feed=1700 / 453.59237, gain=1000 / 453.59237)
    assert in_grams == pytest.approx(1.7)
    assert in_pounds == pytest.approx(1.7)


def test_60_kilograms_of_feed_keep_4_tonnes_at_one_and_a_half_per_cent() -> None:
    """Losordo and DeLong, Flow rate estimation for RAS, globalseafood.org: 680 g fish, 4000 kg."""
    feed = daily_ration(
        count=round(4_000_000 / 680),
        body_weight=680,
        temp_water=27,
        bands=[RationBand(up_to=math.inf, percent_per_day=1.5)],
        feeding=FeedingRange(stops_below=17, full_from=24, full_to=30, stops_above=36),
    )
    assert feed == pytest.approx(60_000, rel=0.0005)


def test_the_virgin_islands_system_loses_1_65_cubic_metres_a_day() -> None:
    """Rakocy, Bailey, Shultz, Danaher, University of the Virgin Islands: 1.5 % of 110 m3."""
    # Tanks 4, clarifiers 2, filter tanks 4, degassing, rafts 6, sump and base tank, as printed.
    parts = 4 * 7.8 + 2 * 3.8 + 4 * 0.7 + 0.7 + 6 * 11.3 + 0.6 + 0.2
    printed_total = 110
    assert parts == pytest.approx(printed_total, rel=0.01)
    per_day = expected_top_up(volume=printed_total * 1000, percent_per_day=1.5, days=1)
    assert per_day == pytest.approx(1650)
    assert per_day / 214 == pytest.approx(7.7, abs=0.05)
