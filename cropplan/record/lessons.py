"""What the record has taught, kept beside it: worked out when entries are written."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import date

from cropplan.holding.lesson import RootingLesson, StageLesson
from cropplan.record.rows import delete, select, shape, upsert

_STAGES, _ROOTINGS = "stage_lesson", "rooting_lesson"
_KEY = ("crop", "key")


def read(connection: sqlite3.Connection) -> tuple[list[StageLesson], list[RootingLesson]]:
    """Every lesson kept. Raises Unreadable."""
    stages, rootings = shape(StageLesson), shape(RootingLesson)
    return (
        [stages.read(row) for row in connection.execute(select(_STAGES, stages.columns))],
        [rootings.read(row) for row in connection.execute(select(_ROOTINGS, rootings.columns))],
    )


def write(
    connection: sqlite3.Connection,
    crop: str,
    stages: Iterable[StageLesson],
    rootings: Iterable[RootingLesson],
) -> None:
    """Keep what one crop has taught, in place of what it taught before."""
    for table in (_STAGES, _ROOTINGS):
        connection.execute(delete(table, ("crop",)), (crop,))
    lies = shape(StageLesson)
    connection.executemany(upsert(_STAGES, lies.columns, _KEY), [lies.row(s) for s in stages])
    told = shape(RootingLesson)
    connection.executemany(upsert(_ROOTINGS, told.columns, _KEY), [told.row(r) for r in rootings])


def silences(connection: sqlite3.Connection, days: int) -> list[tuple[date, date]]:
    """First and last day of each stretch of so many days or more in which nothing happened."""
    rows = connection.execute(
        "SELECT day, next FROM ("
        "SELECT happened AS day, LEAD(happened) OVER (ORDER BY happened) AS next "
        "FROM (SELECT DISTINCT happened FROM journal)"
        ") WHERE next IS NOT NULL AND julianday(next) - julianday(day) > ?",
        (days,),
    )
    return [
        (_day_after(date.fromisoformat(day)), _day_before(date.fromisoformat(until)))
        for day, until in rows
    ]


def _day_after(day: date) -> date:
    return date.fromordinal(day.toordinal() + 1)


def _day_before(day: date) -> date:
    return date.fromordinal(day.toordinal() - 1)
