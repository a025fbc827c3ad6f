"""Own duties on fixed days, written as an RFC 5545 recurrence rule.

The rule is read by dateutil. Where the standard silently drops a day that a month lacks, the 31st
or 29 February, the last day of that month is taken instead.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from itertools import islice
from typing import TYPE_CHECKING

from cropplan.holding.entry import OwnDuty
from cropplan.holding.holding import Turn
from cropplan.holding.task import Keeps
from cropplan.problems import Misuse
from cropplan.schedule.call import Window
from cropplan.schedule.wording import day_text

if TYPE_CHECKING:
    from dateutil.rrule import rrule

#: A rule that has not come up after so many turns is taken never to.
_ENOUGH = 4000


def days_of(rule: str, begins: date) -> Iterator[date]:
    """The days of a rule from its beginning, in order.

    Raises Misuse when the text is no rule, or names a time within the day.
    """
    text, clip = _clipped(rule, begins)
    parsed = _parsed(text, rule, begins)
    for moment in islice(parsed, _ENOUGH):
        day = moment.date()
        if clip is not None:
            day = day.replace(day=min(clip, monthrange(day.year, day.month)[1]))
        if day >= begins:
            yield day


def fixed_window(own: OwnDuty, turn: Turn, today: date) -> Window | None:
    """The open turn of a duty on fixed days; None when the rule has run out.

    What stays is open from the first unanswered day on, and hides the later ones. What lapses is
    open on its own day only.
    """
    if own.rule is None:
        return None
    answered = turn.answered
    for day in days_of(own.rule, own.begins):
        if answered is not None and day <= answered:
            continue
        if own.keeps is Keeps.LAPSES and day < today:
            continue
        return Window(due=day, earliest=day - timedelta(days=1), latest=day, why=_why(own, day))
    return None


def later_days(own: OwnDuty, after: date, until: date) -> list[date]:
    """The days of a fixed duty after one day, up to and with another."""
    days = []
    for day in days_of(own.rule or "", own.begins):
        if day > until:
            break
        if day > after:
            days.append(day)
    return days


def _why(own: OwnDuty, day: date) -> str:
    return f"set for {day_text(day)} ({own.rule})"


def _clipped(rule: str, begins: date) -> tuple[str, int | None]:
    """The rule moved to the first of the month, and the day to put back, when a month lacks it."""
    parts = dict(part.split("=", 1) for part in rule.upper().split(";") if "=" in part)
    day = parts.get("BYMONTHDAY", "")
    monthly = parts.get("FREQ") == "MONTHLY"
    yearly = parts.get("FREQ") == "YEARLY"
    if day.isdigit() and int(day) > 28 and (monthly or yearly):
        parts["BYMONTHDAY"] = "1"
        return ";".join(f"{key}={value}" for key, value in parts.items()), int(day)
    if not day and begins.day > 28 and set(parts) <= {"FREQ", "INTERVAL", "COUNT", "UNTIL"}:
        if monthly:
            parts["BYMONTHDAY"] = "1"
        elif yearly:
            parts["BYMONTH"], parts["BYMONTHDAY"] = str(begins.month), "1"
        else:
            return rule, None
        return ";".join(f"{key}={value}" for key, value in parts.items()), begins.day
    return rule, None


def _parsed(text: str, typed: str, begins: date) -> rrule:
    from dateutil.rrule import rrule as rule_class
    from dateutil.rrule import rrulestr

    if any(word in text.upper() for word in ("BYHOUR", "BYMINUTE", "BYSECOND", "HOURLY")):
        raise Misuse(f"'{typed}' names a time of day; a duty falls on days only")
    start = _midnight(begins.replace(day=1)) if text != typed else _midnight(begins)
    try:
        parsed = rrulestr(text, dtstart=start)
    except (ValueError, TypeError, KeyError) as fault:
        raise Misuse(
            f"'{typed}' is no rule ({fault}); write for instance FREQ=WEEKLY;BYDAY=MO"
        ) from fault
    if not isinstance(parsed, rule_class):
        raise Misuse(f"'{typed}' is more than one rule; write one, such as FREQ=WEEKLY;BYDAY=MO")
    return parsed


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time())
