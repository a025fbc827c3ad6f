"""Duties that come round every so often: the next turn counts from the day it was last done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.catalogue.model import Figure
from cropplan.holding.holding import DutySetting, Turn
from cropplan.holding.task import Keeps
from cropplan.schedule.call import Window
from cropplan.schedule.wording import days_text


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
    """The window of the open turn.

    began : the day the duty's condition began to hold; None when not known, which makes the
        first turn due today.
    first_after : days from then to the first turn; None for one interval.
    """
    if turn.last_done is not None:
        anchor, since = turn.last_done, "since last"
        low, typical, high = interval.low, interval.typical, interval.high
    elif began is None:
        return Window(due=today, earliest=today, latest=today, why="never written as done")
    else:
        lead = interval.typical if first_after is None else first_after
        anchor, since = began, "since it began"
        low, typical = min(lead, interval.low), lead
        high = lead + interval.high - interval.typical
    due = anchor + timedelta(days=typical)
    earliest = anchor + timedelta(days=low)
    latest = max(due, anchor + timedelta(days=high))
    why = f"{days_text((today - anchor).days)} {since}, every {days_text(interval.typical)}"
    if first_after == 0 and turn.last_done is None:
        why = f"first time, then every {days_text(interval.typical)}"
    if turn.answered is not None and turn.answered > anchor:
        due = max(due, turn.answered + timedelta(days=come_back_after(interval)))
        earliest = min(earliest, due)
        latest = max(latest, due)
        why = f"skipped on {turn.answered} ({turn.skip_why}); {why}"
    return Window(due=due, earliest=earliest, latest=latest, why=why)


def lapsed(window: Window, keeps: Keeps, today: date) -> Window:
    """The window as it stands today: a duty that lapses is asked for today, never as arrears."""
    if keeps is Keeps.STAYS or window.due >= today:
        return window
    return Window(
        due=today,
        earliest=min(window.earliest, today),
        latest=today,
        why=window.why,
        basis=window.basis,
    )
