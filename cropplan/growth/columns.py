"""Which column of a temperature log holds what: header words, units, and the order of dates.

Loggers agree on nothing: the header may be absent or come after a page of boasts, the unit stands
in the header, in the cell or nowhere, and 03/04 is March or April. What can be told from the file
is told; what cannot is refused with the way to say it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

Unit = Literal["C", "F"]
Order = Literal["day first", "month first"]

_DAY_WORDS = {"date", "day", "datum", "timestamp", "datetime", "tag", "jour", "fecha"}
_TIME_WORDS = {"time", "hour", "zeit", "heure", "hora"}
_LOW_WORDS = {"low", "min", "minimum", "tmin", "lowest", "mintemp", "tempmin"}
_HIGH_WORDS = {"high", "max", "maximum", "tmax", "highest", "maxtemp", "tempmax"}
_WARMTH_WORDS = {
    "temp",
    "temperature",
    "temperatur",
    "température",
    "temperatura",
    "t",
    "air",
    "dry",
}
_OTHER_WORDS = {
    "battery", "code", "dew", "dewpoint", "feel", "feels", "flag", "humidity", "quality", "rh",
    "soil", "source", "uncert", "water", "wet",
}  # fmt: skip

_UNIT = re.compile(r"(?:°|º|deg|degrees|\b|_)\s*(celsius|fahrenheit|[cf])\b", re.IGNORECASE)
_NUMBER = re.compile(r"([+-]?\d{0,6}(?:[.,]\d{1,9}|\d))\s*(?:°|º|deg)?\s*([cf])?", re.IGNORECASE)
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?!\d)")
_YEAR_LAST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})[-/.](\d{4}|\d{2})(?!\d)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """Where things stand in a row, counted from 0.

    day, time : date, and time of day when it has a column of its own.
    low, high : the day's extremes; None in a log of single readings.
    reading : one reading; None in a log of extremes.
    unit : as the header says; None when it does not.
    width : how many cells a row has.
    passed_over : names of further temperature columns that are not read.
    """

    day: int
    time: int | None
    low: int | None
    high: int | None
    reading: int | None
    unit: Unit | None
    width: int
    passed_over: tuple[str, ...] = ()


def header_columns(cells: Sequence[str]) -> Columns | None:
    """The columns that a header row names; None when the row is not a header we can read."""
    words = [set(re.split(r"[^a-zàâéèêüöä]+", cell.casefold())) for cell in cells]
    day = _first(words, _DAY_WORDS)
    time = _first(words, _TIME_WORDS, without=day)
    if day is None:
        day, time = time, None
    low, high = _first(words, _LOW_WORDS, day), _first(words, _HIGH_WORDS, day)
    plain = [
        index
        for index, word in enumerate(words)
        if index not in (day, time, low, high) and _is_warmth(cells[index], word)
    ]
    if day is None or ((low is None or high is None) and not plain):
        return None
    extremes = low is not None and high is not None
    reading = None if extremes else plain[0]
    named = cells[low] if extremes and low is not None else cells[plain[0]]
    return Columns(
        day=day,
        time=time,
        low=low if extremes else None,
        high=high if extremes else None,
        reading=reading,
        unit=_unit_in(named),
        width=len(cells),
        passed_over=() if extremes else tuple(cells[index].strip() for index in plain[1:]),
    )


def bare_columns(cells: Sequence[str]) -> Columns | None:
    """The columns of a log without header: a date, then one reading or a low and a high."""
    if len(cells) not in (2, 3) or not looks_like_date(cells[0]):
        return None
    if any(temperature(cell, "C") is None for cell in cells[1:]):
        return None
    single = len(cells) == 2
    return Columns(
        day=0,
        time=None,
        low=None if single else 1,
        high=None if single else 2,
        reading=1 if single else None,
        unit=None,
        width=len(cells),
    )


def temperature(cell: str, unit: Unit) -> float | None:
    """The temperature in a cell; None when it is not one. [°C]

    unit : of cells that do not say their own, as "61 F" does.
    """
    found = _NUMBER.fullmatch(cell.strip().replace("\N{MINUS SIGN}", "-"))
    if not found:
        return None
    value = float(found[1].replace(",", "."))
    return (value - 32) / 1.8 if (found[2] or unit).upper() == "F" else value


def looks_like_date(cell: str) -> bool:
    """Whether a cell begins as a date does, in figures."""
    text = cell.strip()
    return bool(_YEAR_FIRST.match(text) or _YEAR_LAST.match(text))


def day_of(cell: str, order: Order) -> date | None:
    """The date in a cell, whatever time follows it; None when it is not one.

    order : for dates that end in the year.
    """
    text = cell.strip()
    if found := _YEAR_FIRST.match(text):
        year, month, day = int(found[1]), int(found[2]), int(found[3])
    elif found := _YEAR_LAST.match(text):
        first, second, year = int(found[1]), int(found[3]), int(found[4])
        day, month = (first, second) if order == "day first" else (second, first)
        year += 2000 if year < 100 else 0
    else:
        return None
    try:
        return date(year, month, day)
    except ValueError:
        return None


def has_time(cell: str) -> bool:
    """Whether a cell says a time of day."""
    return ":" in cell


def date_order(cells: Sequence[str]) -> Order | None:
    """How the dates of a file that end in the year are written; None when it cannot be told.

    A figure above twelve tells; so does the shorter time that the file then spans, since a log
    goes on from day to day. Dotted dates have the day first.
    """
    endings = [found for cell in cells if (found := _YEAR_LAST.match(cell.strip()))]
    if not endings or endings[0][2] == ".":
        return "day first"
    if any(int(found[1]) > 12 for found in endings):
        return "day first"
    if any(int(found[3]) > 12 for found in endings):
        return "month first"
    spans: dict[Order, int] = {}
    orders: tuple[Order, Order] = ("day first", "month first")
    for order in orders:
        days = [day for found in endings if (day := day_of(found[0], order))]
        spans[order] = (max(days) - min(days)).days if days else 0
    if spans["day first"] == spans["month first"]:
        same = all(found[1] == found[3] for found in endings)
        return "day first" if same else None
    return min(orders, key=lambda order: spans[order])


def _first(words: Sequence[set[str]], wanted: set[str], without: int | None = None) -> int | None:
    for index, word in enumerate(words):
        if index != without and word & wanted and not word & _OTHER_WORDS:
            return index
    return None


def _is_warmth(cell: str, words: set[str]) -> bool:
    if words & _OTHER_WORDS:
        return False
    return bool(words & _WARMTH_WORDS) or "°" in cell or bool({"celsius", "fahrenheit"} & words)


def _unit_in(cell: str) -> Unit | None:
    found = _UNIT.search(cell)
    if not found:
        return None
    return "F" if found[1][0].upper() == "F" else "C"
