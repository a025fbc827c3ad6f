"""How full the solids filter is, and the day of the next drain.

The interval between drains stretches and shrinks with the feed given, between a floor and a
ceiling that the grower sets. Draining never stops: whatever is wrong with the feed log, a day
comes out, and what it rests on comes out with it.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum
from typing import Final

from cropplan.problems import Refusal
from cropplan.water.feed import Fed
from cropplan.water.middle import median
from cropplan.water.solids import caught_solids, dry_solids

RECENT_DAYS: Final = 7
"""Days over which the present rate of feeding is taken. [d] Common practice, no source."""

ENOUGH_LOGGED: Final = 0.5
"""Least share of days with an entry for the log to be believed. Common practice, no source."""

ABSURD_TIMES: Final = 10.0
"""An entry so many times the usual is taken for a slip. Common practice, no source."""


class DrainBasis(Enum):
    """What the day of the next drain rests on."""

    FEED = "feed log"
    FLOOR = "shortest interval allowed"
    CEILING = "longest interval allowed"
    LOG_THIN = "usual interval, feed log has too few entries"
    LOG_ABSURD = "usual interval, feed log has an entry that cannot be"
    NEVER_DRAINED = "no drain on record"


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainRhythm:
    """How often a filter is drained.

    normal_days : interval at the normal feed; also what a useless feed log falls back to. [d]
    normal_feed : feed at which that interval is right. [g/d]
    floor_days, ceiling_days : shortest and longest interval, whatever the feed. [d]
    """

    normal_days: float
    normal_feed: float
    floor_days: int
    ceiling_days: int

    def __post_init__(self) -> None:
        if not (self.normal_days > 0 and self.normal_feed > 0):
            raise Refusal(
                f"a filter drained every {self.normal_days:g} days at {self.normal_feed:g} g of "
                "feed a day: both figures must be above zero"
            )
        if not 1 <= self.floor_days <= self.ceiling_days:
            raise Refusal(
                f"shortest drain interval {self.floor_days} d and longest {self.ceiling_days} d: "
                "the shortest must be at least 1 and not above the longest"
            )

    @property
    def capacity(self) -> float:
        """Feed that fills the filter from one drain to the next. [g]"""
        return self.normal_days * self.normal_feed


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainWhy:
    """The figures behind a drain day; None where nothing could be reckoned.

    last_drain : day of the last drain; None when there is none on record.
    days_since : whole days from then to today.
    feed_since : feed given in those days, gaps filled with the mean of the logged days. [g]
    feed_per_day : present rate of feeding. [g/d]
    normal_feed : rate at which the normal interval is right. [g/d]
    capacity : feed that fills the filter. [g]
    days_logged, days_looked_at : days with an entry, of the days looked at.
    unbounded_days : the interval by feed alone, before floor and ceiling; infinite on a fast. [d]
    absurd : entries of the log that cannot be.
    """

    last_drain: date | None
    days_since: int | None
    feed_since: float | None
    feed_per_day: float | None
    normal_feed: float
    capacity: float
    days_logged: int
    days_looked_at: int
    unbounded_days: float | None
    absurd: tuple[Fed, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drain:
    """When to drain next.

    due : the day; it may lie in the past when the drain is late.
    interval_days : from the last drain to that day; None when never drained.
    basis : what the day rests on.
    fill : how full the filter is today, 1 being full; None when not known. [share]
    why : the figures behind it.
    """

    due: date
    interval_days: int | None
    basis: DrainBasis
    fill: float | None
    why: DrainWhy


def rhythm_for_filter(
    *,
    holds: float,
    solids_share: float,
    caught_share: float,
    normal_feed: float,
    floor_days: int,
    ceiling_days: int,
) -> DrainRhythm:
    """The rhythm of a filter of which one knows what it holds instead of how often it is drained.

    holds : dry solids the filter may keep before it is drained. [g]
    solids_share, caught_share : as in dry_solids and caught_solids. [g/g]
    normal_feed : usual feed. [g/d]
    Raises Refusal when nothing would ever be caught.
    """
    caught_per_day = caught_solids(dry_solids(normal_feed, solids_share), caught_share)
    if not caught_per_day > 0:
        raise Refusal("this filter would catch nothing, so it has no drain interval")
    return DrainRhythm(
        normal_days=holds / caught_per_day,
        normal_feed=normal_feed,
        floor_days=floor_days,
        ceiling_days=ceiling_days,
    )


def next_drain(
    feed_log: Sequence[Fed],
    *,
    last_drain: date | None,
    rhythm: DrainRhythm,
    today: date,
) -> Drain:
    """The day on which the filter wants draining next.

    feed_log : feed given, in any order; entries after today are left out, since that feed has
        made no solids yet.
    last_drain : day of the last drain; None when none is on record. A day after today counts as
        today.
    today : the day of asking; feed of the drain day itself counts, draining being morning work.
    Returns the day with its reasons. The filter is full when the feed since the last drain
    reaches the rhythm's capacity; to come is the mean of the last RECENT_DAYS full days. Days
    without an entry count as the mean of the logged days, so a forgotten entry drains early
    rather than late. Too thin a log, or an absurd entry, gives the normal interval.
    """
    if last_drain is None:
        return Drain(
            due=today,
            interval_days=None,
            basis=DrainBasis.NEVER_DRAINED,
            fill=None,
            why=_why(rhythm, last_drain=None, today=today),
        )
    last = min(last_drain, today)
    looked_from = min(last, today - timedelta(days=RECENT_DAYS))
    seen = [entry for entry in feed_log if looked_from <= entry.day < today]
    absurd = _absurd(seen, rhythm.normal_feed)
    by_day = _by_day(seen)
    looked_at = (today - looked_from).days
    if absurd or len(by_day) < ENOUGH_LOGGED * looked_at:
        interval = _bounded(rhythm.normal_days, rhythm)
        return Drain(
            due=last + timedelta(days=interval),
            interval_days=interval,
            basis=DrainBasis.LOG_ABSURD if absurd else DrainBasis.LOG_THIN,
            fill=None,
            why=_why(
                rhythm,
                last_drain=last,
                today=today,
                logged=len(by_day),
                looked_at=looked_at,
                absurd=absurd,
            ),
        )
    return _drain_by_feed(by_day, last=last, rhythm=rhythm, today=today, looked_at=looked_at)


def _drain_by_feed(
    by_day: Mapping[date, float], *, last: date, rhythm: DrainRhythm, today: date, looked_at: int
) -> Drain:
    mean = math.fsum(by_day.values()) / len(by_day)
    recent = _fed_between(by_day, today - timedelta(days=RECENT_DAYS), today, gap=mean)
    per_day = recent / RECENT_DAYS
    since, full_after = _filling(by_day, last, today, capacity=rhythm.capacity, gap=mean)
    if full_after is not None:
        unbounded = full_after
    elif per_day > 0:
        unbounded = (today - last).days + (rhythm.capacity - since) / per_day
    else:
        unbounded = math.inf
    interval = _bounded(unbounded, rhythm)
    if unbounded < rhythm.floor_days:
        basis = DrainBasis.FLOOR
    elif unbounded > rhythm.ceiling_days:
        basis = DrainBasis.CEILING
    else:
        basis = DrainBasis.FEED
    return Drain(
        due=last + timedelta(days=interval),
        interval_days=interval,
        basis=basis,
        fill=since / rhythm.capacity,
        why=DrainWhy(
            last_drain=last,
            days_since=(today - last).days,
            feed_since=since,
            feed_per_day=per_day,
            normal_feed=rhythm.normal_feed,
            capacity=rhythm.capacity,
            days_logged=len(by_day),
            days_looked_at=looked_at,
            unbounded_days=unbounded,
            absurd=(),
        ),
    )


def _filling(
    by_day: Mapping[date, float], last: date, today: date, *, capacity: float, gap: float
) -> tuple[float, float | None]:
    """Feed since the last drain, and after how many days it filled the filter, if it has."""
    fed, full_after = 0.0, None
    for passed in range((today - last).days):
        given = by_day.get(last + timedelta(days=passed), gap)
        if full_after is None and fed + given >= capacity:
            full_after = passed + (capacity - fed) / given
        fed += given
    return fed, full_after


def _fed_between(by_day: Mapping[date, float], first: date, end: date, *, gap: float) -> float:
    days = ((first + timedelta(days=passed)) for passed in range((end - first).days))
    return math.fsum(by_day.get(day, gap) for day in days)


def _by_day(entries: Sequence[Fed]) -> dict[date, float]:
    by_day: dict[date, float] = defaultdict(float)
    for entry in entries:
        by_day[entry.day] += entry.grams
    return by_day


def _absurd(entries: Sequence[Fed], normal_feed: float) -> tuple[Fed, ...]:
    """Entries below zero, or far above both the normal feed and what is usual in the log.

    The log's own median counts too: fish grow, and a normal feed set for fingerlings must not
    make the honest log of grown fish look absurd.
    """
    amounts = [entry.grams for entry in entries if entry.grams >= 0]
    usual = max([normal_feed, *([median(amounts)] if amounts else [])])
    return tuple(entry for entry in entries if not 0 <= entry.grams < ABSURD_TIMES * usual)


def _bounded(days: float, rhythm: DrainRhythm) -> int:
    bounded = min(max(days, rhythm.floor_days), rhythm.ceiling_days)
    # A hair under a whole day is that day: sums of grams are not exact.
    return math.floor(bounded + 1e-9)


def _why(
    rhythm: DrainRhythm,
    *,
    last_drain: date | None,
    today: date,
    logged: int = 0,
    looked_at: int = 0,
    absurd: tuple[Fed, ...] = (),
) -> DrainWhy:
    return DrainWhy(
        last_drain=last_drain,
        days_since=None if last_drain is None else (today - last_drain).days,
        feed_since=None,
        feed_per_day=None,
        normal_feed=rhythm.normal_feed,
        capacity=rhythm.capacity,
        days_logged=logged,
        days_looked_at=looked_at,
        unbounded_days=None,
        absurd=absurd,
    )
