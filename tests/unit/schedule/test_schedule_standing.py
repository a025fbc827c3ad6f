"""What the water, the house and the grower's own duties ask for."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from cropplan.holding.entry import (
    Done,
    DutyAdded,
    DutySet,
    DutyStopped,
    Entry,
    Fed,
    LoopSet,
    LoopTurned,
    Moved,
    PlaceRetired,
    Pulled,
    PutOff,
)
from cropplan.holding.loop import LoopState
from cropplan.holding.task import Keeps, Part, State, SubjectKind, subject
from cropplan.schedule.tasks import open_tasks
from tests.asking import asked, surely
from tests.builders import (
    LOOP,
    START,
    about,
    after,
    bare_house,
    bearing,
    on,
    own_duty,
    seen_from,
)


def added(**changes: object) -> list[Entry]:
    """The grower added a duty for the evenings, with something changed."""
    usual = {"begins": after(5), "part": Part.EVENING, "minutes": 7.0}
    return on(START, DutyAdded(duty=own_duty(**{**usual, **changes})))


def test_daily_work_is_asked_for_from_the_first_day_on() -> None:
    """Fish, pumps and heat are looked at on the day the house is put in."""
    for duty, code in (("fish", "main"), ("pumps", "main"), ("heat", "north")):
        first = surely(duty, code, today=START)
        assert (first.due, first.state) == (START, State.TODAY)


def test_rare_work_counts_from_the_day_the_record_began() -> None:
    """A newcomer is not met by a quarter's work on the first morning."""
    first = surely("clean-filter", "main", today=START)
    assert (first.due, first.state) == (after(30), State.COMING)
    assert surely("scout", "north", today=START).due == after(7)


@pytest.mark.parametrize(
    ("state", "fish", "drain", "tests"),
    [
        (LoopState.STOCKED, True, True, after(7)),
        (LoopState.CYCLING, False, False, after(3)),
        (LoopState.FALLOW, False, False, None),
    ],
)
def test_a_loop_asks_for_what_its_state_needs(
    state: LoopState, fish: bool, drain: bool, tests: date | None
) -> None:
    """No fish, no solids; the water of a filter that ripens is tested daily."""
    turned = on(START, LoopTurned(loop="main", state=state))
    assert (asked("fish", "main", turned, today=after(3)) is not None) is fish
    assert (asked("drain", "main", turned, today=after(3)) is not None) is drain
    tested = asked("test-water", "main", turned, today=after(3))
    assert (None if tested is None else max(tested.due, after(3))) == tests
    assert asked("pumps", "main", turned, today=after(3)) is not None


def test_the_feeding_line_says_who_fed_last() -> None:
    """Last feed and by whom are shown first, so that nobody feeds twice."""
    fed = on(after(3), Fed(loop="main", grams=20), by="Ann")
    assert surely("fish", "main", fed, today=after(3)).why == "last fed today by Ann"
    assert surely("fish", "main", fed, today=after(4)).why == "last fed yesterday by Ann"
    assert surely("fish", "main", fed, today=after(9)).why == "last fed 6 days ago by Ann"
    nobody = on(after(3), Fed(loop="main", grams=20))
    assert surely("fish", "main", nobody, today=after(4)).why == "last fed yesterday"


def test_own_intervals_hold_for_loops_and_houses() -> None:
    """The grower's own interval beats the catalogue's."""
    setting = on(
        START, DutySet(duty="scout", every_days=3), DutySet(duty="clean-filter", every_days=60)
    )
    assert surely("scout", "north", setting, today=START).due == after(3)
    assert surely("clean-filter", "main", setting, today=START).due == after(60)


def test_a_stopped_duty_asks_for_nothing() -> None:
    """What is not wanted is not asked for, catalogue's or own."""
    stopped = on(after(6), DutyStopped(duty="scout"), DutyStopped(duty="own-1"))
    assert asked("scout", "north", stopped, today=after(9)) is None
    assert asked("own-1", "north", added(), stopped, today=after(9)) is None


def test_an_own_duty_begins_on_its_day_and_rolls_from_there() -> None:
    """Its words, part of the day and minutes are the grower's."""
    first = surely("own-1", "north", added(), today=START)
    assert (first.due, first.state, first.part, first.minutes) == (
        after(5),
        State.COMING,
        Part.EVENING,
        7.0,
    )
    done = on(after(9), Done(duty="own-1", subjects=(own_duty().subject,)))
    assert surely("own-1", "north", added(), done, today=after(9)).due == after(23)


def test_an_own_duty_that_lapses_is_never_late() -> None:
    """A daily look that was missed is asked for today."""
    daily = added(every_days=1, keeps=Keeps.LAPSES)
    assert surely("own-1", "north", daily, today=after(20)).state is State.TODAY
    assert surely("own-1", "north", added(every_days=1), today=after(20)).state is State.LATE


def test_an_own_duty_on_fixed_days_can_be_put_off_once() -> None:
    """The turn stays the same; the next fixed day is not moved."""
    fixed = added(every_days=None, rule="FREQ=WEEKLY;BYDAY=MO")
    monday = surely("own-1", "north", fixed, today=after(5))
    later = on(after(7), PutOff(duty="own-1", subjects=(own_duty().subject,), to=after(9)))
    moved = surely("own-1", "north", fixed, later, today=after(7))
    assert (monday.due, moved.due, moved.key) == (after(7), after(9), monday.key)


def test_an_own_duty_follows_its_plant_and_ends_with_it() -> None:
    """A plant that moves takes its duty along; one that is pulled leaves none behind."""
    days = [*bearing(), *on(after(90), DutyAdded(duty=own_duty(subject=about("tom1"))))]
    assert surely("own-1", "tom1", days, today=after(91)).places == ("B1",)
    moved = on(after(91), Moved(tag="tom1", place="B4"))
    assert surely("own-1", "tom1", days, moved, today=after(92)).places == ("B4",)
    gone = on(after(92), Pulled(tag="tom1"))
    assert asked("own-1", "tom1", days, gone, today=after(93)) is None


def test_an_own_duty_of_a_place_ends_with_its_service() -> None:
    """A retired bucket needs no rinsing."""
    days = added(subject=subject(SubjectKind.PLACE, "B1"))
    assert surely("own-1", "B1", days, today=after(6)).places == ("B1",)
    assert (
        asked("own-1", "B1", days, on(after(6), PlaceRetired(place="B1")), today=after(7)) is None
    )


def test_an_own_duty_of_a_loop_is_the_houses_of_that_loop() -> None:
    """Tasks of the tank belong to the tank, and to the house it stands in."""
    tank = surely("own-1", "main", added(subject=subject(SubjectKind.LOOP, "main")), today=after(6))
    assert (tank.house, tank.places) == ("north", ())


def test_loops_are_told_apart_by_a_handle_that_can_be_typed() -> None:
    """A name of two words makes a handle of one."""
    pond = on(START, LoopSet(loop=replace(LOOP, name="Fish Pond")))
    handles = {
        t.code
        for t in open_tasks(seen_from(bare_house(), pond, today=after(3)))
        if t.key.duty == "drain"
    }
    assert handles == {"dr-main", "dr-fishpond"}
