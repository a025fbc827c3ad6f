"""Fixed days: recurrence rules, days that months lack, what stays and what lapses, done early."""

from __future__ import annotations

from datetime import date
from itertools import islice

import pytest

from cropplan.holding.entry import OwnDuty
from cropplan.holding.holding import Turn
from cropplan.holding.task import Keeps, SubjectKind, subject
from cropplan.problems import Misuse
from cropplan.schedule.fixed import days_of, fixed_window, later_days
from tests.builders import own_duty

HOUSE = subject(SubjectKind.HOUSE, "north")


def first(rule: str, begins: date, count: int) -> list[str]:
    """The first days of a rule, as text."""
    return [day.isoformat() for day in islice(days_of(rule, begins), count)]


def own(rule: str, begins: date, keeps: Keeps = Keeps.STAYS) -> OwnDuty:
    """A duty of the grower's own on fixed days."""
    return own_duty(begins=begins, every_days=None, rule=rule, keeps=keeps)


def open_on(duty: OwnDuty, today: date, **known: object) -> date | None:
    """The day of the open turn."""
    turn = Turn(duty=duty.id, subject=HOUSE, **known)  # type: ignore[arg-type]
    window = fixed_window(duty, turn, today)
    return None if window is None else window.due


@pytest.mark.parametrize(
    ("rule", "begins", "days"),
    [
        (
            "FREQ=MONTHLY;BYMONTHDAY=31",
            date(2026, 1, 5),
            ["2026-01-31", "2026-02-28", "2026-03-31", "2026-04-30"],
        ),
        ("FREQ=MONTHLY", date(2026, 1, 31), ["2026-01-31", "2026-02-28", "2026-03-31"]),
        ("FREQ=MONTHLY;BYMONTHDAY=30", date(2028, 1, 31), ["2028-02-29", "2028-03-30"]),
        (
            "FREQ=MONTHLY;INTERVAL=2;BYMONTHDAY=30",
            date(2026, 3, 31),
            ["2026-05-30", "2026-07-30"],
        ),
        (
            "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29",
            date(2026, 1, 1),
            ["2026-02-28", "2027-02-28", "2028-02-29"],
        ),
        ("FREQ=YEARLY", date(2024, 2, 29), ["2024-02-29", "2025-02-28", "2026-02-28"]),
        ("FREQ=YEARLY", date(2026, 3, 30), ["2026-03-30", "2027-03-30"]),
        (
            "FREQ=MONTHLY;BYMONTHDAY=31;COUNT=2",
            date(2026, 1, 5),
            ["2026-01-31", "2026-02-28"],
        ),
        (
            "FREQ=MONTHLY;BYMONTHDAY=29;COUNT=2",
            date(2026, 1, 30),
            ["2026-02-28", "2026-03-29"],
        ),
        (
            "FREQ=MONTHLY;BYMONTHDAY=31;UNTIL=20260415",
            date(2026, 2, 1),
            ["2026-02-28", "2026-03-31"],
        ),
    ],
)
def test_days_that_a_month_lacks_fall_on_its_last(rule: str, begins: date, days: list[str]) -> None:
    """The standard drops them (RFC 5545 §3.3.10); growers mean the month's end."""
    assert first(rule, begins, len(days) + 1)[: len(days)] == days
    if "COUNT" in rule or "UNTIL" in rule:
        assert first(rule, begins, 9) == days


@pytest.mark.parametrize(
    ("rule", "begins", "days"),
    [
        ("FREQ=WEEKLY;BYDAY=MO", date(2026, 3, 4), ["2026-03-09", "2026-03-16"]),
        ("rrule:freq=weekly;byday=mo,th", date(2026, 3, 4), ["2026-03-05", "2026-03-09"]),
        ("FREQ=DAILY;INTERVAL=3", date(2026, 3, 4), ["2026-03-04", "2026-03-07"]),
        ("FREQ=MONTHLY;BYDAY=1MO", date(2026, 3, 4), ["2026-04-06", "2026-05-04"]),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", date(2026, 2, 1), ["2026-02-28", "2026-03-31"]),
        ("FREQ=MONTHLY;BYMONTHDAY=1,15", date(2026, 3, 4), ["2026-03-15", "2026-04-01"]),
        ("FREQ=YEARLY;BYWEEKNO=53;BYDAY=MO", date(2026, 1, 1), ["2026-12-28", "2032-12-27"]),
    ],
)
def test_other_rules_are_the_standards(rule: str, begins: date, days: list[str]) -> None:
    """Week numbers and weekdays as RFC 5545 has them."""
    assert first(rule, begins, len(days)) == days


@pytest.mark.parametrize(
    ("rule", "told"),
    [
        ("every monday", "'every monday' is no rule of days; it begins with FREQ="),
        ("FREQ=HOURLY", "'FREQ=HOURLY' is no rule of days"),
        ("FREQ=MINUTELY;INTERVAL=5", "is no rule of days"),
        ("FREQ=DAILY;BYHOUR=6", "'FREQ=DAILY;BYHOUR=6' names a time of day"),
        ("FREQ=WEEKLY;BYDAY=XX", "'FREQ=WEEKLY;BYDAY=XX' is no rule ("),
        ("FREQ=WEEKLY;;BYDAY=MO", "is no rule of days"),
        ("FREQ=MONTHLY;BYMONTHDAY=15,31", "a day past the 28th stands alone, such as 31"),
        ("FREQ=MONTHLY;BYMONTHDAY=32", "a day past the 28th stands alone"),
        ("FREQ=DAILY;COUNT=x", "is no rule ("),
        ("FREQ=DAILY\nRRULE:FREQ=WEEKLY", "'FREQ=DAILY"),
    ],
)
def test_what_is_no_rule_of_days_is_refused(rule: str, told: str) -> None:
    """One line with the text typed and one that would do."""
    with pytest.raises(Misuse) as refused:
        next(days_of(rule, date(2026, 3, 4)))
    assert told in str(refused.value)


def test_what_stays_is_open_from_the_first_day_unanswered() -> None:
    """Rare work never vanishes: three Mondays missed are one line, that of the first."""
    weekly = own("FREQ=WEEKLY;BYDAY=MO", date(2026, 3, 1))
    assert open_on(weekly, date(2026, 3, 25)) == date(2026, 3, 2)
    assert open_on(weekly, date(2026, 3, 25), answered=date(2026, 3, 24)) == date(2026, 3, 30)


def test_what_lapses_is_open_on_its_own_day_only() -> None:
    """A missed look is gone; the next one comes."""
    weekly = own("FREQ=WEEKLY;BYDAY=MO", date(2026, 3, 1), Keeps.LAPSES)
    assert open_on(weekly, date(2026, 3, 2)) == date(2026, 3, 2)
    assert open_on(weekly, date(2026, 3, 3)) == date(2026, 3, 9)


def test_done_late_leaves_the_next_fixed_day_alone() -> None:
    """Pinned to a weekday: Monday's work done on Wednesday is due again on Monday."""
    weekly = own("FREQ=WEEKLY;BYDAY=MO", date(2026, 3, 1))
    wednesday = date(2026, 3, 4)
    assert open_on(weekly, wednesday, last_done=wednesday, answered=wednesday) == date(2026, 3, 9)


def test_done_shortly_before_its_day_it_counts_for_it() -> None:
    """Doing it before it is due counts, in the last quarter of the time between two days."""
    weekly = own("FREQ=WEEKLY;BYDAY=MO", date(2026, 3, 1))
    for day, due in ((date(2026, 3, 8), date(2026, 3, 16)), (date(2026, 3, 7), date(2026, 3, 9))):
        assert open_on(weekly, day, last_done=day, answered=day) == due
    monthly = own("FREQ=MONTHLY;BYMONTHDAY=1", date(2026, 1, 1))
    early = date(2026, 3, 26)
    assert open_on(monthly, early, last_done=early, answered=early) == date(2026, 5, 1)


def test_a_skip_before_its_day_leaves_the_day_due() -> None:
    """Only work counts early; a skip closes what was open."""
    weekly = own("FREQ=WEEKLY;BYDAY=MO", date(2026, 3, 1))
    assert open_on(weekly, date(2026, 3, 8), answered=date(2026, 3, 8)) == date(2026, 3, 9)
    assert open_on(weekly, date(2026, 3, 9), answered=date(2026, 3, 9)) == date(2026, 3, 16)


def test_a_rule_that_has_run_out_asks_no_more() -> None:
    """Twice means twice."""
    twice = own("FREQ=DAILY;COUNT=2", date(2026, 3, 1))
    assert open_on(twice, date(2026, 3, 9), answered=date(2026, 3, 1)) == date(2026, 3, 2)
    assert open_on(twice, date(2026, 3, 9), answered=date(2026, 3, 2)) is None


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=DAILY",
        "FREQ=DAILY;INTERVAL=4",
        "FREQ=WEEKLY;BYDAY=MO,TH",
        "FREQ=WEEKLY;INTERVAL=3;BYDAY=SU;WKST=SU",
        "FREQ=DAILY;BYDAY=MO",
        "FREQ=DAILY;COUNT=9000",
        "FREQ=MONTHLY;BYMONTHDAY=31",
    ],
)
@pytest.mark.parametrize("answered", [date(2038, 11, 4), date(2038, 11, 5), date(2038, 11, 8)])
def test_a_rule_of_many_years_gives_the_same_day_however_it_is_reached(
    rule: str, answered: date
) -> None:
    """Old duties are not walked through from their first day, and do not run dry."""
    duty = own(rule, date(2026, 3, 4))
    walked = next(day for day in days_of(rule, duty.begins) if day > answered)
    assert open_on(duty, date(2038, 11, 9), answered=answered) == walked


def test_later_days_come_after_one_and_up_to_another() -> None:
    """The calendar's turns after the open one."""
    weekly = own("FREQ=WEEKLY;BYDAY=MO", date(2026, 3, 1))
    days = later_days(weekly, date(2026, 3, 9), date(2026, 3, 30))
    assert days == [date(2026, 3, 16), date(2026, 3, 23), date(2026, 3, 30)]


def test_the_window_says_by_which_rule() -> None:
    """Every line can say why it is there."""
    window = fixed_window(
        own("FREQ=WEEKLY;BYDAY=MO", date(2026, 3, 1)),
        Turn(duty="own-1", subject=HOUSE),
        date(2026, 3, 1),
    )
    assert window is not None
    assert window.why == "set for Mon 2 Mar (FREQ=WEEKLY;BYDAY=MO)"
