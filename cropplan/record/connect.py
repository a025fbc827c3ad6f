"""Opening the file: what must be true of it first, its settings, and the one kind of transaction.

Knows SQLite and nothing of plants.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from cropplan.problems import BadData, Refusal

#: Marks the file as ours in its header; "CROP" in ASCII.
APPLICATION_ID = 0x43524F50
#: How long to wait for another program that is writing. [ms]
BUSY_MS = 5000

# The database header, https://sqlite.org/fileformat.html section 1.3.
_HEADER_BYTES = 100
_MAGIC = b"SQLite format 3\x00"
_APPLICATION_ID_AT = slice(68, 72)


def refuse_stranger(path: Path) -> None:
    """Refuse a file that is not a record, by its header alone, so that it is not touched.

    Raises Refusal when there is no file, BadData when it is something else.
    """
    if path.is_dir():
        raise BadData(f"{path}: is a folder; name the record's file in it")
    if not path.exists():
        raise Refusal(
            f"{path}: there is no record here yet; 'cropplan house new' makes one, "
            "or name another with --record"
        )
    with path.open("rb") as file:
        header = file.read(_HEADER_BYTES)
    if not header:
        raise BadData(f"{path}: is an empty file, not a record; name the right file or put it away")
    if len(header) < _HEADER_BYTES or not header.startswith(_MAGIC):
        raise BadData(f"{path}: is not a cropplan record; name the right file with --record")
    if int.from_bytes(header[_APPLICATION_ID_AT], "big") != APPLICATION_ID:
        raise BadData(
            f"{path}: is a database of another program, not a cropplan record; "
            "name the right file with --record"
        )


def connect(path: Path, *, mode: str = "rw") -> sqlite3.Connection:
    """A connection with the record's settings; `mode` is SQLite's: ro, rw or rwc."""
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}",
        uri=True,
        timeout=BUSY_MS / 1000,
        isolation_level=None,
    )
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        # With the write-ahead log, only FULL has a commit on the disk before it is acknowledged.
        connection.execute("PRAGMA synchronous = FULL")
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def version_of(connection: sqlite3.Connection) -> int:
    """How many migrations the file has been through."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    return int(version)


@contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """All of what is written within, or nothing; other writers wait from the first moment."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        _commit(connection)
    except BaseException:
        # After some faults, a full disk among them, SQLite has rolled back by itself.
        with suppress(sqlite3.Error):
            connection.execute("ROLLBACK")
        raise


def _commit(connection: sqlite3.Connection) -> None:
    try:
        connection.execute("COMMIT")
    except sqlite3.IntegrityError:
        # Foreign keys are checked only now; SQLite does not say which one failed.
        astray = connection.execute("PRAGMA foreign_key_check").fetchone()
        if astray is None:
            raise
        table, _, parent, _ = astray
        raise Refusal(
            f"nothing was written: it names a {parent} that is not in the record (in '{table}')"
        ) from None


@contextmanager
def looking(connection: sqlite3.Connection) -> Iterator[None]:
    """Everything read within is as of one moment, whatever others write meanwhile."""
    connection.execute("BEGIN")
    try:
        yield
    finally:
        connection.execute("ROLLBACK")
