"""Checking a record against itself: the file, its rules, the journal, and what it adds up to."""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import fields
from typing import Any

from cropplan.holding.entry import Entry, Voided
from cropplan.problems import Problem, Refusal
from cropplan.record import acts, journal, notices, projection, undo
from cropplan.record.connect import looking
from cropplan.record.faults import told_of
from cropplan.record.plain import Unreadable
from cropplan.record.schema import lay_out
from cropplan.record.store import Record


def check(record: Record) -> list[Problem]:
    """Everything that is wrong with a record; empty when all is well. Changes nothing."""
    connection = record.connection
    found: list[str] = []
    with told_of(record.path), looking(connection):
        for part in (_file, _references, _rules, _identity, _numbers):
            found += _tried(part, connection)
        entries, unreadable = _entries(connection)
        found += unreadable
        if not unreadable:
            found += _tried(lambda c: _sums(c, entries), connection)
    return [Problem(file=str(record.path), line=None, message=message) for message in found]


def _tried(
    part: Callable[[sqlite3.Connection], Iterable[str]], connection: sqlite3.Connection
) -> list[str]:
    found: list[str] = []
    try:
        for message in part(connection):
            found.append(message)  # noqa: PERF402 - what was found before a fault is kept
    except sqlite3.DatabaseError as fault:
        found.append(f"the file is damaged: {fault}")
    except (Unreadable, Refusal) as fault:
        found.append(str(fault))
    return found


def _file(connection: sqlite3.Connection) -> Iterator[str]:
    for (line,) in connection.execute("PRAGMA integrity_check"):
        if line != "ok":
            yield f"the file is damaged: {line}"


def _references(connection: sqlite3.Connection) -> Iterator[str]:
    for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
        yield f"row {row} of '{table}' names a {parent} that is not there"


def _rules(connection: sqlite3.Connection) -> Iterator[str]:
    """The tables, indexes and triggers, compared with those of a new record."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as fresh:
        lay_out(fresh, uuid.UUID(int=0))
        wanted = _objects(fresh)
    there = _objects(connection)
    for (kind, name), sql in wanted.items():
        if (kind, name) not in there:
            yield f"the {kind} '{name}' is missing"
        elif there[kind, name] != sql:
            yield f"the {kind} '{name}' has been changed"
    for kind, name in there.keys() - wanted.keys():
        yield f"the {kind} '{name}' does not belong in a record"


def _objects(connection: sqlite3.Connection) -> dict[tuple[str, str], str]:
    # Names that begin with sqlite_ are SQLite's own, its statistics among them.
    rows = connection.execute(
        "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
    )
    return {(kind, name): sql for kind, name, sql in rows}


def _identity(connection: sqlite3.Connection) -> Iterator[str]:
    notices.namespace(connection)
    notices.read(connection)
    yield from ()


def _numbers(connection: sqlite3.Connection) -> Iterator[str]:
    expected = 1
    for (number,) in connection.execute("SELECT id FROM journal ORDER BY id"):
        if number != expected:
            missing = f"{expected}" if number == expected + 1 else f"{expected} to {number - 1}"
            yield f"the journal lacks entry {missing}"
        expected = number + 1


def _entries(connection: sqlite3.Connection) -> tuple[list[Entry], list[str]]:
    entries: list[Entry] = []
    unreadable: list[str] = []
    try:
        for row in journal.rows_of(connection):
            try:
                entries.append(journal.entry_of(row))
            except Unreadable as fault:
                unreadable.append(str(fault))
    except sqlite3.DatabaseError as fault:
        unreadable.append(f"the file is damaged: {fault}")
    return entries, unreadable


def _sums(connection: sqlite3.Connection, entries: Sequence[Entry]) -> Iterator[str]:
    """The projection, compared with what the journal adds up to."""
    undo.refuse_unless_undoable([], entries)
    yield from _set_difference(
        "the list of undone entries",
        set(journal.voided(connection).items()),
        {(e.act.entry, e.id) for e in entries if isinstance(e.act, Voided)},
    )
    yield from _set_difference(
        "the index of tags",
        set(connection.execute("SELECT tag, entry FROM journal_tag")),
        journal.tag_rows(entries),
    )
    standing = undo.standing(entries)
    try:
        holding = undo.fold(standing)
    except undo.Impossible as fault:
        which = f"entry {fault.entry.id} ({acts.told(fault.entry.act)})"
        yield f"{which} cannot follow those before it: {fault}"
        return
    for table in projection.HELD:
        yield from _differences(connection, table, table.held(holding))
    yield from _differences(
        connection, projection.TEMPERATURE, projection.temperatures_in(standing)
    )
    yield from _differences(connection, projection.WATER_LOG, projection.logged_in(standing))
    for planting in holding.plantings.values():
        if not planting.tallies:
            yield f"planting {planting.tag} does not tally: {planting.begun} began"


def _set_difference(what: str, there: set[Any], wanted: set[Any]) -> Iterator[str]:
    for row in sorted(wanted - there):
        yield f"{what} lacks {row}"
    for row in sorted(there - wanted):
        yield f"{what} has {row}, which the journal does not call for"


def _differences(
    connection: sqlite3.Connection, table: projection.Table, wanted_nouns: Iterable[Any]
) -> Iterator[str]:
    there = table.by_key(projection.read_table(connection, table))
    wanted = table.by_key(wanted_nouns)
    for key in there.keys() | wanted.keys():
        name = " ".join([table.name, *map(str, key)])
        if key not in there:
            yield f"{name} is missing, though the journal has it"
        elif key not in wanted:
            yield f"{name} is not in the journal"
        else:
            for field in fields(table.noun):
                has, adds_up = (getattr(d[key], field.name) for d in (there, wanted))
                if has != adds_up:
                    yield f"{name}: {field.name} is {has}, but the journal adds up to {adds_up}"
