"""What calendars were told, kept for ever, and the namespace their UIDs are made under."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING

from cropplan.record.plain import Unreadable
from cropplan.record.rows import select, shape, upsert

if TYPE_CHECKING:
    import uuid

    from cropplan.holding.notice import Published

_TABLE = "published"


def namespace(connection: sqlite3.Connection) -> uuid.UUID:
    """The record's own identity. Raises Unreadable when it is missing or spoilt."""
    import uuid  # costs what a snapshot does, and the morning list has no use for it

    row = connection.execute("SELECT value FROM record_info WHERE key = 'namespace'").fetchone()
    try:
        return uuid.UUID(row[0])
    except (TypeError, ValueError):
        raise Unreadable(
            "the identity under which calendar entries are made is missing or spoilt; "
            "put back a backup with 'cropplan restore'"
        ) from None


def made(connection: sqlite3.Connection) -> datetime:
    """The moment the record was made, in UTC. Raises Unreadable when it does not say."""
    row = connection.execute("SELECT value FROM record_info WHERE key = 'created'").fetchone()
    try:
        return datetime.fromisoformat(row[0])
    except (TypeError, ValueError):
        raise Unreadable("the moment the record was made is missing or spoilt") from None


def read(connection: sqlite3.Connection) -> dict[str, Published]:
    """Every notice ever told of, by key. Raises Unreadable."""
    from cropplan.holding.notice import Published  # the morning list tells no calendar

    lies = shape(Published)
    rows = connection.execute(select(_TABLE, lies.columns, "ORDER BY rowid"))
    return {notice.key: notice for notice in map(lies.read, rows)}


def withdrawn(connection: sqlite3.Connection) -> frozenset[str]:
    """The keys of those that are gone."""
    return frozenset(key for (key,) in connection.execute("SELECT key FROM published WHERE gone"))


def write(
    connection: sqlite3.Connection, changed: Iterable[Published], gone: Iterable[str]
) -> None:
    """Keep what was told, and mark what is gone."""
    from cropplan.holding.notice import Published  # the morning list tells no calendar

    lies = shape(Published)
    connection.executemany(
        upsert(_TABLE, (*lies.columns, "gone"), ("key",)),
        [(*lies.row(notice), 0) for notice in changed],
    )
    connection.executemany("UPDATE published SET gone = 1 WHERE key = ?", [(key,) for key in gone])
