"""Files that appear whole or not at all: written under another name, then put in place."""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from cropplan.record.connect import connect


@contextmanager
def workroom(beside: Path) -> Iterator[Path]:
    """A new folder on the same disk as `beside`, removed with all in it at the end."""
    room = Path(tempfile.mkdtemp(prefix=f".{beside.name}.", dir=beside.parent))
    try:
        yield room
    finally:
        shutil.rmtree(room, ignore_errors=True)


def put_new(made: Path, final: Path) -> None:
    """Give a finished file its name. Raises FileExistsError when the name is taken meanwhile."""
    try:
        os.link(made, final)
    except FileExistsError:
        raise
    except OSError:
        # Some file systems, those of memory sticks among them, have no hard links.
        if final.exists():
            raise FileExistsError(errno.EEXIST, "is there already", str(final)) from None
        made.rename(final)
    settle(final.parent)


def put_over(made: Path, final: Path) -> None:
    """Give a finished file its name, in place of any file that had it."""
    made.replace(final)
    settle(final.parent)


def settle(folder: Path) -> None:
    """Have the disk keep the names in a folder, where the system allows a folder to be synced."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def copy_database(source: sqlite3.Connection, to: Path) -> None:
    """Copy a database as of one moment, with what still lies in its write-ahead log.

    The copy is one file that can be read even where nothing can be written beside it.
    """
    with closing(connect(to, mode="rwc")) as copy:
        source.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")


def free_name(wanted: Path) -> Path:
    """`wanted`, or the first of `wanted-2`, `wanted-3` … that no file has."""
    name, number = wanted, 1
    while name.exists():
        number += 1
        name = wanted.with_name(f"{wanted.name}-{number}")
    return name
