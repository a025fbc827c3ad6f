"""Readings: a thermometer log's text turned into the low and high of each day.

Nothing in a log is believed without a look, and nothing wrong in it stops the rest from being
read: each fault is a `Problem` with its line, and the days that are good come back beside them.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

from cropplan.growth.columns import (
    Columns,
    Order,
    Unit,
    bare_columns,
    date_order,
    day_of,
    has_time,
    header_columns,
    looks_like_date,
    temperature,
)
from cropplan.growth.warmth import DayWarmth
from cropplan.problems import Problem

COLDEST, HOTTEST = -60.0, 60.0
"""A thermometer in or by a house that reads beyond these is broken. [°C] Common practice, no
source; loggers write -127, 85 or 999 for a sensor they cannot hear."""

FAHRENHEIT_FROM = 40.0
"""A log that names no unit and whose middle reading is above this is in °F. Common practice, no
source."""

_HEADER_WITHIN = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class DayReading:
    """One day of a log.

    warmth : its low and high. [°C]
    count : readings they were taken from; 1 for a row that gives low and high itself.
    """

    day: date
    warmth: DayWarmth
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    line: int
    moment: str
    day: date
    low: float
    high: float


def read_days(
    text: str, *, file: str, unit: Unit | None = None
) -> tuple[tuple[DayReading, ...], tuple[Problem, ...]]:
    """The days of a temperature log, and what is wrong with it.

    text : CSV parted by commas, semicolons, tabs or bars; a header is looked for, and lines above
        it passed over; decimal points or commas; one row a day with low and high, or any number
        of single readings a day.
    file : the log's name, for messages.
    unit : of a log that does not say its own; its own word wins. None to tell from the figures.
    Returns days in order, none twice, and problems by line: cells that are not dates or
    temperatures, readings no house has, lows above highs, repeated rows, days too thin to trust,
    missing days.
    """
    table, faults = _table(text, file)
    start, columns = _columns(table)
    if columns is None:
        return (), (*faults, Problem(file=file, line=None, message=_NO_COLUMNS))
    body = [(line, cells) for line, cells in table[start:] if any(cell.strip() for cell in cells)]
    faults += [
        Problem(file=file, line=None, message=f"column '{name}' holds temperatures too; not read")
        for name in columns.passed_over
    ]
    whole = [(line, cells) for line, cells in body if len(cells) == columns.width]
    faults += [
        Problem(file=file, line=line, message=_wrong_width(len(cells), columns.width))
        for line, cells in body
        if len(cells) != columns.width
    ]
    order = date_order([cells[columns.day] for _, cells in whole])
    if order is None:
        return (), (*faults, Problem(file=file, line=None, message=_UNCLEAR_DATES))
    said = columns.unit or unit
    if said is None:
        said = _unit_of(whole, columns)
        if said == "F":
            faults.append(Problem(file=file, line=None, message=_TAKEN_AS_FAHRENHEIT))
    rows = _rows(whole, columns, order, said, file, faults)
    days = _folded(rows, columns, file, faults)
    faults += _gaps(days, rows, file)
    return tuple(days), tuple(sorted(faults, key=lambda fault: fault.line or 0))


_NO_COLUMNS = (
    "no column of dates with temperatures beside it was found; name the columns in the first "
    "line, for example 'date,low,high' or 'time,temperature'"
)
_UNCLEAR_DATES = (
    "the dates could be read with the day or with the month first; write them as 2026-03-31"
)
_TAKEN_AS_FAHRENHEIT = (
    "no unit is named; so high, the figures were read as °F; write the unit in the header"
)


def _wrong_width(found: int, wanted: int) -> str:
    message = f"{found} cells where {wanted} are wanted"
    if found > wanted:
        message += "; with decimal commas, part the columns with semicolons"
    return message


def _table(text: str, file: str) -> tuple[list[tuple[int, list[str]]], list[Problem]]:
    lines = text.removeprefix("\ufeff").replace("\0", "").splitlines()
    reader = csv.reader(lines, delimiter=_parted_by(lines))
    table: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            table.append((reader.line_num, cells))  # noqa: PERF401 - keeps rows before a fault
    except csv.Error as fault:
        return table, [Problem(file=file, line=reader.line_num, message=f"not read on: {fault}")]
    return table, []


def _parted_by(lines: Sequence[str]) -> str:
    """The mark that parts columns: the strongest one that a good part of the lines has."""
    filled = [line for line in lines[:200] if line.strip()]
    for mark in (";", "\t", "|"):
        if sum(mark in line for line in filled) * 2 > len(filled):
            return mark
    return ","


def _columns(table: Sequence[tuple[int, list[str]]]) -> tuple[int, Columns | None]:
    """Where the rows begin, and what their columns hold.

    A line of boasts may have the words of a header; the header is the one with dates under it.
    """
    found: tuple[int, Columns | None] = (0, None)
    for index, (_, cells) in enumerate(table[:_HEADER_WITHIN]):
        if named := header_columns(cells):
            if any(_fits(below, named) for _, below in table[index + 1 : index + 4]):
                return index + 1, named
            found = (index + 1, named) if found[1] is None else found
        elif found[1] is None and (bare := bare_columns(cells)):
            return index, bare
    return found


def _fits(cells: Sequence[str], columns: Columns) -> bool:
    return len(cells) == columns.width and looks_like_date(cells[columns.day])


def _unit_of(body: Sequence[tuple[int, list[str]]], columns: Columns) -> Unit:
    cells = [row[index] for _, row in body for index in _warmth_cells(columns)]
    values = [value for cell in cells if (value := temperature(cell, "C")) is not None]
    likely = [value for value in values if -80 < value < 140]
    return "F" if likely and median(likely) > FAHRENHEIT_FROM else "C"


def _warmth_cells(columns: Columns) -> list[int]:
    wanted = (columns.low, columns.high, columns.reading)
    return [index for index in wanted if index is not None]


def _rows(
    body: Sequence[tuple[int, list[str]]],
    columns: Columns,
    order: Order,
    unit: Unit,
    file: str,
    faults: list[Problem],
) -> list[_Row]:
    """The rows that can be believed; the others are added to the faults."""
    rows = []
    for line, cells in body:
        row = _row(line, cells, columns, order, unit)
        if isinstance(row, str):
            faults.append(Problem(file=file, line=line, message=row))
        else:
            rows.append(row)
    return rows


def _row(line: int, cells: Sequence[str], columns: Columns, order: Order, unit: Unit) -> _Row | str:
    """One row, or what is wrong with it."""
    day = day_of(cells[columns.day], order)
    if day is None:
        return f"'{cells[columns.day].strip()}' is not a date; write it as 2026-03-31"
    values = []
    for index in _warmth_cells(columns):
        cell = cells[index].strip()
        value = temperature(cell, unit)
        if value is None:
            return f"'{cell}' is not a temperature" if cell else "the temperature is missing"
        if not COLDEST <= value <= HOTTEST:
            return f"'{cell}' is {value:.0f} °C, which no house has; left out"
        values.append(value)
    if values[0] > values[-1]:
        return f"the low of {values[0]:.1f} °C is above the high of {values[-1]:.1f} °C"
    moment = cells[columns.day].strip()
    if columns.time is not None:
        moment += " " + cells[columns.time].strip()
    return _Row(line=line, moment=moment, day=day, low=values[0], high=values[-1])


def _folded(
    rows: Sequence[_Row], columns: Columns, file: str, faults: list[Problem]
) -> list[DayReading]:
    """Rows brought together by day, repeated and thin ones reported."""
    by_day: dict[date, list[_Row]] = {}
    first_at: dict[object, _Row] = {}
    for row in rows:
        # Two readings of one day are two readings; two at one moment, or two sets of extremes
        # for a day, are the same one written twice.
        timed = columns.reading is not None
        key: object = row.moment if timed and has_time(row.moment) else row.day
        before = None if timed and not has_time(row.moment) else first_at.setdefault(key, row)
        if before is not None and before is not row:
            same = (before.low, before.high) == (row.low, row.high)
            how = "repeats" if same else "differs from"
            message = f"{row.moment} {how} line {before.line}; the first is kept"
            faults.append(Problem(file=file, line=row.line, message=message))
        else:
            by_day.setdefault(row.day, []).append(row)
    usual = median(len(held) for held in by_day.values()) if by_day else 0
    days = []
    for day, held in sorted(by_day.items()):
        if len(held) * 2 < usual and usual >= 4:
            message = f"only {len(held)} of some {usual:.0f} readings on {day}; the day is left out"
            faults.append(Problem(file=file, line=held[0].line, message=message))
            continue
        warmth = DayWarmth(low=min(row.low for row in held), high=max(row.high for row in held))
        days.append(DayReading(day=day, warmth=warmth, count=len(held)))
    return days


def _gaps(days: Sequence[DayReading], rows: Sequence[_Row], file: str) -> Iterator[Problem]:
    line_of = {row.day: row.line for row in reversed(rows)}
    for before, after in pairwise(days):
        first, last = before.day + timedelta(days=1), after.day - timedelta(days=1)
        if first <= last:
            missing = (last - first).days + 1
            span = f"on {first}" if missing == 1 else f"from {first} to {last}, {missing} days"
            yield Problem(file=file, line=line_of[after.day], message=f"no reading {span}")
