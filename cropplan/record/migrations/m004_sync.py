"""Step 4: the list on a calendar server, and what is known of each task there."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database

_SQL = (
    # One list, so one row. It has no column for a password, which is kept elsewhere.
    """
    CREATE TABLE task_list (
        id INTEGER PRIMARY KEY CHECK (id = 1),
        address TEXT NOT NULL,
        user TEXT NOT NULL,
        name TEXT NOT NULL,
        token TEXT
    ) STRICT
    """,
    """
    CREATE TABLE synced_task (
        uid TEXT PRIMARY KEY,
        summary TEXT NOT NULL,
        keys TEXT NOT NULL,
        href TEXT NOT NULL,
        etag TEXT,
        mark TEXT NOT NULL,
        stamp TEXT,
        digest TEXT NOT NULL,
        sent TEXT NOT NULL,
        told TEXT NOT NULL,
        closed TEXT,
        first_entry INTEGER REFERENCES journal (id) DEFERRABLE INITIALLY DEFERRED,
        last_entry INTEGER REFERENCES journal (id) DEFERRABLE INITIALLY DEFERRED,
        question TEXT
    ) STRICT
    """,
)


def step(db: Database) -> None:
    """Make the tables of the list and its tasks."""
    for statement in _SQL:
        db.conn.execute(statement)
