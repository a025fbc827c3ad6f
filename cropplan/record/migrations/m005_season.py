"""Step 5: what is wanted of the season, and the plan that was accepted for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database

_SQL = (
    """
    CREATE TABLE goal (
        crop TEXT PRIMARY KEY,
        amount REAL NOT NULL,
        first TEXT NOT NULL,
        last TEXT NOT NULL,
        priority INTEGER NOT NULL
    ) STRICT
    """,
    # One plan at a time, so one row at most; the plans before it are in the journal.
    """
    CREATE TABLE season_plan (
        position INTEGER PRIMARY KEY CHECK (position = 1),
        made TEXT NOT NULL,
        until TEXT NOT NULL,
        last_number INTEGER NOT NULL,
        strikes TEXT NOT NULL,
        ends TEXT NOT NULL,
        weeks TEXT NOT NULL
    ) STRICT
    """,
)


def step(db: Database) -> None:
    """Make the tables of the season."""
    for statement in _SQL:
        db.conn.execute(statement)
