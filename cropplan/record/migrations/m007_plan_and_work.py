"""Step 7: the days on which plants are moved, and the plants a season plan counts on."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database

_SQL = (
    "ALTER TABLE house ADD COLUMN work_days TEXT NOT NULL DEFAULT '[]'",
    "ALTER TABLE season_plan ADD COLUMN stands TEXT NOT NULL DEFAULT '[]'",
)


def step(db: Database) -> None:
    """Widen the tables of houses and plans; an older record works every day, as it did."""
    for statement in _SQL:
        db.conn.execute(statement)
