"""Making a new record, and bringing an older one up to today's tables.

Opening a record that is up to date loads this module and no more: what making and migrating need
is imported where it is used, for the morning list waits for every millisecond.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from cropplan.problems import BadData, Refusal
from cropplan.record.connect import APPLICATION_ID, connect, version_of, writing
from cropplan.record.migrations import STEPS
from cropplan.record.plain import Unreadable

if TYPE_CHECKING:
    import uuid
    from datetime import datetime

    from sqlite_utils import Database

#: What a step is given is an open transaction; it must not end it.
Step = Callable[["Database"], None]
#: The version of a record that has been through every step.
VERSION = len(STEPS)
#: Strict tables came with SQLite 3.37.
_OLDEST_SQLITE = (3, 37)


def make(
    path: Path, *, namespace: uuid.UUID | None = None, created: datetime | None = None
) -> None:
    """Make a new, empty record at `path`; it appears whole or not at all.

    namespace : under which calendar UIDs are made; a random one unless given.
    created : the moment it was first made, for one that is made again. [UTC]
    Raises FileExistsError when there is a file.
    """
    import uuid

    from cropplan.record.in_place import put_new, workroom

    if sqlite3.sqlite_version_info < _OLDEST_SQLITE:
        raise Refusal(
            f"{path}: this Python carries SQLite {sqlite3.sqlite_version}; "
            "a record needs 3.37 or later: update Python"
        )
    path.parent.mkdir(parents=True, exist_ok=True)
    with workroom(path) as room:
        made = room / "record"
        with closing(connect(made, mode="rwc")) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            lay_out(connection, namespace or uuid.uuid4(), created)
        put_new(made, path)


def lay_out(
    connection: sqlite3.Connection, namespace: uuid.UUID, created: datetime | None = None
) -> None:
    """Take an empty database through every step and give it its identity.

    created : now unless given. [UTC]
    """
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    with writing(connection):
        _take(connection, STEPS, 0)
        connection.execute(
            "INSERT INTO record_info (key, value) VALUES ('namespace', ?), "
            "('created', coalesce(?, strftime('%Y-%m-%dT%H:%M:%SZ', 'now')))",
            (str(namespace), created and created.isoformat()),
        )


def bring_up_to_date(
    path: Path, connection: sqlite3.Connection, steps: Sequence[Step] = STEPS
) -> None:
    """Take an older record through the steps it lacks, all in one transaction.

    The file is first copied beside as `NAME.before-vN`, N being the version it is brought to.
    Raises BadData, with nothing touched, when a newer cropplan wrote it.
    """
    version, wanted = version_of(connection), len(steps)
    if version == wanted:
        return
    if version > wanted:
        raise BadData(
            f"{path}: was written by a newer cropplan (record version {version}; this one knows "
            f"{wanted}); update cropplan"
        )
    # A step may rebuild a table that others refer to; the check after each makes up for it.
    connection.execute("PRAGMA foreign_keys = OFF")
    try:
        with writing(connection):
            # Another program may have done it while this one waited for its turn.
            version = version_of(connection)
            if version < wanted:
                _copy_beside(path, wanted)
                _take(connection, steps, version)
    finally:
        connection.execute("PRAGMA foreign_keys = ON")


def _copy_beside(path: Path, wanted: int) -> None:
    from cropplan.record.in_place import copy_database, free_name, put_new, workroom

    with workroom(path) as room, closing(connect(path, mode="ro")) as source:
        copy = room / "copy"
        copy_database(source, copy)
        put_new(copy, free_name(path.with_name(f"{path.name}.before-v{wanted}")))


def _take(connection: sqlite3.Connection, steps: Sequence[Step], version: int) -> None:
    from sqlite_utils import Database

    db = Database(connection, execute_plugins=False)
    for number, step in enumerate(steps[version:], start=version + 1):
        step(db)
        astray = connection.execute("PRAGMA foreign_key_check").fetchone()
        if astray is not None:
            raise Unreadable(
                f"step {number} of the record's migrations cannot be taken: "
                f"a row of '{astray[0]}' names a {astray[2]} that is not there"
            )
        connection.execute(
            "INSERT INTO migration (version, name, at) "
            "VALUES (?, ?, strftime('%Y-%m-%dT%H:%M:%SZ', 'now'))",
            (number, step.__module__.rpartition(".")[2]),
        )
        connection.execute(f"PRAGMA user_version = {number}")
