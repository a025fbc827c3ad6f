"""The accepted season plan as work."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from cropplan.holding.entry import Entry, LoopSet, Lost, Tended
from cropplan.holding.place import Care
from cropplan.holding.planting import Origin
from cropplan.holding.season import (
    PlannedEnd,
    PlannedStand,
    PlannedStrike,
    PlannedWeek,
    SeasonAccepted,
    SeasonPlan,
)
from cropplan.holding.span import Basis
from cropplan.schedule.balance import balance_of
from cropplan.schedule.outlook import outlook_tasks
from cropplan.schedule.planned import planned_end
from cropplan.schedule.remarks import remarks
from cropplan.water.feed import Verdict
from tests.builders import (
    LOOP,
    START,
    after,
    bare_house,
    bearing,
    held,
    on,
    scene,
    seen_from,
    struck,
)
from tests.builders import task as the_task

STRIKE_ON = after(30)


def strike(number: int = 1, day: date = STRIKE_ON, *, count: int = 4) -> PlannedStrike:
    """A planned strike of tomatoes."""
    return PlannedStrike(
        number=number,
        crop="tomato",
        way=Origin.CUTTING,
        on=day,
        count=count,
        plants=count - 1,
        mothers=("tom1",),
        place="T1",
        places=("B2", "B3", "B4"),
        set_out=day + timedelta(days=21),
        first_pick=day + timedelta(days=80),
        last_pick=day + timedelta(days=300),
    )


def accepted(
    *strikes: PlannedStrike,
    ends: tuple[PlannedEnd, ...] = (),
    stands: tuple[PlannedStand, ...] = (),
) -> list[Entry]:
    """A plan put in force at the start."""
    week = PlannedWeek(week=START, crop="tomato", goal=1.0, expected=1.0, low=0.8, high=1.2)
    plan = SeasonPlan(
        made=START,
        until=after(364),
        last_number=len(strikes),
        strikes=strikes,
        ends=ends,
        weeks=(week,),
        stands=stands,
    )
    return on(START, SeasonAccepted(plan=plan))


OLD = [*bare_house(), *bearing("tom1", "B1", start=START - timedelta(days=200))]


def test_a_planned_strike_falls_due_on_its_day() -> None:
    """It stands in the rounds as planned, from where, and what it is for."""
    due = the_task(seen_from(OLD, accepted(strike()), today=STRIKE_ON), "strike", "1")
    assert due is not None
    assert (due.due, due.basis) == (STRIKE_ON, Basis.PLANNED)
    assert due.job == "Strike 4 tomato cuttings"
    assert "season plan: first pick" in due.why
    assert "from tom1" in due.why


def test_the_plan_takes_the_place_of_the_relay_for_its_crops() -> None:
    """Two strikes for one bucket would be one too many."""
    without = seen_from(OLD, today=after(250))
    assert the_task(without, "strike", "tom1") is not None
    within = seen_from(OLD, accepted(strike()), today=after(250))
    assert the_task(within, "strike", "tom1") is None


def test_striking_fulfils_the_plans_next_strike() -> None:
    """Two are planned; four cuttings struck stand for the first, and the second stays open."""
    both = accepted(strike(1), strike(2, after(60)))
    done = seen_from(OLD, both, struck("tom9", STRIKE_ON, parent="tom1"), today=after(31))
    assert the_task(done, "strike", "1") is None
    assert the_task(done, "strike", "2") is not None


def test_fewer_struck_leaves_the_rest_open() -> None:
    """Three of four: one is still wanted."""
    entries = struck("tom9", STRIKE_ON, parent="tom1", count=3)
    rest = the_task(seen_from(OLD, accepted(strike()), entries, today=after(31)), "strike", "1")
    assert rest is not None
    assert rest.job == "Strike 1 tomato cutting"


def test_a_batch_that_is_lost_opens_its_strike_again_and_says_what_is_in_danger() -> None:
    """The same task comes back, with its name; a late one is remarked on."""
    lost = on(after(40), Lost(tag="tom9", count=4, why="rotted"))
    again = seen_from(
        OLD, accepted(strike()), struck("tom9", STRIKE_ON, parent="tom1"), lost, today=after(41)
    )
    task = the_task(again, "strike", "1")
    assert task is not None
    said = " ".join(remarks(again, "north"))
    assert "season plan: 4 tomato" in said
    assert "in danger" in said


def test_a_planned_end_pulls_the_plant_on_its_day() -> None:
    """The plan needs the place; the pull says so."""
    ends = (PlannedEnd(tag="tom1", on=after(20)),)
    pull = the_task(seen_from(OLD, accepted(strike(), ends=ends), today=after(1)), "pull", "tom1")
    assert pull is not None
    assert (pull.due, pull.basis) == (after(20), Basis.PLANNED)


def test_a_plant_the_plan_counts_on_is_pulled_when_the_plan_is_done_with_it() -> None:
    """Not when it is likely to tire, for the plan may want some weeks more; topping waits too."""
    stands = (PlannedStand(tag="tom1", count=1, until=after(200)),)
    seen = seen_from(OLD, accepted(strike(), stands=stands), today=after(1))
    pull, top = the_task(seen, "pull", "tom1"), the_task(seen, "top", "tom1")
    assert pull is not None
    assert (pull.due, pull.basis) == (after(200), Basis.PLANNED)
    assert top is not None
    assert after(100) < top.due < after(200)
    without = the_task(seen_from(OLD, today=after(1)), "pull", "tom1")
    assert without is not None
    assert without.due < after(200)


def test_what_was_struck_by_the_plan_ends_by_it() -> None:
    """The day after the last pick that the plan has for its strike."""
    begun = struck("tom9", STRIKE_ON, count=4, parent="tom1")
    seen = seen_from(OLD, accepted(strike()), begun, today=after(31))
    planting = seen.holding.plantings["tom9"]
    assert planned_end(seen, planting) == strike().last_pick + timedelta(days=1)


def test_a_plan_that_has_run_out_asks_for_nothing() -> None:
    """After its last day the relay takes over again."""
    day = after(400)
    old = scene(held(OLD, accepted(strike())), day)
    assert the_task(old, "strike", "1") is None
    assert the_task(old, "strike", "tom1") is not None


def test_planned_strikes_are_in_the_calendar() -> None:
    """Cutting dates are carried on the phone."""
    seen = seen_from(OLD, accepted(strike(), strike(2, after(60))), today=after(1))
    planned = [t for t in outlook_tasks(seen, after(90)) if t.key.subject.code in {"1", "2"}]
    assert {t.due for t in planned if t.key.duty == "strike"} == {STRIKE_ON, after(60)}


def test_the_fishs_feed_is_looked_at_along_the_plan() -> None:
    """Buckets that the plan fills in summer want more feed than the one that stands now."""
    loop = LoopSet(loop=replace(LOOP, feed_g=30.0))
    day = after(1)
    without = seen_from(OLD, on(START, loop), today=day)
    along = seen_from(OLD, on(START, loop), accepted(strike(1, day)), today=day)
    now = balance_of(without, without.holding.loops["main"])
    planned = balance_of(along, along.holding.loops["main"])
    assert now is not None
    assert planned is not None
    assert now.now.verdict is planned.now.verdict is Verdict.IN_BALANCE
    assert planned.until is not None
    set_out = strike(1, day).set_out
    assert set_out - timedelta(days=7) < planned.until <= set_out
    assert now.until is None or now.until > planned.until


def test_media_are_renewed_in_the_gaps_of_the_plan() -> None:
    """The perlite is due within the year: when tom1 goes by the plan, or after what follows it."""
    worn = on(START, Tended(places=("B1",), care=Care.CHANGE, medium="perlite"))
    stands = (PlannedStand(tag="tom1", count=1, until=after(500)),)
    plan = replace(strike(), set_out=after(200), last_pick=after(420))

    def renewal(*entries: list[Entry]) -> date:
        seen = the_task(seen_from(OLD, worn, *entries, today=after(1)), "renew-medium", "B1")
        assert seen is not None
        return seen.due

    assert renewal(accepted(stands=stands)) == after(500)
    follows = accepted(
        replace(plan, places=("B1",), count=9),
        stands=(PlannedStand(tag="tom1", count=1, until=after(30)),),
    )
    assert renewal(follows) == after(421)
