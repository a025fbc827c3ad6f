"""The journal's rows: written once, read by number, by tag, or from the end.

The morning list asks only for numbers and days here: the acts are loaded where they are met.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from cropplan.record import rows
from cropplan.record.plain import Unreadable, codec

if TYPE_CHECKING:
    from cropplan.holding.entry import Act, Entry

_COLUMNS = ("id", "happened", "written", "kind", "body", "done_by", "note")
_DAY, _MOMENT, _TEXT = codec(date), codec(datetime), codec(str | None)


def last_id(connection: sqlite3.Connection) -> int:
    """The number of the latest entry; 0 when there is none."""
    (number,) = connection.execute("SELECT coalesce(max(id), 0) FROM journal").fetchone()
    return int(number)


def last_day(connection: sqlite3.Connection) -> date | None:
    """The latest day on which anything that still counts happened."""
    row = connection.execute(
        "SELECT happened FROM journal WHERE kind <> 'voided' "
        "AND id NOT IN (SELECT entry FROM voided) ORDER BY happened DESC LIMIT 1"
    ).fetchone()
    return None if row is None else date.fromisoformat(row[0])


def insert(connection: sqlite3.Connection, entries: Sequence[Entry]) -> None:
    """Write entries that have their numbers, with the tags they are found by."""
    from cropplan.holding.entry import Voided
    from cropplan.record import acts

    connection.executemany(rows.insert("journal", _COLUMNS), [_row(entry) for entry in entries])
    connection.executemany(
        "INSERT INTO journal_tag (tag, entry) VALUES (?, ?)",
        [(tag, entry.id) for entry in entries for tag in acts.tags_in(entry.act)],
    )
    for entry in entries:
        if isinstance(entry.act, Voided):
            connection.execute(
                "INSERT INTO voided (entry, by_entry) VALUES (?, ?)", (entry.act.entry, entry.id)
            )
            # An undo is found under whatever it undid.
            connection.execute(
                "INSERT INTO journal_tag (tag, entry) "
                "SELECT tag, ? FROM journal_tag WHERE entry = ?",
                (entry.id, entry.act.entry),
            )


def read_all(connection: sqlite3.Connection) -> list[Entry]:
    """Every entry, in the order written. Raises Unreadable."""
    return _read(rows_of(connection))


def read_last(connection: sqlite3.Connection, count: int) -> list[Entry]:
    """The last `count` entries, in the order written. Raises Unreadable."""
    return _read(connection.execute(_select("ORDER BY id DESC LIMIT ?"), (count,)))[::-1]


def read_about(connection: sqlite3.Connection, tag: str, count: int | None) -> list[Entry]:
    """The entries about one planting, or the last `count` of them. Raises Unreadable."""
    found = connection.execute(
        _select("JOIN journal_tag ON id = entry WHERE tag = ? ORDER BY entry DESC LIMIT ?"),
        (tag, -1 if count is None else count),
    )
    return _read(found)[::-1]


def read_one(connection: sqlite3.Connection, number: int) -> Entry | None:
    """The entry of that number; None when there is none. Raises Unreadable."""
    return next(iter(_read(connection.execute(_select("WHERE id = ?"), (number,)))), None)


def voided(connection: sqlite3.Connection) -> dict[int, int]:
    """The entries that were undone, each with the number of the entry that did so."""
    return dict(connection.execute("SELECT entry, by_entry FROM voided"))


def highest_number(connection: sqlite3.Connection, letters: str) -> int:
    """The highest number that a tag of these letters ever had, undone entries included."""
    tags = connection.execute(
        "SELECT DISTINCT tag FROM journal_tag WHERE tag >= ? AND tag < ?",
        (f"{letters}0", f"{letters}:"),  # ':' follows '9'
    )
    rests = (tag[len(letters) :] for (tag,) in tags)
    return max((int(rest) for rest in rests if rest.isdecimal()), default=0)


def tag_rows(entries: Iterable[Entry]) -> set[tuple[str, int]]:
    """The (tag, entry) rows that a whole journal calls for."""
    from cropplan.holding.entry import Voided
    from cropplan.record import acts

    by_entry: dict[int, tuple[str, ...]] = {}
    for entry in entries:
        act = entry.act
        about = by_entry.get(act.entry, ()) if isinstance(act, Voided) else acts.tags_in(act)
        by_entry[entry.id] = about
    return {(tag, number) for number, tags in by_entry.items() for tag in tags}


def _row(entry: Entry) -> tuple[rows.Cell, ...]:
    from cropplan.record import acts

    return (
        entry.id,
        _DAY.write(entry.happened),
        _MOMENT.write(entry.written),
        acts.kind_of(entry.act),
        acts.to_text(entry.act),
        _TEXT.write(entry.by),
        _TEXT.write(entry.note),
    )


def _select(rest: str) -> str:
    return rows.select("journal", _COLUMNS, rest)


def _read(found: Iterable[tuple[Any, ...]]) -> list[Entry]:
    return [entry_of(row) for row in found]


def entry_of(row: tuple[Any, ...]) -> Entry:
    """The entry in one row of the journal. Raises Unreadable, naming the entry."""
    from cropplan.holding.entry import Entry
    from cropplan.record import acts

    number, happened, written, kind, body, by, note = row
    try:
        act: Act = acts.from_text(kind, body)
        return Entry(
            id=number,
            happened=_DAY.read(happened),
            written=_MOMENT.read(written),
            act=act,
            by=by,
            note=note,
        )
    except Unreadable as fault:
        raise Unreadable(f"entry {number} ({kind}) cannot be read: {fault}") from None


def rows_of(connection: sqlite3.Connection) -> Iterable[tuple[Any, ...]]:
    """Every row of the journal, unread, in the order written."""
    return connection.execute(_select("ORDER BY id"))
