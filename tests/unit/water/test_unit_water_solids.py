"""Solid waste and the day of the next drain."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from cropplan.problems import Refusal
from cropplan.water.drain import DrainBasis, DrainRhythm, next_drain, rhythm_for_filter
from cropplan.water.feed import Fed
from cropplan.water.solids import bed_doses, caught_solids, dry_solids, mineralised_between

TODAY = date(2026, 1, 20)
RHYTHM = DrainRhythm(normal_days=3, normal_feed=100, floor_days=1, ceiling_days=14)


def logged(*grams: float, ending: date = TODAY - timedelta(days=1)) -> list[Fed]:
    """A feed log of consecutive days, the last figure given on the day named."""
    first = ending - timedelta(days=len(grams) - 1)
    return [Fed(day=first + timedelta(days=n), grams=g) for n, g in enumerate(grams)]


def days_ago(days: int) -> date:
    """The date so many days before the day of asking."""
    return TODAY - timedelta(days=days)


def test_normal_feed_gives_the_normal_interval() -> None:
    """A filter drained every third day at 100 g stays so at 100 g."""
    drain = next_drain(logged(*[100] * 10), last_drain=days_ago(1), rhythm=RHYTHM, today=TODAY)
    assert drain.due == days_ago(1) + timedelta(days=3)
    assert drain.basis is DrainBasis.FEED
    assert drain.fill == pytest.approx(1 / 3)


def test_half_the_feed_doubles_the_interval() -> None:
    """Situation: fish fed less, so less solids; the interval stretches in proportion."""
    drain = next_drain(logged(*[50] * 10), last_drain=days_ago(2), rhythm=RHYTHM, today=TODAY)
    assert drain.interval_days == 6
    assert drain.why.feed_since == pytest.approx(100)
    assert drain.why.feed_per_day == pytest.approx(50)
    assert drain.why.unbounded_days == pytest.approx(6)


def test_the_interval_never_stretches_past_its_ceiling() -> None:
    """A tenth of the feed would give 30 days; the ceiling says 14."""
    drain = next_drain(logged(*[10] * 10), last_drain=days_ago(2), rhythm=RHYTHM, today=TODAY)
    assert (drain.interval_days, drain.basis) == (14, DrainBasis.CEILING)


def test_fish_off_their_feed_still_have_their_filter_drained() -> None:
    """Recorded zeros are values: nothing comes in, and the ceiling still gives a day."""
    drain = next_drain(logged(*[0] * 10), last_drain=days_ago(5), rhythm=RHYTHM, today=TODAY)
    assert drain.due == days_ago(5) + timedelta(days=14)
    assert drain.basis is DrainBasis.CEILING
    assert drain.why.unbounded_days == math.inf


def test_heavy_feed_does_not_drain_more_often_than_the_floor() -> None:
    """Five times the feed would mean every 14 hours; the floor says a day."""
    drain = next_drain(logged(*[500] * 10), last_drain=TODAY, rhythm=RHYTHM, today=TODAY)
    assert (drain.interval_days, drain.basis) == (1, DrainBasis.FLOOR)


def test_a_cut_in_feed_counts_what_is_in_the_filter_already() -> None:
    """Two days at 100 g leave room for 100 g, five days more at the 20 g now given."""
    log = logged(100, 100, *[20] * 7)
    rhythm = DrainRhythm(normal_days=4, normal_feed=100, floor_days=1, ceiling_days=30)
    drain = next_drain(log, last_drain=days_ago(9), rhythm=rhythm, today=TODAY)
    assert drain.why.feed_since == pytest.approx(340)
    assert drain.due == TODAY + timedelta(days=3)


def test_an_overdue_drain_keeps_the_day_on_which_the_filter_was_full() -> None:
    """Late work is late by the days since, not moved on each morning."""
    for late in range(6):
        today = TODAY + timedelta(days=late)
        log = logged(*[101] * 30, ending=today)
        drain = next_drain(log, last_drain=days_ago(2), rhythm=RHYTHM, today=today)
        assert drain.due == days_ago(2) + timedelta(days=2)


@pytest.mark.parametrize("log", [[], logged(100, 100), logged(*[100] * 3, ending=days_ago(25))])
def test_a_missing_feed_log_falls_back_to_the_normal_interval_and_says_so(log: list[Fed]) -> None:
    """Situation: feed log missing three weeks; draining goes on at the default."""
    drain = next_drain(log, last_drain=days_ago(21), rhythm=RHYTHM, today=TODAY)
    assert drain.due == days_ago(21) + timedelta(days=3)
    assert drain.basis is DrainBasis.LOG_THIN
    assert drain.fill is None
    assert drain.why.days_looked_at == 21


@pytest.mark.parametrize("grams", [-50, 1000, 5000, math.nan, math.inf, -math.inf])
def test_an_absurd_entry_falls_back_to_the_normal_interval_and_is_named(grams: float) -> None:
    """A slip of the pen must neither stop draining nor order it every hour."""
    log = [*logged(*[100] * 10), Fed(day=days_ago(2), grams=grams)]
    drain = next_drain(log, last_drain=days_ago(4), rhythm=RHYTHM, today=TODAY)
    assert drain.basis is DrainBasis.LOG_ABSURD
    assert drain.interval_days == 3
    assert [entry.day for entry in drain.why.absurd] == [days_ago(2)]


def test_grown_fish_are_not_absurd_because_the_normal_was_set_for_small_ones() -> None:
    """Twelve times the normal, day after day, is a log to believe."""
    drain = next_drain(logged(*[1200] * 10), last_drain=TODAY, rhythm=RHYTHM, today=TODAY)
    assert drain.basis is DrainBasis.FLOOR


def test_a_forgotten_entry_counts_as_a_usual_day() -> None:
    """Unrecorded is not undone: a gap is filled with the mean, not with nothing."""
    log = [entry for entry in logged(*[100] * 10) if entry.day != days_ago(2)]
    drain = next_drain(log, last_drain=days_ago(2), rhythm=RHYTHM, today=TODAY)
    assert drain.why.feed_since == pytest.approx(200)
    assert drain.interval_days == 3


def test_two_feeds_a_day_add_up() -> None:
    """Fish are fed two or three times a day; each may be its own entry."""
    log = logged(*[50] * 10) * 2
    drain = next_drain(log, last_drain=days_ago(1), rhythm=RHYTHM, today=TODAY)
    assert drain.why.feed_per_day == pytest.approx(100)


def test_feed_written_for_a_coming_day_is_left_out() -> None:
    """Feed not yet given has made no solids."""
    log = [*logged(*[100] * 10), Fed(day=TODAY + timedelta(days=3), grams=90000)]
    drain = next_drain(log, last_drain=days_ago(1), rhythm=RHYTHM, today=TODAY)
    assert drain.basis is DrainBasis.FEED


def test_a_filter_never_drained_is_due_today() -> None:
    """Nothing is known of what is in it."""
    drain = next_drain(logged(*[100] * 10), last_drain=None, rhythm=RHYTHM, today=TODAY)
    assert (drain.due, drain.basis) == (TODAY, DrainBasis.NEVER_DRAINED)
    assert drain.interval_days is None


def test_a_drain_dated_in_the_future_counts_as_today() -> None:
    """A wrong year must not put draining off until it comes."""
    drain = next_drain(
        logged(*[100] * 10), last_drain=TODAY + timedelta(days=365), rhythm=RHYTHM, today=TODAY
    )
    assert drain.due == TODAY + timedelta(days=3)


def test_a_filter_known_by_what_it_holds_gets_the_same_rhythm() -> None:
    """300 g of dry solids at 100 g feed, a quarter solids, four fifths caught: 15 days."""
    rhythm = rhythm_for_filter(
        holds=300,
        solids_share=0.25,
        caught_share=0.8,
        normal_feed=100,
        floor_days=1,
        ceiling_days=20,
    )
    assert rhythm.normal_days == pytest.approx(15)
    assert rhythm.capacity == pytest.approx(1500)


def test_a_filter_that_catches_nothing_has_no_rhythm() -> None:
    """Refused, rather than an interval without end."""
    with pytest.raises(Refusal, match="catch nothing"):
        rhythm_for_filter(
            holds=300,
            solids_share=0.25,
            caught_share=0,
            normal_feed=100,
            floor_days=1,
            ceiling_days=20,
        )


@pytest.mark.parametrize(("floor", "ceiling"), [(0, 5), (6, 5), (-1, 2)])
def test_floor_and_ceiling_in_the_wrong_order_are_refused(floor: int, ceiling: int) -> None:
    """An interval below a day, or a floor above the ceiling, cannot be kept."""
    with pytest.raises(Refusal, match="shortest drain interval"):
        DrainRhythm(normal_days=3, normal_feed=100, floor_days=floor, ceiling_days=ceiling)


@pytest.mark.parametrize(("days", "feed"), [(0, 100), (3, 0), (math.nan, 100)])
def test_a_rhythm_of_nothing_is_refused(days: float, feed: float) -> None:
    """Without a normal there is nothing to stretch."""
    with pytest.raises(Refusal, match="above zero"):
        DrainRhythm(normal_days=days, normal_feed=feed, floor_days=1, ceiling_days=14)


def test_solids_are_a_share_of_feed_and_the_filter_keeps_a_share_of_them() -> None:
    """1000 g of feed, a quarter solids, three fifths caught: 150 g in the filter."""
    assert caught_solids(dry_solids(1000, 0.25), 0.6) == pytest.approx(150)


@pytest.mark.parametrize("share", [25, -0.1, math.nan])
def test_a_share_given_in_per_cent_is_refused(share: float) -> None:
    """25 for a quarter would bury the filter; the refusal shows the right form."""
    with pytest.raises(Refusal, match=r"25 % is 0\.25"):
        dry_solids(1000, share)
    with pytest.raises(Refusal, match=r"25 % is 0\.25"):
        caught_solids(1000, share)


def test_negative_feed_makes_no_solids() -> None:
    """Refused with the figure."""
    with pytest.raises(Refusal, match="-5 g"):
        dry_solids(-5, 0.25)


def test_mineralised_solids_come_back_between_two_days() -> None:
    """Eight to ten days of strong air (Hager et al. 2021, Kentucky State University)."""
    first, last = mineralised_between(date(2026, 2, 25), low_days=8, high_days=10)
    assert (first, last) == (date(2026, 3, 5), date(2026, 3, 7))


def test_mineralising_days_in_the_wrong_order_are_refused() -> None:
    """The lower figure is first."""
    with pytest.raises(Refusal, match="10 to 8 d"):
        mineralised_between(TODAY, low_days=10, high_days=8)


def test_beds_share_the_solids_by_their_area() -> None:
    """Twelve litres over 1 and 2 square metres."""
    assert bed_doses(12, {"W1": 1, "W2": 2}) == {"W1": pytest.approx(4), "W2": pytest.approx(8)}


def test_solids_without_a_bed_are_refused() -> None:
    """There is nowhere to put them."""
    with pytest.raises(Refusal, match="no bed area"):
        bed_doses(12, {})
