"""The list on a calendar server and what is known of each task there, kept beside the journal."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import fields

from cropplan.holding.synced import SyncedTask, TaskList
from cropplan.record.connect import writing
from cropplan.record.faults import told_of
from cropplan.record.rows import delete, select, shape, upsert
from cropplan.record.store import Record

_LIST, _TASK = "task_list", "synced_task"
_COLUMNS = tuple(field.name for field in fields(SyncedTask))


def task_list(record: Record) -> TaskList | None:
    """The list that work is kept in step with; None before there is one."""
    lies = shape(TaskList)
    with told_of(record.path):
        row = record.connection.execute(select(_LIST, lies.columns)).fetchone()
    return None if row is None else lies.read(row)


def choose(record: Record, chosen: TaskList) -> None:
    """Keep in step with this list from now on; what was known of another is forgotten."""
    lies = shape(TaskList)
    with told_of(record.path), writing(record.connection):
        record.connection.execute(
            "DELETE FROM synced_task WHERE NOT EXISTS (SELECT 1 FROM task_list WHERE address = ?)",
            (chosen.address,),
        )
        record.connection.execute(
            upsert(_LIST, ("id", *lies.columns), ("id",)), (1, *lies.row(chosen))
        )


def read(record: Record) -> dict[str, SyncedTask]:
    """What is known of every task on the server, by UID, in the order sent."""
    lies = shape(SyncedTask)
    with told_of(record.path):
        rows = record.connection.execute(select(_TASK, lies.columns, "ORDER BY rowid"))
        return {task.uid: task for task in map(lies.read, rows)}


def keep(
    record: Record, tasks: Iterable[SyncedTask] = (), *, forgotten: Iterable[str] = ()
) -> None:
    """Keep what is now known of tasks, and forget those of these UIDs."""
    with told_of(record.path), writing(record.connection):
        _keep(record.connection, tasks, forgotten)


def keep_and_move_on(
    record: Record, tasks: Iterable[SyncedTask], *, forgotten: Iterable[str], token: str | None
) -> None:
    """As `keep`; in the same transaction, the server's changes count as read up to `token`."""
    with told_of(record.path), writing(record.connection):
        _keep(record.connection, tasks, forgotten)
        record.connection.execute("UPDATE task_list SET token = ?", (token,))


def _keep(
    connection: sqlite3.Connection, tasks: Iterable[SyncedTask], forgotten: Iterable[str]
) -> None:
    lies = shape(SyncedTask)
    connection.executemany(
        upsert(_TASK, lies.columns, ("uid",)), [lies.row(task) for task in tasks]
    )
    connection.executemany(delete(_TASK, ("uid",)), [(uid,) for uid in forgotten])


@contextmanager
def with_entries(
    record: Record, before: SyncedTask, after: SyncedTask, *, numbered: bool
) -> Iterator[None]:
    """Entries written within change a task from `before` to `after`, in their own transaction.

    numbered : the task also keeps the numbers of those entries.
    Cut off at any point, either the entries and the change are there or neither; and when another
    sync has read the same tick meanwhile, the entries are refused (BadData), so that it is
    written once.
    """
    # Triggers take no bound values, so what is to be kept lies in tables only this connection
    # sees.
    lies = shape(SyncedTask)
    connection = record.connection
    with told_of(record.path):
        _lay_triggers(connection)
        connection.execute("DELETE FROM temp.ticking_after")
        connection.execute(upsert("ticking_after", _COLUMNS, ("uid",)), lies.row(after))
        was = dict(zip(_COLUMNS, lies.row(before), strict=True))
        connection.execute(
            "INSERT INTO temp.ticking VALUES (?, ?, ?, ?, NULL)",
            (before.uid, was["mark"], was["stamp"], int(numbered)),
        )
    try:
        yield
    finally:
        connection.execute("DELETE FROM temp.ticking")


def _lay_triggers(connection: sqlite3.Connection) -> None:
    columns = ", ".join(f'"{column}"' for column in _COLUMNS)
    changes = ", ".join(f'"{column}" = excluded."{column}"' for column in _COLUMNS[1:])
    connection.execute(
        f"CREATE TEMP TABLE IF NOT EXISTS ticking_after ({columns}, PRIMARY KEY (uid))"
    )
    # Of the entries of one transaction only the first meets the task as it was.
    connection.execute(
        "CREATE TEMP TABLE IF NOT EXISTS ticking (uid, mark, stamp, numbered, first)"
    )
    connection.execute(
        "CREATE TEMP TRIGGER IF NOT EXISTS tick_still_new BEFORE INSERT ON main.journal "
        "WHEN EXISTS (SELECT 1 FROM ticking WHERE first IS NULL) AND NOT EXISTS ("
        "SELECT 1 FROM synced_task AS known JOIN ticking AS was USING (uid) "
        "WHERE known.mark = was.mark AND known.stamp IS was.stamp) "
        "BEGIN SELECT RAISE(ABORT, 'another sync has read this tick meanwhile'); END"
    )
    connection.execute(
        "CREATE TEMP TRIGGER IF NOT EXISTS tick_taken AFTER INSERT ON main.journal "  # noqa: S608 - our own
        "WHEN EXISTS (SELECT 1 FROM ticking) BEGIN "
        f"INSERT INTO synced_task ({columns}) SELECT {columns} FROM ticking_after "
        "WHERE EXISTS (SELECT 1 FROM ticking WHERE first IS NULL) "
        f"ON CONFLICT (uid) DO UPDATE SET {changes}; "
        "UPDATE synced_task SET first_entry = coalesce(first_entry, NEW.id), last_entry = NEW.id "
        "WHERE uid = (SELECT uid FROM ticking WHERE numbered); "
        "UPDATE ticking SET first = coalesce(first, NEW.id); END"
    )
