"""Step 2: what the record has taught of each crop, kept so that the morning need not learn."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database

_SQL = (
    """
    CREATE TABLE stage_lesson (
        crop TEXT NOT NULL,
        key TEXT NOT NULL,
        median REAL NOT NULL,
        below REAL NOT NULL,
        above REAL NOT NULL,
        df REAL NOT NULL,
        weight REAL NOT NULL,
        finished INTEGER NOT NULL,
        waiting INTEGER NOT NULL,
        PRIMARY KEY (crop, key)
    ) STRICT
    """,
    """
    CREATE TABLE rooting_lesson (
        crop TEXT NOT NULL,
        key TEXT NOT NULL,
        rooted INTEGER NOT NULL,
        failed INTEGER NOT NULL,
        PRIMARY KEY (crop, key)
    ) STRICT
    """,
)


def step(db: Database) -> None:
    """Make the tables of lessons."""
    for statement in _SQL:
        db.conn.execute(statement)
