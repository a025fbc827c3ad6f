"""What must hold of the water functions for any figures at all."""

from __future__ import annotations

import math
from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropplan.problems import Refusal
from cropplan.water import ammonia
from cropplan.water.drain import DrainBasis, DrainRhythm, next_drain
from cropplan.water.feed import (
    Fed,
    FeedingRange,
    PlantedArea,
    Verdict,
    appetite,
    balance,
    feed_conversion,
    weight_now,
)
from cropplan.water.level import LevelQuestion, TopUp, judge_top_up
from cropplan.water.oxygen import saturation
from cropplan.water.readings import (
    POSSIBLE,
    Key,
    Limits,
    Readings,
    Severity,
    judge,
    perhaps_meant,
)

TODAY = date(2026, 6, 15)

days = st.integers(0, 400).map(lambda back: TODAY - timedelta(days=back))
any_grams = st.floats(allow_nan=True, allow_infinity=True)
any_log = st.lists(st.builds(Fed, day=days, grams=any_grams), max_size=60)
rhythms = st.builds(
    lambda normal, feed, floor, more: DrainRhythm(
        normal_days=normal, normal_feed=feed, floor_days=floor, ceiling_days=floor + more
    ),
    st.floats(0.1, 60),
    st.floats(1, 1e5),
    st.integers(1, 14),
    st.integers(0, 60),
)
feeding_ranges = st.lists(
    st.floats(0, 40).map(lambda t: round(t, 1)), min_size=4, max_size=4, unique=True
).map(
    lambda cuts: FeedingRange(
        **dict(
            zip(("stops_below", "full_from", "full_to", "stops_above"), sorted(cuts), strict=True)
        )
    )
)
areas = st.lists(
    st.builds(
        lambda area, low, more: PlantedArea(area=area, ratio_low=low, ratio_high=low + more),
        st.floats(0, 500),
        st.floats(1, 100),
        st.floats(0, 100),
    ),
    max_size=6,
)


@given(any_log, days, rhythms)
def test_draining_never_stops_whatever_the_log(
    log: list[Fed], last: date, rhythm: DrainRhythm
) -> None:
    """Any log, however wrong, gives a day between floor and ceiling after the last drain."""
    drain = next_drain(log, last_drain=last, rhythm=rhythm, today=TODAY)
    assert drain.interval_days is not None
    assert rhythm.floor_days <= drain.interval_days <= rhythm.ceiling_days
    assert drain.due == last + timedelta(days=drain.interval_days)


@given(any_log, rhythms)
def test_a_filter_never_drained_is_always_due_today(log: list[Fed], rhythm: DrainRhythm) -> None:
    """Without a last drain there is nothing to count from."""
    drain = next_drain(log, last_drain=None, rhythm=rhythm, today=TODAY)
    assert (drain.due, drain.basis) == (TODAY, DrainBasis.NEVER_DRAINED)


@given(any_log, days, rhythms, st.randoms())
def test_the_order_of_the_log_does_not_matter(
    log: list[Fed], last: date, rhythm: DrainRhythm, chance: Random
) -> None:
    """Entries come back on paper in any order."""
    shuffled = chance.sample(log, len(log))
    first = next_drain(log, last_drain=last, rhythm=rhythm, today=TODAY)
    second = next_drain(shuffled, last_drain=last, rhythm=rhythm, today=TODAY)
    assert (first.due, first.basis) == (second.due, second.basis)


@given(
    st.lists(st.floats(0, 100), min_size=30, max_size=30),
    st.floats(0, 1),
    st.integers(0, 25),
)
def test_more_feed_never_puts_a_drain_off(grams: list[float], less: float, days_since: int) -> None:
    """The interval shrinks, or stays, as every day's feed grows."""
    rhythm = DrainRhythm(normal_days=4, normal_feed=50, floor_days=1, ceiling_days=60)
    dates = [TODAY - timedelta(days=n + 1) for n in range(30)]
    full = [Fed(day=day, grams=g) for day, g in zip(dates, grams, strict=True)]
    cut = [Fed(day=entry.day, grams=entry.grams * less) for entry in full]
    last = TODAY - timedelta(days=days_since)
    fed_more = next_drain(full, last_drain=last, rhythm=rhythm, today=TODAY)
    fed_less = next_drain(cut, last_drain=last, rhythm=rhythm, today=TODAY)
    assert fed_more.due <= fed_less.due


@given(st.integers(1, 10), st.integers(1, 6), st.integers(0, 60))
def test_the_interval_is_in_proportion_to_the_feed(
    normal_days: int, times_less: int, days_since: int
) -> None:
    """Feed cut to a half, a third, a quarter: the interval twice, thrice, four times as long."""
    rhythm = DrainRhythm(normal_days=normal_days, normal_feed=120, floor_days=1, ceiling_days=60)
    log = [Fed(day=TODAY - timedelta(days=n), grams=120 / times_less) for n in range(90)]
    last = TODAY - timedelta(days=days_since)
    drain = next_drain(log, last_drain=last, rhythm=rhythm, today=TODAY)
    assert drain.interval_days == min(normal_days * times_less, 60)


@given(st.floats(-5, 50), feeding_ranges)
def test_appetite_is_a_share(temp_water: float, feeding: FeedingRange) -> None:
    """From nothing to the whole ration, whatever the water."""
    assert 0 <= appetite(temp_water, feeding) <= 1


@given(st.floats(0, 1e5), areas)
def test_the_difference_brings_the_feed_back_into_balance(
    feed: float, planted: list[PlantedArea]
) -> None:
    """Feed less the difference is what the areas want at the nearer end."""
    answer = balance(feed, planted)
    put_right = balance(max(feed - answer.difference, 0.0), planted)
    assert put_right.verdict is Verdict.IN_BALANCE or abs(put_right.difference) < 1e-6
    assert (answer.verdict is Verdict.TOO_MUCH) == (answer.difference > 0)
    assert (answer.verdict is Verdict.TOO_LITTLE) == (answer.difference < 0)


@given(st.floats(1, 2000), st.integers(1, 500), st.floats(1, 1e5), st.floats(0.8, 4))
def test_growth_from_feed_gives_back_its_feed_conversion(
    weighed: float, count: int, feed: float, fcr: float
) -> None:
    """Weight and FCR are two readings of the same feed."""
    now = weight_now(weighed=weighed, count=count, feed_since=feed, fcr=fcr)
    seen = feed_conversion(feed=feed, gain=(now - weighed) * count)
    assert seen == pytest.approx(fcr, rel=1e-6)


@given(st.floats(0, 49), st.floats(0.01, 1), st.floats(4, 10), st.floats(0.01, 1))
def test_the_un_ionised_share_climbs_with_ph_and_warmth(
    temp_water: float, warmer: float, ph: float, higher: float
) -> None:
    """The more alkaline and the warmer, the more of the ammonia is poison."""
    share = ammonia.un_ionised_fraction(temp_water, ph)
    assert 0 < share < ammonia.un_ionised_fraction(temp_water + warmer, ph)
    assert share < ammonia.un_ionised_fraction(temp_water, ph + higher) < 1


@given(st.floats(0, 1e4))
def test_nitrogen_conversions_come_back(value: float) -> None:
    """There and back is where one was, for every form of nitrogen."""
    pairs = (
        (ammonia.nitrogen_from_nitrate, ammonia.nitrate_from_nitrogen),
        (ammonia.nitrogen_from_nitrite, ammonia.nitrite_from_nitrogen),
        (ammonia.nitrogen_from_ammonia, ammonia.ammonia_from_nitrogen),
    )
    for there, back in pairs:
        assert back(there(value)) == pytest.approx(value)


@given(st.floats(0, 39), st.floats(0.1, 1), st.floats(60, 105), st.floats(0.1, 5))
def test_cold_water_and_thick_air_hold_more_oxygen(
    temp_water: float, warmer: float, pressure: float, thicker: float
) -> None:
    """Henry's law and its cold."""
    held = saturation(temp_water, pressure=pressure)
    assert saturation(temp_water + warmer, pressure=pressure) < held
    assert saturation(temp_water, pressure=pressure + thicker) > held


@given(
    st.fixed_dictionaries(
        {},
        optional={
            name: st.floats(*POSSIBLE[key])
            for name, key in (
                ("oxygen", Key.OXYGEN),
                ("ammonia", Key.AMMONIA),
                ("nitrite", Key.NITRITE),
                ("temperature", Key.TEMPERATURE),
                ("ph", Key.PH),
                ("nitrate", Key.NITRATE),
            )
        },
    ),
    st.lists(
        st.builds(
            lambda key, low, more, severity: Limits(
                key=key, low=low, high=low + more, severity=severity
            ),
            st.sampled_from(Key),
            st.floats(0, 50),
            st.floats(0, 50),
            st.sampled_from(Severity),
        ),
        max_size=12,
    ),
)
def test_every_key_with_a_limit_is_either_judged_or_named_as_untested(
    tested: dict[str, float], limits: list[Limits]
) -> None:
    """No test is passed over in silence, and urgent findings come first."""
    answer = judge(Readings(**tested), limits)
    found = [finding.key for finding in answer.findings]
    assert not set(found) & set(answer.not_tested)
    for finding in answer.findings:
        assert any(finding.limit in (limit.low, limit.high) for limit in limits) or (
            finding.key is Key.UN_IONISED
        )
    order = [list(Severity).index(finding.severity) for finding in answer.findings]
    assert order == sorted(order)
    outside = {
        limit.key
        for limit in limits
        if limit.key.value in tested
        and not (limit.low or 0.0) <= tested[limit.key.value] <= (limit.high or math.inf)
    }
    assert outside <= set(found)


@given(st.sampled_from(list(POSSIBLE)), st.floats(allow_nan=True))
def test_a_guess_at_a_slip_is_always_a_possible_reading(key: Key, typed: float) -> None:
    """What is asked back must itself be acceptable."""
    guess = perhaps_meant(key, typed)
    low, high = POSSIBLE[key]
    assert guess is None or low <= guess <= high


@given(st.floats(0, 1000), st.integers(1, 30), st.floats(50, 20000))
def test_only_a_loss_above_the_usual_asks_about_a_leak(
    added: float, days_between: int, volume: float
) -> None:
    """The question follows the figure that is shown with it."""
    answer = judge_top_up(
        TopUp(added=added, days=days_between), volume=volume, loss_low=1, loss_high=3
    )
    assert (answer.question is LevelQuestion.LEAK) == (answer.lost > answer.usual_high)
    assert (answer.question is LevelQuestion.SHORT) == (answer.lost < answer.usual_low)


@given(st.floats(11.001, 110, exclude_max=True))
def test_a_ph_without_its_decimal_point_is_always_asked_about(typed: float) -> None:
    """A pH between 11 and 110 is refused, and its tenth offered when that is possible."""
    with pytest.raises(Refusal, match="cannot be"):
        judge(Readings(ph=typed), ())
