"""What puts the season plan in force in danger, as the rounds tell it."""

from __future__ import annotations

from datetime import date, timedelta

from cropplan.holding.entry import Entry, Lost, Pulled
from cropplan.holding.planting import Origin
from cropplan.holding.season import (
    PlannedStand,
    PlannedStrike,
    PlannedWeek,
    SeasonAccepted,
    SeasonPlan,
)
from cropplan.schedule.plan_in_danger import plan_in_danger
from tests.builders import (
    START,
    Stage,
    after,
    bare_house,
    bearing,
    on,
    saw,
    seen_from,
    set_out,
    struck,
)
from tests.builders import task as the_task

HOUSE = [*bare_house(), *bearing("tom1", "B1", start=START - timedelta(days=200))]
STRIKE_ON = after(3)


def in_force(*stands: PlannedStand, strikes: tuple[PlannedStrike, ...] = ()) -> list[Entry]:
    """A plan for tomatoes that counts on some plants."""
    week = PlannedWeek(week=START, crop="tomato", goal=1.0, expected=1.0, low=0.8, high=1.2)
    plan = SeasonPlan(made=START, until=after(364), strikes=strikes, weeks=(week,), stands=stands)
    return on(START, SeasonAccepted(plan=plan))


def strike(first_pick: date) -> PlannedStrike:
    """Two tomatoes struck for the buckets B2 and B3."""
    return PlannedStrike(
        number=1,
        crop="tomato",
        way=Origin.CUTTING,
        on=STRIKE_ON,
        count=3,
        plants=2,
        mothers=("tom1",),
        place="T1",
        places=("B2", "B3"),
        set_out=after(24),
        first_pick=first_pick,
        last_pick=after(300),
    )


def dangers(*days: list[Entry], today: date) -> str:
    """What is told, as one text."""
    return " ".join(plan_in_danger(seen_from(*days, today=today)))


def test_a_plant_pulled_long_before_its_planned_end_is_told() -> None:
    """Somebody pulls the plant that was to be picked until autumn."""
    plan = in_force(PlannedStand(tag="tom1", count=1, until=after(200)))
    assert dangers(HOUSE, plan, today=after(10)) == ""
    said = dangers(HOUSE, plan, on(after(9), Pulled(tag="tom1", why="slugs")), today=after(10))
    assert "1 of tom1 gone" in said
    assert "'cropplan season plan'" in said


def test_a_plant_that_was_to_go_next_week_is_no_loss() -> None:
    """The plan had it end in ten days."""
    plan = in_force(PlannedStand(tag="tom1", count=1, until=after(20)))
    assert dangers(HOUSE, plan, on(after(9), Pulled(tag="tom1")), today=after(10)) == ""


def test_a_plant_that_has_outlived_its_likely_end_is_no_loss() -> None:
    """The plan would have had it longer, but did not count on that."""
    stand = PlannedStand(tag="tom1", count=1, until=after(200), likely=after(20))
    pulled = on(after(9), Pulled(tag="tom1", why="spent"))
    assert dangers(HOUSE, in_force(stand), pulled, today=after(10)) == ""


def test_cuttings_set_out_of_a_tray_are_still_the_plants_counted_on() -> None:
    """Two of three go to their places; one that dies later is one gone."""
    tray = [*struck("tom8", count=3, parent="tom1"), *saw("tom8", Stage.ROOTED, after(12), 3)]
    plan = in_force(PlannedStand(tag="tom8", count=3, until=after(250), places=("B2", "B3", "B4")))
    out = set_out("tom8", after(22), ("B2", 1, "tom9"), ("B3", 1, "tom10"))
    assert dangers(HOUSE, tray, plan, out, today=after(23)) == ""
    lost = on(after(30), Lost(tag="tom9", count=1, why="stem broken"))
    assert "1 of tom8 gone" in dangers(HOUSE, tray, plan, out, lost, today=after(31))


def test_a_first_pick_that_moves_by_weeks_is_told_and_one_by_days_is_not() -> None:
    """Struck on its day: planned for far too early a pick, then for one that can be."""
    begun = struck("tom9", STRIKE_ON, count=3, parent="tom1")
    early, fit = strike(after(50)), strike(after(90))
    said = dangers(HOUSE, in_force(strikes=(early,)), begun, today=after(5))
    assert "first pick of tom9" in said
    assert dangers(HOUSE, in_force(strikes=(fit,)), begun, today=after(5)) == ""


def test_setting_out_says_where_the_plan_has_them_go() -> None:
    """The places of the strike that the cuttings stand for, or those planned for a tray."""
    begun = struck("tom9", STRIKE_ON, count=3, parent="tom1")
    rooted = saw("tom9", Stage.ROOTED, after(14), 3)
    told = seen_from(HOUSE, in_force(strikes=(strike(after(90)),)), begun, rooted, today=after(25))
    task = the_task(told, "set-out", "tom9")
    assert task is not None
    assert task.why.endswith("season plan: to B2 and B3")
    tray = in_force(PlannedStand(tag="tom9", count=3, until=after(250), places=("B5",)))
    task = the_task(seen_from(HOUSE, tray, begun, rooted, today=after(25)), "set-out", "tom9")
    assert task is not None
    assert task.why.endswith("season plan: to B5")
