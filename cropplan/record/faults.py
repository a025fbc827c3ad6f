"""Faults of files and of SQLite, told in one line that names the file and what to do."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cropplan.problems import BadData, CropplanError, Refusal
from cropplan.record.plain import Unreadable

_NOT_WRITABLE = "cannot be written; make the file and its folder writable, or name another place"
_FULL = "could not be written, the disk is full; nothing has changed: make room and type it again"

_BY_ERRNO = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EFBIG: _FULL,
    errno.EACCES: _NOT_WRITABLE,
    errno.EPERM: _NOT_WRITABLE,
    errno.EROFS: _NOT_WRITABLE,
    errno.EEXIST: "is there already; name another file",
    errno.ENOENT: "is not there, or its folder is not; check the name",
    errno.ENOTDIR: "lies in something that is not a folder; check the name",
    errno.ENAMETOOLONG: "has too long a name; choose a shorter one",
}

#: By SQLite's primary result code, https://sqlite.org/rescode.html.
_BY_RESULT: dict[int, tuple[type[CropplanError], str]] = {
    sqlite3.SQLITE_NOTADB: (BadData, "is not a cropplan record; name the right file"),
    sqlite3.SQLITE_CORRUPT: (
        BadData,
        "is damaged; keep a copy of it, then put back a backup with 'cropplan restore'",
    ),
    sqlite3.SQLITE_BUSY: (
        Refusal,
        "is in use by another program; nothing has changed: wait a moment and type it again",
    ),
    sqlite3.SQLITE_LOCKED: (
        Refusal,
        "is in use by another program; nothing has changed: wait a moment and type it again",
    ),
    sqlite3.SQLITE_READONLY: (Refusal, _NOT_WRITABLE),
    sqlite3.SQLITE_PERM: (Refusal, _NOT_WRITABLE),
    sqlite3.SQLITE_CANTOPEN: (Refusal, _NOT_WRITABLE),
    sqlite3.SQLITE_FULL: (Refusal, _FULL),
    sqlite3.SQLITE_IOERR: (
        Refusal,
        "could not be read or written, the disk is full or failing; make room and type it again",
    ),
}


@contextmanager
def told_of(path: Path) -> Iterator[None]:
    """Turn what the disk or SQLite complains of within into a Refusal or BadData about `path`."""
    try:
        yield
    except sqlite3.ProgrammingError:
        raise  # a fault of ours, not of the file
    except sqlite3.Error as fault:
        raise _of_sqlite(path, fault) from fault
    except Unreadable as fault:
        raise BadData(f"{path}: {fault}") from fault
    except OSError as fault:
        why = _BY_ERRNO.get(fault.errno or 0, f"cannot be used ({fault.strerror or fault})")
        raise Refusal(f"{path}: {why}") from fault


def _of_sqlite(path: Path, fault: sqlite3.Error) -> CropplanError:
    # Extended codes carry the primary one in their low byte.
    primary = getattr(fault, "sqlite_errorcode", 0) & 0xFF
    kind, why = _BY_RESULT.get(primary, (BadData, f"the record refuses this: {fault}"))
    return kind(f"{path}: {why}")
