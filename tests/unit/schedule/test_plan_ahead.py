"""Work, feed and purchases that follow from the season plan."""

from __future__ import annotations

from datetime import timedelta

from cropplan.holding.entry import Entry, PlacesAdded
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Origin
from cropplan.holding.season import (
    PlannedStand,
    PlannedStrike,
    PlannedWeek,
    SeasonAccepted,
    SeasonPlan,
)
from cropplan.schedule.plan_ahead import PlanWeek, plan_weeks, to_buy
from tests.builders import START, after, bare_house, bearing, on, seen_from, struck

HOUSE = [*bare_house(), *bearing("tom1", "B1", start=START - timedelta(days=200))]
WEEKS = 40


def planned(*strikes: PlannedStrike) -> list[Entry]:
    """A plan in force that keeps tom1 for twenty weeks."""
    week = PlannedWeek(week=START, crop="tomato", goal=1.0, expected=1.0, low=0.8, high=1.2)
    plan = SeasonPlan(
        made=START,
        until=after(7 * WEEKS - 1),
        strikes=strikes,
        weeks=(week,),
        stands=(PlannedStand(tag="tom1", count=1, until=after(140)),),
    )
    return on(START, SeasonAccepted(plan=plan))


def strike(way: Origin = Origin.CUTTING, *, count: int = 3) -> PlannedStrike:
    """Tomatoes begun in the third week, for the buckets B2 and B3."""
    return PlannedStrike(
        number=1,
        crop="tomato",
        way=way,
        on=after(14),
        count=count,
        plants=2,
        mothers=("tom1",),
        place="T1",
        places=("B2", "B3"),
        set_out=after(35),
        first_pick=after(98),
        last_pick=after(203),
    )


def weeks(*days: list[Entry], today_in: int = 0) -> list[PlanWeek]:
    """The weeks to come, from so many days after the start."""
    return list(plan_weeks(seen_from(HOUSE, *days, today=after(today_in))))


def test_each_week_of_the_plan_says_how_many_plants_are_moved() -> None:
    """Struck in week 2, set out in week 5, pulled in week 29; tom1 goes in week 20."""
    told = weeks(planned(strike()))
    assert len(told) == WEEKS
    assert {n: w.begin for n, w in enumerate(told) if w.begin} == {2: 3}
    assert {n: w.set_out for n, w in enumerate(told) if w.set_out} == {5: 2}
    assert {n: w.pull for n, w in enumerate(told) if w.pull} == {20: 1, 29: 2}


def test_more_plants_are_more_work_and_want_more_feed() -> None:
    """While the two planned tomatoes stand, and not before or after."""
    with_them, without = weeks(planned(strike())), weeks(planned())
    for number in (1, 12, 25, 35):
        more = 5 <= number <= 28
        assert (with_them[number].minutes > without[number].minutes) is more
        assert (with_them[number].feed_low_g > without[number].feed_low_g) is more
    assert all(0 <= week.feed_low_g <= week.feed_high_g for week in with_them)


def test_plants_already_begun_are_not_counted_twice() -> None:
    """Once struck, the cuttings in the tray are the planned ones."""
    before = weeks(planned(strike()), today_in=14)
    begun = weeks(planned(strike()), struck("tom9", after(14), count=3), today_in=14)
    assert begun[8].feed_high_g == before[8].feed_high_g
    assert 0.5 < begun[8].minutes / before[8].minutes < 2.0


def test_without_a_plan_there_is_nothing_ahead() -> None:
    """Neither weeks nor purchases."""
    told = seen_from(HOUSE, today=START)
    assert list(plan_weeks(told)) == []
    assert to_buy(told, []) == []


def test_seed_is_wanted_by_the_first_sowing_and_feed_at_once() -> None:
    """Cuttings need none."""
    told = seen_from(HOUSE, planned(strike(Origin.SEED, count=4)), today=START)
    wanted = {one.what: one.by for one in to_buy(told, list(plan_weeks(told)))}
    assert wanted["4 tomato seeds"] == after(14)
    feed = [what for what in wanted if "fish feed, for 13 weeks" in what]
    assert len(feed) == 1
    cut = seen_from(HOUSE, planned(strike()), today=START)
    assert not any("seeds" in one.what for one in to_buy(cut, list(plan_weeks(cut))))


def test_medium_is_wanted_for_places_whose_own_ends_within_the_plan() -> None:
    """Perlite two years old has to go; that of this spring has not."""
    old = PlacesAdded(
        codes=("B7",),
        house="north",
        kind=PlaceKind.BUCKET,
        medium="perlite",
        filled=START - timedelta(days=700),
        loop="main",
    )
    told = seen_from(HOUSE, on(START, old), planned(), today=after(1))
    wanted = [one.what for one in to_buy(told, list(plan_weeks(told))) if "perlite" in one.what]
    assert wanted == ["perlite for B7"]
