"""Days as typed become days, or a line that says what to write."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropplan.cli.when import Way, about_day, day_from, days_from
from cropplan.problems import Misuse

WEDNESDAY = date(2026, 3, 4)


def today() -> date:
    """A Wednesday."""
    return WEDNESDAY


def never() -> date:
    """For texts that must not ask which day it is."""
    raise AssertionError("today was asked for")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("today", WEDNESDAY),
        ("Yesterday", date(2026, 3, 3)),
        ("wed", WEDNESDAY),
        ("mon", date(2026, 3, 2)),
        ("Thursday", date(2026, 2, 26)),
        ("-3", date(2026, 3, 1)),
        ("-10d", date(2026, 2, 22)),
        ("3 mar", date(2026, 3, 3)),
        ("tue 3 Mar", date(2026, 3, 3)),
        ("24 december", date(2025, 12, 24)),
        ("24 Dec 2024", date(2024, 12, 24)),
        ("2026-2-9", date(2026, 2, 9)),
    ],
)
def test_a_day_gone_by_is_the_last_such_day(typed: str, meant: date) -> None:
    """What was done lies behind: a weekday or a day of the month is the latest, today included."""
    assert day_from(typed, today) == meant


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("tomorrow", date(2026, 3, 5)),
        ("wed", date(2026, 3, 11)),
        ("mon", date(2026, 3, 9)),
        ("+2", date(2026, 3, 6)),
        ("3 mar", date(2027, 3, 3)),
        ("5 mar", date(2026, 3, 5)),
    ],
)
def test_a_day_to_come_is_the_next_such_day(typed: str, meant: date) -> None:
    """What is put off lies ahead, so today is never meant."""
    assert day_from(typed, today, Way.AHEAD) == meant


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("4/3", "'4/3' could be 4 March or 3 April; write 2026-03-04"),
        ("4/3/25", "'4/3/25' could be 4 March or 3 April; write 2025-03-04"),
        ("4.3.", "'4.3.' could be 4 March or 3 April; write 2026-03-04"),
        ("13/3", "'13/3' is not read; write 2026-03-13"),
        ("3/13", "'3/13' is not read; write 2026-03-13"),
        ("31/2", "'31/2' is no day of the calendar; write such as 2026-03-04"),
        ("2026-02-30", "'2026-02-30' is no day of the calendar; write such as 2026-03-04"),
        ("30 feb", "'30 feb' is no day of the calendar; write such as 2026-03-04"),
        ("soon", "'soon' is no day; write such as 2026-03-04"),
        ("monkey", "'monkey' is no day; write such as 2026-03-04"),
        ("", "'' is no day; write such as 2026-03-04"),
    ],
)
def test_an_unclear_day_is_refused_with_what_to_write(typed: str, says: str) -> None:
    """4/3 is March in one country and April in another: nobody guesses, and the text is named."""
    with pytest.raises(Misuse) as refused:
        day_from(typed, today)
    assert str(refused.value).startswith(says)


@given(st.dates(min_value=date(1900, 1, 1), max_value=date(2200, 12, 31)))
def test_an_iso_day_is_itself_and_asks_for_no_clock(day: date) -> None:
    """ISO 8601 calendar dates mean the same on any day and need no record to be opened."""
    assert day_from(day.isoformat(), never) == day


@given(st.integers(min_value=0, max_value=6))
def test_a_weekday_is_never_more_than_six_days_back(number: int) -> None:
    """The last such day, today included, lies within the week."""
    word = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")[number]
    day = day_from(word, today)
    assert day.weekday() == number
    assert timedelta(0) <= WEDNESDAY - day <= timedelta(days=6)


@given(st.text(max_size=20))
def test_any_text_is_a_day_or_a_misuse_that_names_it(text: str) -> None:
    """Whatever is typed, the answer is a day or one refusal that holds the text."""
    told = day_or_refusal(text)
    assert isinstance(told, date) or f"'{text}'" in told


def day_or_refusal(text: str) -> date | str:
    """The day that a text means, or why it is none."""
    try:
        return day_from(text, today)
    except Misuse as refused:
        return str(refused)


@pytest.mark.parametrize(
    ("typed", "day", "give"),
    [
        ("about 2025-03", date(2025, 3, 15), 15),
        ("2025-03", date(2025, 3, 15), 15),
        ("~2025-02", date(2025, 2, 15), 14),
        ("about 2024", date(2024, 7, 2), 182),
        ("about 2025-03-10", date(2025, 3, 10), 7),
        ("2025-03-10", date(2025, 3, 10), 0),
        ("yesterday", date(2026, 3, 3), 0),
    ],
)
def test_a_day_known_only_about_keeps_its_doubt(typed: str, day: date, give: int) -> None:
    """An approximate start is kept with the days it may be wrong by, never as if exact."""
    assert about_day(typed, today) == (day, give)


def test_a_month_span_covers_all_of_its_days() -> None:
    """The middle of a month, give or take, reaches its first and last day (a day at most over)."""
    for month in range(1, 13):
        day, give = about_day(f"2025-{month:02}", today)
        first = date(2025, month, 1)
        last = (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
        assert day - timedelta(days=give) <= first
        assert day + timedelta(days=give) >= last - timedelta(days=1)


def test_spans_and_single_days_join_in_order_without_repeats() -> None:
    """A neighbour's sheet: some days as a span, some by themselves, each counted once."""
    days = days_from(["2026-03-03..2026-03-05", "2026-03-01", "mon,tue"], today)
    assert days == [date(2026, 3, day) for day in (1, 2, 3, 4, 5)]


@pytest.mark.parametrize("typed", ["2026-03-05..2026-03-03", "2024-01-01..2026-01-01"])
def test_a_span_that_cannot_be_meant_is_refused(typed: str) -> None:
    """Backwards, or longer than a year, is a slip of the hand."""
    with pytest.raises(Misuse, match=typed.replace(".", r"\.")):
        days_from([typed], today)
