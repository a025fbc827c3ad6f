"""Step 3: the keys of phones and calendars, and the ticks that phones have sent."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database

_SQL = (
    """
    CREATE TABLE access_key (
        id INTEGER PRIMARY KEY,
        digest TEXT NOT NULL UNIQUE,
        label TEXT NOT NULL,
        kind TEXT NOT NULL,
        house TEXT REFERENCES house (name) DEFERRABLE INITIALLY DEFERRED,
        works TEXT NOT NULL,
        first TEXT,
        last TEXT,
        made TEXT NOT NULL,
        used TEXT,
        revoked TEXT
    ) STRICT
    """,
    # A label names one device; it is free again once its key was revoked.
    "CREATE UNIQUE INDEX access_key_label ON access_key (label) WHERE revoked IS NULL",
    """
    CREATE TRIGGER access_key_revoked_stays BEFORE UPDATE ON access_key
    WHEN NEW.digest <> OLD.digest OR (OLD.revoked IS NOT NULL AND NEW.revoked IS NULL)
    BEGIN SELECT RAISE(ABORT, 'a key is never changed, nor given back once revoked'); END
    """,
    """
    CREATE TABLE tick (
        id TEXT PRIMARY KEY,
        access_key INTEGER NOT NULL REFERENCES access_key (id) DEFERRABLE INITIALLY DEFERRED,
        at TEXT NOT NULL,
        said TEXT NOT NULL,
        first_entry INTEGER REFERENCES journal (id) DEFERRABLE INITIALLY DEFERRED,
        last_entry INTEGER REFERENCES journal (id) DEFERRABLE INITIALLY DEFERRED
    ) STRICT
    """,
)


def step(db: Database) -> None:
    """Make the tables of keys and ticks."""
    for statement in _SQL:
        db.conn.execute(statement)
