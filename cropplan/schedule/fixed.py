"""Own duties on fixed days, written as an RFC 5545 recurrence rule.

The rule is read by dateutil. Where the standard silently drops a day that a month lacks, the 31st
or 29 February, the last day of that month is taken instead.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from itertools import chain, islice, pairwise, takewhile
from typing import TYPE_CHECKING

from cropplan.holding.holding import Turn
from cropplan.holding.own_duty import OwnDuty
from cropplan.holding.task import Keeps
from cropplan.problems import Misuse
from cropplan.schedule.call import Window
from cropplan.schedule.wording import day_text

if TYPE_CHECKING:
    from dateutil.rrule import rrule

_FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
_WITHIN_A_DAY = ("BYHOUR", "BYMINUTE", "BYSECOND")
#: Rules that give at least one day a turn have no other parts than these.
_PLAIN = {
    "DAILY": frozenset({"FREQ", "INTERVAL", "UNTIL", "WKST"}),
    "WEEKLY": frozenset({"FREQ", "INTERVAL", "UNTIL", "WKST", "BYDAY"}),
}
#: The shortest month has so many days; later days of the month are missing from some.
_ALWAYS_THERE = 28


def days_of(rule: str, begins: date, since: date = date.min) -> Iterator[date]:
    """The days of a rule from its beginning, in order.

    since : days before it may be left out, so that a rule of many years is not walked through.
    Raises Misuse when the text is no rule, or names a time within the day.
    """
    parts = _parts(rule)
    day_of_month = _missing_day(parts, rule, begins)
    if day_of_month is None:
        start = _near(parts, begins, since)
        yield from (moment.date() for moment in _parsed(parts, rule, start))
        return
    # Asked for on the 1st, which no month lacks, and put back as far as each month goes.
    parsed = _parsed({**parts, "BYMONTHDAY": "1"}, rule, begins.replace(day=1))
    months = (moment.date() for moment in parsed.replace(count=None))
    days = (_in_month(month, day_of_month) for month in months)
    until = parts.get("UNTIL", "99991231")[:8]
    wanted = takewhile(lambda day: f"{day:%Y%m%d}" <= until, (d for d in days if d >= begins))
    yield from islice(wanted, int(parts["COUNT"]) if "COUNT" in parts else None)


def fixed_window(own: OwnDuty, turn: Turn, today: date) -> Window | None:
    """The open turn of a duty on fixed days; None when the rule has run out.

    What stays is open from the first unanswered day on, and hides the later ones. What lapses is
    open on its own day only. Done in the last quarter of the time before a day, it counts for it.
    """
    lapses = own.keeps is Keeps.LAPSES
    open_from = max(turn.answered or date.min, today if lapses else date.min)
    for before, day in pairwise(
        chain([own.begins], days_of(own.rule or "", own.begins, open_from))
    ):
        earliest = day - (day - before) // 4
        done = turn.last_done is not None and turn.last_done >= earliest
        if done or (turn.answered is not None and turn.answered >= day):
            continue
        if lapses and day < today:
            continue
        why = f"set for {day_text(day, today)} ({own.rule})"
        return Window(due=day, earliest=earliest, latest=day, why=why)
    return None


def later_days(own: OwnDuty, after: date, until: date) -> list[date]:
    """The days of a fixed duty after one day, up to and with another."""
    days = []
    for day in days_of(own.rule or "", own.begins, after):
        if day > until:
            break
        if day > after:
            days.append(day)
    return days


def _parts(rule: str) -> dict[str, str]:
    plain = rule.strip().upper().removeprefix("RRULE:")
    parts = dict(part.split("=", 1) for part in plain.split(";") if "=" in part)
    if any(word in parts for word in _WITHIN_A_DAY):
        raise Misuse(f"'{rule}' names a time of day; a duty falls on days only")
    if parts.get("FREQ") not in _FREQUENCIES or len(parts) != len(plain.split(";")):
        known = ", ".join(_FREQUENCIES)
        raise Misuse(f"'{rule}' is no rule of days; it begins with FREQ= and one of {known}")
    return parts


def _missing_day(parts: dict[str, str], rule: str, begins: date) -> int | None:
    """The day of the month that some months lack; None when every month has the rule's days.

    Adds to `parts` what the rule left to its first day.
    """
    if parts["FREQ"] not in {"MONTHLY", "YEARLY"}:
        return None
    if "BYMONTHDAY" not in parts and not parts.keys() & {"BYDAY", "BYYEARDAY", "BYWEEKNO"}:
        parts["BYMONTHDAY"] = str(begins.day)
        if parts["FREQ"] == "YEARLY":
            parts.setdefault("BYMONTH", str(begins.month))
    days = parts.get("BYMONTHDAY", "").split(",")
    late = [day for day in days if day.isdigit() and int(day) > _ALWAYS_THERE]
    if not late:
        return None
    if len(days) > 1 or int(late[0]) > 31 or "BYDAY" in parts:
        raise Misuse(f"'{rule}': a day past the {_ALWAYS_THERE}th stands alone, such as 31")
    return int(late[0])


def _near(parts: dict[str, str], begins: date, since: date) -> date:
    """A beginning a few turns before `since` from which a plain rule gives the same days.

    Only of days and weeks; months and years are few enough to walk through.
    """
    plainly = _PLAIN.get(parts["FREQ"])
    every = parts.get("INTERVAL", "1")
    if plainly is None or not parts.keys() <= plainly or not every.isdigit() or since <= begins:
        return begins
    turn = timedelta(days=max(1, int(every)) * (7 if parts["FREQ"] == "WEEKLY" else 1))
    return begins + max(0, (since - begins) // turn - 2) * turn


def _in_month(month: date, day: int) -> date:
    return month.replace(day=min(day, monthrange(month.year, month.month)[1]))


def _parsed(parts: dict[str, str], typed: str, begins: date) -> rrule:
    from dateutil.rrule import rrule as rule_class
    from dateutil.rrule import rrulestr

    text = ";".join(f"{key}={value}" for key, value in parts.items())
    try:
        parsed = rrulestr(text, dtstart=datetime.combine(begins, time()))
    except (ValueError, TypeError, KeyError) as fault:
        raise Misuse(
            f"'{typed}' is no rule ({fault}); write for instance FREQ=WEEKLY;BYDAY=MO"
        ) from fault
    if not isinstance(parsed, rule_class):
        raise Misuse(f"'{typed}' is more than one rule; write one, such as FREQ=WEEKLY;BYDAY=MO")
    return parsed
