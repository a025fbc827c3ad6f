"""Intervals: when the next turn falls due, after done, skipped, put off and never."""

from __future__ import annotations

from datetime import date

import pytest

from cropplan.catalogue.model import Figure, Trust
from cropplan.holding.holding import DutySetting, Turn
from cropplan.holding.task import Keeps, SubjectKind, subject
from cropplan.schedule.call import Window
from cropplan.schedule.interval import (
    Interval,
    come_back_after,
    interval_of,
    lapsed,
    next_turn,
)
from tests.builders import START, after

WEEKLY = Interval(low=5, typical=7, high=10)
TODAY = after(30)


def a_turn(**known: object) -> Turn:
    """A turn of a weekly duty with one house."""
    return Turn(duty="scout", subject=subject(SubjectKind.HOUSE, "north"), **known)  # type: ignore[arg-type]


def due(
    turn: Turn, *, began: date | None = START, first_after: int | None = None, today: date = TODAY
) -> Window:
    """The window of a weekly duty's open turn."""
    return next_turn(turn, WEEKLY, began=began, first_after=first_after, today=today)


def test_the_next_turn_counts_from_the_day_it_was_last_done() -> None:
    """Rolling: done late, the next one moves; the window is the catalogue's low to high."""
    window = due(a_turn(last_done=after(20), answered=after(20)))
    assert (window.earliest, window.due, window.latest) == (after(25), after(27), after(30))
    assert window.why == "10 days since last, every 7 days"


def test_the_first_turn_counts_from_the_beginning_of_its_condition() -> None:
    """One interval after it began, or as many days as the duty says."""
    assert due(a_turn()).due == after(7)
    assert due(a_turn(), first_after=0).due == START
    assert due(a_turn(), first_after=0).why == "first time, then every 7 days"
    assert due(a_turn(), first_after=3).earliest == after(3)


def test_a_beginning_nobody_wrote_makes_it_due_today() -> None:
    """Unknown is asked about now, and is not late."""
    window = due(a_turn(), began=None)
    assert (window.due, window.why) == (TODAY, "never written as done")
    assert window.latest >= TODAY


def test_a_beginning_still_to_come_is_said() -> None:
    """Work set for next month says from when."""
    assert due(a_turn(), began=after(40), first_after=0).why == "begins on Sat 11 Apr, every 7 days"


def test_a_skip_comes_back_after_a_quarter_of_the_interval() -> None:
    """Skipping is not doing: the wear goes on counting, and it is asked again soon."""
    window = due(a_turn(last_done=after(20), answered=after(28), skip_why="rain"))
    assert window.due == after(29)
    assert window.why == "skipped on Mon 30 Mar (rain); 10 days since last, every 7 days"


def test_a_turn_skipped_early_leaves_its_own_day_out() -> None:
    """What is skipped before it is due is not asked again on the day it was due."""
    window = due(a_turn(last_done=after(20), answered=after(22), skip_why="away"))
    assert window.due == after(28)


def test_a_skip_of_what_was_never_done_comes_back_too() -> None:
    """A first turn of unknown age that is skipped does not stand there again at once."""
    window = due(a_turn(answered=TODAY, skip_why="rain"), began=None)
    assert window.due == after(31)


def test_a_skip_from_before_it_was_done_is_forgotten() -> None:
    """Work written late clears the skip it came after."""
    window = due(a_turn(last_done=after(28), answered=after(28)))
    assert "skipped" not in window.why
    assert window.due == after(35)


@pytest.mark.parametrize(("typical", "days"), [(1, 1), (2, 1), (7, 1), (8, 2), (30, 7), (90, 22)])
def test_coming_back_is_a_quarter_and_at_least_a_day(typical: int, days: int) -> None:
    """A skipped turn is asked again before the interval has run once more."""
    assert come_back_after(Interval(low=1, typical=typical, high=typical)) == days


def test_daily_work_that_was_missed_is_asked_for_today_once() -> None:
    """One duty never appears twice: three days missed are one line, not late."""
    daily = Interval(low=1, typical=1, high=1)
    turn = a_turn(last_done=after(26), answered=after(26))
    window = next_turn(turn, daily, began=START, first_after=0, today=TODAY)
    today = lapsed(window, Keeps.LAPSES, TODAY)
    assert (today.due, today.latest) == (TODAY, TODAY)
    assert today.why == "4 days since last, every day"
    assert lapsed(window, Keeps.STAYS, TODAY) == window


def test_daily_work_still_to_come_keeps_its_day() -> None:
    """Done this morning, it is due tomorrow."""
    window = due(a_turn(last_done=TODAY, answered=TODAY))
    assert lapsed(window, Keeps.LAPSES, TODAY) == window


def _figure(low: float | None, typical: float, high: float | None) -> Figure:
    return Figure(low=low, typical=typical, high=high, unit="d", source="P00", trust=Trust.PRACTICE)


@pytest.mark.parametrize(
    ("figure", "own", "interval"),
    [
        (_figure(5, 7, 10), None, Interval(low=5, typical=7, high=10)),
        (_figure(None, 7, None), None, Interval(low=7, typical=7, high=7)),
        (_figure(0.5, 0.5, 0.5), None, Interval(low=1, typical=1, high=1)),
        (_figure(5, 7, 10), 14, Interval(low=10, typical=14, high=20)),
        (_figure(5, 7, 10), 1, Interval(low=1, typical=1, high=1)),
    ],
)
def test_the_growers_own_interval_keeps_the_slack_in_proportion(
    figure: Figure, own: int | None, interval: Interval
) -> None:
    """Own intervals beat the catalogue's."""
    setting = DutySetting(duty="scout", every_days=own)
    assert interval_of(figure, setting) == interval
    assert interval_of(figure, None) == interval_of(figure, DutySetting(duty="scout"))
