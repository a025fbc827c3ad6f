"""Days as typed: ISO dates, `yesterday`, `mon`, `-3`, `3 mar`, and days known only about."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import date, timedelta
from enum import Enum

from cropplan.problems import Misuse

_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH_NAMES = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
#: Days on either side of a day that is known only about. [d] Common practice, no source.
_ABOUT_A_DAY = 7
#: More days than this in one answer are a slip of the hand.
_MOST_DAYS = 366

Today = Callable[[], date]


class Way(Enum):
    """Which way `mon` and `3 mar` look: back to the last such day, today being one, or ahead."""

    BACK = -1
    AHEAD = 1


def day_from(text: str, today: Today, way: Way = Way.BACK) -> date:
    """The day a text means. Raises Misuse, saying what to write.

    today : asked only when the text needs it.
    """
    typed = " ".join(text.casefold().split())
    if re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", typed):
        return _calendar_day(text, *(int(part) for part in typed.split("-")))
    words = {"today": 0, "yesterday": -1, "tomorrow": 1}
    if typed in words:
        return _shifted(text, today(), words[typed])
    if re.fullmatch(r"[+-]\d{1,4}d?", typed):
        return _shifted(text, today(), int(typed.rstrip("d")))
    if typed[:3] in _WEEKDAYS and f"{_full_weekday(typed[:3])}".startswith(typed):
        return _weekday(_WEEKDAYS.index(typed[:3]), today(), way)
    named = _named_day(text, typed, today, way)
    if named is not None:
        return named
    raise _unreadable(text, typed, today)


def days_from(texts: Sequence[str], today: Today) -> list[date]:
    """The days that texts mean: `2026-03-03..2026-03-12`, `mon,wed`; in order, once each.

    Raises Misuse.
    """
    days: set[date] = set()
    for text in (part for typed in texts for part in typed.split(",")):
        first, dots, last = text.partition("..")
        begin = day_from(first, today)
        end = day_from(last, today) if dots else begin
        if end < begin:
            raise Misuse(f"'{text}' ends before it begins; write the earlier day first")
        if (end - begin).days >= _MOST_DAYS:
            raise Misuse(f"'{text}' is more than a year; give a shorter span")
        days |= {begin + timedelta(days=n) for n in range((end - begin).days + 1)}
    return sorted(days)


def about_day(text: str, today: Today) -> tuple[date, int]:
    """A day with the days it may be wrong by: `about 2025-03` is mid-March, give or take 15.

    Raises Misuse.
    """
    typed = " ".join(text.casefold().split())
    about = typed.startswith(("about ", "~"))
    bare = typed.removeprefix("about ").removeprefix("~").strip()
    if match := re.fullmatch(r"(\d{4})", bare):
        year = int(match[1])
        return _calendar_day(text, year, 7, 2), 182
    if match := re.fullmatch(r"(\d{4})-(\d{1,2})", bare):
        year, month = int(match[1]), int(match[2])
        first = _calendar_day(text, year, month, 1)
        return first.replace(day=15), _days_in(year, month) // 2
    if not about:
        return day_from(text, today), 0
    try:
        return day_from(bare, today), _ABOUT_A_DAY
    except Misuse as fault:
        raise Misuse(f"'{text}' is not read: {fault}") from None


def _full_weekday(short: str) -> str:
    return {"tue": "tuesday", "wed": "wednesday", "thu": "thursday", "sat": "saturday"}.get(
        short, f"{short}day"
    )


def _weekday(number: int, today: date, way: Way) -> date:
    back = (today.weekday() - number) % 7
    return today - timedelta(days=back if way is Way.BACK else back - 7)


def _named_day(text: str, typed: str, today: Today, way: Way) -> date | None:
    match = re.fullmatch(r"(?:\w+ )?(\d{1,2}) ?([a-z]{3,9})\.?(?: (\d{4}))?", typed)
    if match is None or match[2][:3] not in _MONTHS:
        return None
    month = _MONTHS.index(match[2][:3])
    if not _MONTH_NAMES[month].casefold().startswith(match[2]):
        return None
    if match[3]:
        return _calendar_day(text, int(match[3]), month + 1, int(match[1]))
    now = today()
    years = [now.year, now.year + way.value]
    days = [_calendar_day(text, year, month + 1, int(match[1])) for year in years]
    fits = [day for day in days if (day <= now if way is Way.BACK else day > now)]
    return fits[0] if fits else days[0]


def _shifted(text: str, day: date, by: int) -> date:
    try:
        return day + timedelta(days=by)
    except OverflowError:
        raise Misuse(f"'{text}' is no day of the calendar") from None


def _calendar_day(text: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise Misuse(f"'{text}' is no day of the calendar; write such as 2026-03-04") from None


def _unreadable(text: str, typed: str, today: Today) -> Misuse:
    match = re.fullmatch(r"(\d{1,2})[/.-](\d{1,2})(?:[/.-](\d{2}|\d{4}))?\.?", typed)
    if match is None:
        return Misuse(
            f"'{text}' is no day; write such as 2026-03-04, today, yesterday, mon, -3 or '3 mar'"
        )
    one, two = int(match[1]), int(match[2])
    year = int(match[3]) if match[3] else today().year
    year += 2000 if year < 100 else 0
    read = [(d, m) for d, m in dict.fromkeys([(one, two), (two, one)]) if _exists(year, m, d)]
    if len(read) == 2:
        spoken = " or ".join(f"{d} {_MONTH_NAMES[m - 1]}" for d, m in read)
        day, month = read[0]
        return Misuse(f"'{text}' could be {spoken}; write {year:04d}-{month:02d}-{day:02d}")
    if read:
        day, month = read[0]
        return Misuse(f"'{text}' is not read; write {year:04d}-{month:02d}-{day:02d}")
    return Misuse(f"'{text}' is no day of the calendar; write such as 2026-03-04")


def _exists(year: int, month: int, day: int) -> bool:
    return 1 <= month <= 12 and 1 <= day <= _days_in(year, month)


def _days_in(year: int, month: int) -> int:
    """Days of a month; `calendar` would say, and cost the morning list its loading."""
    for day in (31, 30, 29):
        with suppress(ValueError):
            return date(year, month, day).day
    return 28
