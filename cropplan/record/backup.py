"""Copies of a record that are whole, and putting one back."""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from cropplan.problems import BadData, Refusal
from cropplan.record.audit import check
from cropplan.record.connect import connect, refuse_stranger
from cropplan.record.faults import told_of
from cropplan.record.in_place import copy_database, free_name, put_new, put_over, workroom
from cropplan.record.store import open_record


def backup(path: Path, to: Path, *, overwrite: bool = False) -> None:
    """Copy the record at `path`, as of one moment, to the file `to`, even while it is in use.

    Raises Refusal when `to` is there and `overwrite` is not asked for, or cannot be written;
    BadData, leaving an earlier backup alone, when the record is damaged.
    """
    _refuse_same(path, to)
    if to.exists() and not overwrite:
        raise Refusal(f"{to}: is there already; name another file, or say that it may be replaced")
    with told_of(path):
        refuse_stranger(path)
        source = connect(path)
    with closing(source):
        with told_of(path):
            _refuse_damaged(path, source)
        with told_of(to), workroom(to) as room:
            made = room / "copy"
            copy_database(source, made)
            (put_over if overwrite else put_new)(made, to)


def restore(source: Path, to: Path) -> Path | None:
    """Put the backup `source` in place as the record `to`; gives where the replaced file is kept.

    The backup is first tried on a copy: brought up to date, and checked.
    Raises BadData when it is not a sound record; Refusal when the record is in use.
    """
    _refuse_same(source, to)
    with told_of(source):
        refuse_stranger(source)
    with told_of(to):
        to.parent.mkdir(parents=True, exist_ok=True)
        with workroom(to) as room:
            trial = room / "record"
            with told_of(source), closing(connect(source, mode="ro")) as backed_up:
                copy_database(backed_up, trial)
            _refuse_unsound(source, trial)
            kept = put_aside(to, "replaced") if to.exists() else None
            put_new(trial, to)
    return kept


def put_aside(path: Path, word: str) -> Path:
    """Rename a record that nobody has open to `NAME.word`, with whatever belongs to it.

    Raises sqlite3.OperationalError when another program has it open.
    """
    _fold_in_log(path)
    kept = free_name(path.with_name(f"{path.name}.{word}"))
    path.rename(kept)
    # Left behind, the log of a damaged record would be taken for that of the next one.
    for suffix in ("-wal", "-shm"):
        with suppress(FileNotFoundError):
            Path(f"{path}{suffix}").rename(f"{kept}{suffix}")
    return kept


def _fold_in_log(path: Path) -> None:
    """Leave the record in its one file. Leaving the log's mode needs the file to oneself."""
    try:
        with closing(connect(path)) as connection:
            connection.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.DatabaseError as fault:
        # What is damaged is put aside as it is.
        if fault.sqlite_errorcode & 0xFF not in {sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT}:
            raise


def _refuse_same(one: Path, other: Path) -> None:
    if one.exists() and other.exists() and one.samefile(other):
        raise Refusal(f"{other}: is the very file to copy from; name another")


def _refuse_damaged(path: Path, connection: sqlite3.Connection) -> None:
    (first,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
    if first != "ok":
        raise BadData(
            f"{path}: is damaged ({first}); nothing was copied: "
            "put back an earlier backup with 'cropplan restore'"
        )


def _refuse_unsound(source: Path, trial: Path) -> None:
    with open_record(trial) as record:
        faults = check(record)
    if faults:
        more = f", and {len(faults) - 1} more faults" if len(faults) > 1 else ""
        raise BadData(f"{source}: is not sound ({faults[0].message}{more}); try another backup")
