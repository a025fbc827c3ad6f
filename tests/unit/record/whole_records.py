"""A record with something in every table, all that a record holds, and how one is damaged."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from record_builders import entry, lived_in, notice, record_with

from cropplan.holding.entry import Fed, Voided
from cropplan.record.store import open_record


def full_record(path: Path) -> Path:
    """A record with something in every table, closed."""
    with record_with(path, lived_in()) as record:
        record.append([entry(Fed(loop="tank", grams=3.0), note='a "quoted" line\nand one more')])
        record.append([entry(Voided(entry=record.revision))])
        record.publish([notice("a/1", "uid-a", 3), notice("b/1", "uid-b")], ["b/1"])
    return path


def all_of(path: Path) -> list[object]:
    """Everything that a record holds."""
    with open_record(path) as record:
        return [
            record.snapshot(),
            record.journal(),
            record.voided(),
            record.namespace,
            record.made,
            record.published(),
            record.withdrawn(),
        ]


def spoil(path: Path) -> None:
    """Damage one page of a file."""
    with closing(sqlite3.connect(path)) as db:
        (page,) = db.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'planting'"
        ).fetchone()
    with path.open("r+b") as file:
        file.seek((page - 1) * 4096)
        file.write(b"\x5a" * 4096)
