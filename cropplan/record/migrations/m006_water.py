"""Step 6: feeds, drains and water added by day, and what is known of fish, filter and house."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database

_SQL = (
    """
    CREATE TABLE water_log (
        entry INTEGER PRIMARY KEY REFERENCES journal (id) DEFERRABLE INITIALLY DEFERRED,
        loop TEXT NOT NULL REFERENCES loop (name) DEFERRABLE INITIALLY DEFERRED,
        kind TEXT NOT NULL,
        day TEXT NOT NULL,
        amount REAL NOT NULL
    ) STRICT
    """,
    "CREATE INDEX water_log_day ON water_log (day)",
    "CREATE INDEX planting_ended ON planting (ended_on) WHERE ended_on IS NOT NULL",
    "ALTER TABLE loop ADD COLUMN normal_feed_g REAL",
    "ALTER TABLE loop ADD COLUMN filter_kind TEXT",
    "ALTER TABLE loop ADD COLUMN filter_holds_g REAL",
    "ALTER TABLE loop ADD COLUMN weighed_on TEXT",
    "ALTER TABLE loop ADD COLUMN fed_since_weighing_g REAL NOT NULL DEFAULT 0",
    "ALTER TABLE loop ADD COLUMN fcr REAL",
    "ALTER TABLE loop ADD COLUMN treated_with TEXT",
    "ALTER TABLE loop ADD COLUMN no_eat_until TEXT",
    "ALTER TABLE loop ADD COLUMN no_water_until TEXT",
    "ALTER TABLE loop ADD COLUMN vessel_filled TEXT",
    "ALTER TABLE place ADD COLUMN solids_on TEXT",
    "ALTER TABLE house ADD COLUMN media_minutes REAL",
    "ALTER TABLE house ADD COLUMN solids_wait_days INTEGER",
    "ALTER TABLE house ADD COLUMN altitude_m REAL",
    "ALTER TABLE house ADD COLUMN failed TEXT",
    "ALTER TABLE house ADD COLUMN failed_on TEXT",
    # What older journals tell of feeds and drains; an amount that was not written is no amount.
    """
    INSERT INTO water_log (entry, loop, kind, day, amount)
    SELECT id, json_extract(body, '$.loop'), kind, happened,
        CAST(coalesce(json_extract(body, '$.grams'), json_extract(body, '$.litres')) AS REAL)
    FROM journal
    WHERE kind IN ('fed', 'drained') AND id NOT IN (SELECT entry FROM voided)
        AND coalesce(json_extract(body, '$.grams'), json_extract(body, '$.litres')) IS NOT NULL
    """,
)


def step(db: Database) -> None:
    """Make the log of the water and widen the tables of loops, places and houses."""
    for statement in _SQL:
        db.conn.execute(statement)
