"""The words for days, numbers and places, the same on every face."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def days_text(days: int) -> str:
    """`1 day`, `4 days`."""
    return "1 day" if days == 1 else f"{days} days"


def length_text(days: float) -> str:
    """A long time as spoken: `21 days`, `18 months`, `10 years`."""
    if days < 60:
        return days_text(round(days))
    return f"{days / 30.4:.0f} months" if days < 1000 else f"{days / 365:.0f} years"


def ago_text(days: int) -> str:
    """`today`, `yesterday`, `4 days ago`."""
    return {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")


def every_text(days: int) -> str:
    """`every day`, `every 4 days`."""
    return "every day" if days == 1 else f"every {days} days"


def day_text(day: date, today: date | None = None) -> str:
    """A day as spoken: `Tue 3 Mar`, with the year when it is not today's."""
    spoken = f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]}"
    return spoken if today is None or day.year == today.year else f"{spoken} {day.year}"


def span_text(earliest: date, latest: date) -> str:
    """A span of days: `3–9 Mar`, `28 Feb – 4 Mar`, or with years when it is nearly one long."""
    if earliest == latest:
        return _short(earliest)
    if (latest - earliest).days > 300:
        return f"{_short(earliest)} {earliest.year} – {_short(latest)} {latest.year}"
    if earliest.month == latest.month:
        return f"{earliest.day}–{_short(latest)}"
    return f"{_short(earliest)} – {_short(latest)}"


def _short(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]}"


def list_text(items: Sequence[str], most: int = 4) -> str:
    """`B1, B2 and B3`, shortened after `most` to `B1, B2, B3 and 5 more`."""
    if len(items) > most:
        return f"{', '.join(items[: most - 1])} and {len(items) - most + 1} more"
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def plants_text(count: int) -> str:
    """`1 plant`, `3 plants`."""
    return "1 plant" if count == 1 else f"{count} plants"


def worded(job: str, *, named: str, name: str) -> str:
    """A duty's words with the names of what it is done to; counts stay to be filled in."""
    return job.replace("{crop}", named).replace("{thing}", named).replace("{name}", name)


def at_large(job: str, named: str) -> str:
    """A duty's words when nothing in particular is meant: `Mist and air cuttings`."""
    uncounted = job.replace("{n} ", "").replace("{s}", "s")
    return " ".join(worded(uncounted, named=named, name="").split())


_BEGIN = {
    "cutting": "Strike {n} {name} cutting{s}",
    "runner": "Peg {n} {name} runner{s}",
    "division": "Take {n} {name} division{s}",
    "slip": "Strike {n} {name} slip{s}",
    "layer": "Peg {n} {name} layer{s}",
    "seed": "Sow {n} {name} seed{s}",
    "bought-in": "Order {n} {name} plant{s}",
}


def begin_words(way: str) -> str:
    """The words for beginning plants in a way; `{n}`, `{name}` and `{s}` are to be filled in."""
    return _BEGIN[way]
