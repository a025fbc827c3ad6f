"""Duties that come round every so often: the next turn counts from the day it was last done."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from cropplan.catalogue.model import Figure
from cropplan.holding.holding import DutySetting, Turn
from cropplan.holding.task import Keeps
from cropplan.schedule.call import Window
from cropplan.schedule.wording import day_text, days_text, every_text

#: Work that is asked for once comes back so much later when it is skipped. [d] Common practice, no
#: source.
ASKED_AGAIN = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """Whole days between turns: the soonest that helps, the usual, and the longest that is well."""

    low: int
    typical: int
    high: int


def interval_of(figure: Figure, setting: DutySetting | None) -> Interval:
    """The interval to keep: the grower's own when set, with the catalogue's slack in proportion."""
    typical = max(1, round(figure.typical))
    low = max(1, round(figure.least))
    high = max(typical, round(figure.most))
    if setting is None or setting.every_days is None:
        return Interval(low=low, typical=typical, high=high)
    own = setting.every_days
    return Interval(
        low=max(1, own * low // typical), typical=own, high=max(own, own * high // typical)
    )


def come_back_after(interval: Interval) -> int:
    """Days after which a skipped turn is asked again: a quarter of the interval, at least one.

    Skipping is not doing, so the wear goes on; common practice, no source.
    """
    return max(1, interval.typical // 4)


def next_turn(
    turn: Turn, interval: Interval, *, began: date | None, first_after: int | None, today: date
) -> Window:
    """The window of the open turn, counted from the day the duty was last done.

    began : the day the duty's condition began to hold; None when not known, which makes the
        first turn due today.
    first_after : days from then to the first turn; None for one interval.
    """
    every = every_text(interval.typical)
    if turn.last_done is not None:
        ago = days_text((today - turn.last_done).days)
        window = _counted(turn.last_done, interval, interval.typical, f"{ago} since last, {every}")
    elif began is None:
        window = _counted(turn.answered or today, interval, 0, "never written as done")
    else:
        lead = interval.typical if first_after is None else first_after
        window = _counted(began, interval, lead, _first_why(began, lead, today, every))
    return after_skip(window, turn, come_back_after(interval))


def _counted(anchor: date, interval: Interval, lead: int, why: str) -> Window:
    slack = interval.high - interval.typical
    return Window(
        due=anchor + timedelta(days=lead),
        earliest=anchor + timedelta(days=min(lead, interval.low)),
        latest=anchor + timedelta(days=lead + slack),
        why=why,
    )


def _first_why(began: date, lead: int, today: date, every: str) -> str:
    if began > today:
        return f"begins on {day_text(began, today)}, {every}"
    if lead == 0:
        return f"first time, then {every}"
    return f"{days_text((today - began).days)} since it began, {every}"


def after_skip(window: Window, turn: Turn, days: int) -> Window:
    """The window of a turn that was skipped: it comes back so many days later.

    Skipped early, it counts from the day it was due. Done since, the skip is forgotten.
    """
    skipped = turn.answered
    if skipped is None or (turn.last_done is not None and skipped <= turn.last_done):
        return window
    due = max(window.due, skipped) + timedelta(days=days)
    return replace(
        window,
        due=due,
        latest=max(window.latest, due),
        why=f"skipped on {day_text(skipped)} ({turn.skip_why}); {window.why}",
    )


def lapsed(window: Window, keeps: Keeps, today: date) -> Window:
    """The window as it stands today: a duty that lapses is asked for today, never as arrears."""
    if keeps is Keeps.STAYS or window.due >= today:
        return window
    return replace(window, due=today, earliest=min(window.earliest, today), latest=today)
