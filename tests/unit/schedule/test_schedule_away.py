"""Times away: survival goes on, the rest comes before or waits, and nothing is late for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

import pytest

from cropplan.holding.entry import Done, DutyAdded, Entry, PutOff, Tested, WentAway
from cropplan.holding.house import Absence
from cropplan.holding.planting import Stage
from cropplan.holding.task import State, SubjectKind, subject
from cropplan.schedule.outlook import outlook_tasks
from tests.asking import surely
from tests.builders import (
    START,
    after,
    bare_house,
    bearing,
    on,
    own_duty,
    saw,
    seen_from,
    struck,
)

NORTH = subject(SubjectKind.HOUSE, "north")
#: Ten days away, from the 20th day on.
AWAY = on(START, WentAway(absence=Absence(first=after(20), last=after(29))))


def scouted(day: date) -> list[Entry]:
    """The weekly walk was done on a day."""
    return on(day, Done(duty="scout", subjects=(NORTH,)))


def test_what_would_fall_due_while_away_is_done_the_day_before() -> None:
    """Bring forward what would fall due."""
    walk = surely("scout", "north", scouted(after(15)), AWAY, today=after(16))
    assert (walk.due, walk.latest, walk.state) == (after(19), after(19), State.COMING)
    assert walk.why.startswith("before going away on Sun 22 Mar; ")
    assert surely("scout", "north", scouted(after(15)), AWAY, today=after(19)).state is State.TODAY


def test_what_was_not_done_before_waits_for_the_return() -> None:
    """While away everything but survival pauses without becoming overdue."""
    for today in (after(20), after(25), after(29)):
        walk = surely("scout", "north", scouted(after(15)), AWAY, today=today)
        assert (walk.due, walk.state) == (after(30), State.COMING)
        assert walk.why.startswith("waits until Wed 1 Apr, away; ")


def test_on_return_it_is_due_and_not_ten_days_late() -> None:
    """One catch-up list, not ten days of arrears."""
    back = surely("scout", "north", scouted(after(15)), AWAY, today=after(30))
    assert (back.due, back.state) == (after(30), State.TODAY)
    assert surely("scout", "north", scouted(after(15)), AWAY, today=after(33)).state is State.LATE


def test_what_was_late_before_going_pauses_too() -> None:
    """The neighbour is not asked for what nobody did before."""
    walk = surely("scout", "north", scouted(after(2)), AWAY, today=after(24))
    assert (walk.due, walk.state) == (after(30), State.COMING)
    assert surely("scout", "north", scouted(after(2)), AWAY, today=after(18)).state is State.LATE


@pytest.mark.parametrize("duty", ["fish", "pumps", "drain"])
def test_survival_goes_on(duty: str) -> None:
    """Fish are fed and pumps looked at every day, whoever does it."""
    work = surely(duty, "main", AWAY, today=after(24))
    assert work.survival
    assert work.due <= after(24)


def test_before_and_long_after_an_absence_nothing_changes() -> None:
    """Work due before it or after it keeps its day."""
    assert surely("scout", "north", scouted(after(10)), AWAY, today=after(11)).due == after(17)
    assert surely(
        "scout", "north", scouted(after(15)), AWAY, scouted(after(31)), today=after(32)
    ).due == after(38)


def test_an_absence_is_of_its_own_house() -> None:
    """The other house is looked after as ever."""
    south = on(START, WentAway(absence=Absence(first=after(20), last=after(29), house="south")))
    assert surely("scout", "north", scouted(after(15)), south, today=after(24)).due == after(22)
    assert surely("scout", "south", south, today=after(24)).due == after(30)


def test_no_cuttings_are_struck_in_the_ten_days_before() -> None:
    """Fresh cuttings need somebody who tends them."""
    old = bearing()
    strike = surely("strike", "tom1", old, today=after(90))
    for days_before in (-3, 0, 9):
        first = strike.due + timedelta(days=days_before)
        gone = on(after(90), WentAway(absence=Absence(first=first, last=first + timedelta(days=6))))
        held_back = surely("strike", "tom1", old, gone, today=after(91))
        assert held_back.due == first + timedelta(days=7)
    far = strike.due + timedelta(days=11)
    gone = on(after(90), WentAway(absence=Absence(first=far, last=far + timedelta(days=6))))
    assert surely("strike", "tom1", old, gone, today=after(91)).due == strike.due


def test_an_overdue_strike_waits_in_those_days_too() -> None:
    """What should have been struck last week is not struck the day before leaving."""
    old = bearing()
    strike = surely("strike", "tom1", old, today=after(90))
    today = strike.due + timedelta(days=5)
    leaving = today + timedelta(days=4)
    gone = on(today, WentAway(absence=Absence(first=leaving, last=leaving + timedelta(days=6))))
    assert surely("strike", "tom1", old, gone, today=today).due == leaving + timedelta(days=7)


def test_plants_that_cannot_be_ready_are_not_asked_for_early() -> None:
    """Cuttings fit to set out in the absence are not set out before they have rooted."""
    tray = [*struck("tom1"), *saw("tom1", Stage.ROOTED, after(18))]
    fit = surely("set-out", "tom1", tray, AWAY, today=after(18))
    assert fit.earliest > after(19)
    assert fit.due == after(30)


def test_work_put_off_into_an_absence_waits_for_the_return() -> None:
    """A day that was chosen before the absence was known does not bind anybody."""
    to = PutOff(duty="scout", subjects=(NORTH,), to=after(24))
    days = [*scouted(after(8)), *on(after(16), to)]
    assert surely("scout", "north", days, today=after(17)).due == after(24)
    assert surely("scout", "north", days, AWAY, today=after(24)).due == after(30)
    assert surely("scout", "north", days, AWAY, today=after(17)).due == after(19)


def test_absences_that_touch_are_one() -> None:
    """Home for no day between two absences: nothing is put on that day."""
    second = on(START, WentAway(absence=Absence(first=after(30), last=after(34))))
    assert surely("scout", "north", scouted(after(15)), AWAY, second, today=after(22)).due == after(
        35
    )
    apart = on(START, WentAway(absence=Absence(first=after(32), last=after(34))))
    assert surely("scout", "north", scouted(after(15)), AWAY, apart, today=after(22)).due == after(
        30
    )


def later(code: str, *days: Iterable[Entry], today: date) -> Iterator[date]:
    """The days of a calendar's turns of one thing."""
    scene = seen_from(bare_house(), *days, today=today)
    for one in outlook_tasks(scene, today + timedelta(days=60)):
        if one.key.duty == code:
            yield one.due


def test_later_turns_wait_for_the_return_once() -> None:
    """Turns that would fall within the absence become one, on the day of return."""
    tested = on(after(8), Tested(loop="main"))
    days = list(later("test-water", tested, AWAY, today=after(9)))
    assert days[:4] == [after(15), after(30), after(37), after(44)]


def test_fixed_days_within_an_absence_wait_too() -> None:
    """Pinned to a weekday or not: nobody is there."""
    own = own_duty(begins=after(10), every_days=None, rule="FREQ=WEEKLY;BYDAY=TH")
    added = on(START, DutyAdded(duty=own))
    assert surely("own-1", "north", added, AWAY, today=after(21)).due == after(30)
    days = set(later("own-1", added, AWAY, today=after(9)))
    assert not any(after(20) <= day <= after(29) for day in days)
