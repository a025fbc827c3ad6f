"""The keys by which calendars and phones are let in, and the ticks that phones have sent."""

from __future__ import annotations

import hmac
import json
import secrets
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from enum import Enum
from hashlib import sha256
from typing import Any

from cropplan.problems import CropplanError, Refusal, did_you_mean
from cropplan.record.connect import writing
from cropplan.record.faults import told_of
from cropplan.record.plain import codec
from cropplan.record.rows import as_json, insert, select, shape
from cropplan.record.store import Record

#: Bytes of chance in a key. W3C TAG, Good Practices for Capability URLs: at least 120 bits.
_KEY_BYTES = 32
_TABLE = "access_key"
_ADDRESS = "served_at"
_TICK = "SELECT access_key, said, first_entry, last_entry FROM tick WHERE id = ?"


class KeyKind(Enum):
    """What a key opens: a calendar to read, the pages to tick on, or a neighbour's errands."""

    FEED = "feed"
    PHONE = "phone"
    NEIGHBOUR = "neighbour"


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One device's key; the secret itself is kept nowhere.

    house : None for all of them. works : kinds of work a calendar shows; empty for all.
    first, last : the days of the absence that a neighbour's key is for.
    used : the last day it let anybody in. revoked : the day it was taken back.
    """

    id: int
    label: str
    kind: KeyKind
    house: str | None = None
    works: tuple[str, ...] = ()
    first: date | None = None
    last: date | None = None
    made: date
    used: date | None = None
    revoked: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """What a phone sent once: what was answered, and the entries it made (none when known).

    key : number of the key it came by.
    """

    id: str
    key: int
    said: tuple[str, ...]
    entries: tuple[int, ...]


def digest_of(secret: str) -> str:
    """What is kept of a secret: its SHA-256, from which it cannot be had back."""
    return sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def add(
    record: Record,
    label: str,
    kind: KeyKind,
    *,
    made: date,
    house: str | None = None,
    works: tuple[str, ...] = (),
    first: date | None = None,
    last: date | None = None,
) -> tuple[Key, str]:
    """A new key and its secret, which is not to be had a second time.

    Raises Refusal when a key of that label is in use.
    """
    secret = secrets.token_urlsafe(_KEY_BYTES)
    lies = shape(Key)
    with told_of(record.path), writing(record.connection):
        if any(known.label == label for known in _all(record) if known.revoked is None):
            raise Refusal(f"a key is called '{label}' already; revoke it, or choose another name")
        (number,) = record.connection.execute(
            "SELECT coalesce(max(id), 0) + 1 FROM access_key"
        ).fetchone()
        key = Key(
            id=number,
            label=label,
            kind=kind,
            house=house,
            works=works,
            first=first,
            last=last,
            made=made,
        )
        record.connection.execute(
            insert(_TABLE, ("digest", *lies.columns)), (digest_of(secret), *lies.row(key))
        )
    return key, secret


def read_all(record: Record) -> list[Key]:
    """Every key there ever was, in the order made."""
    with told_of(record.path):
        return _all(record)


def _all(record: Record) -> list[Key]:
    lies = shape(Key)
    rows = record.connection.execute(select(_TABLE, lies.columns, "ORDER BY id"))
    return [lies.read(row) for row in rows]


def opened_by(record: Record, secret: str) -> Key | None:
    """The key in use that a secret opens; None for a wrong or revoked one, in the same time.

    Every digest is compared to its end, whether an earlier one fitted or not.
    """
    offered = digest_of(secret).encode()
    lies = shape(Key)
    opened: int | None = None
    with told_of(record.path):
        for number, digest, revoked in record.connection.execute(
            "SELECT id, digest, revoked FROM access_key ORDER BY id"
        ):
            if hmac.compare_digest(offered, digest.encode()) and revoked is None:
                opened = number
        if opened is None:
            return None
        row = record.connection.execute(
            select(_TABLE, lies.columns, "WHERE id = ?"), (opened,)
        ).fetchone()
    return lies.read(row)


def note_use(record: Record, key: Key, day: date) -> None:
    """Keep that a key let somebody in on a day; nothing is written a second time that day."""
    if key.used == day:
        return
    with told_of(record.path), writing(record.connection):
        record.connection.execute(
            "UPDATE access_key SET used = ? WHERE id = ?", (day.isoformat(), key.id)
        )


def revoke(record: Record, label: str, day: date) -> Key:
    """Take a key back; it opens nothing from this moment on.

    Raises Refusal when no key in use has that label.
    """
    with told_of(record.path), writing(record.connection):
        in_use = {key.label: key for key in _all(record) if key.revoked is None}
        key = in_use.get(label)
        if key is None:
            known = did_you_mean(label, in_use) or "; 'cropplan calendar key list' shows them"
            raise Refusal(f"no key in use is called '{label}'{known}")
        record.connection.execute(
            "UPDATE access_key SET revoked = ? WHERE id = ?", (day.isoformat(), key.id)
        )
    return key


def served_at(record: Record) -> str | None:
    """The address at which the calendars were last served; None when they never were."""
    with told_of(record.path):
        row = record.connection.execute(
            "SELECT value FROM record_info WHERE key = ?", (_ADDRESS,)
        ).fetchone()
    return None if row is None else str(row[0])


def keep_served_at(record: Record, address: str) -> None:
    """Keep the address at which the calendars are served, for the addresses of new keys."""
    if served_at(record) == address:
        return
    with told_of(record.path), writing(record.connection):
        record.connection.execute(
            "INSERT INTO record_info (key, value) VALUES (?, ?) "
            "ON CONFLICT (key) DO UPDATE SET value = excluded.value",
            (_ADDRESS, address),
        )


def tick_sent(record: Record, id_: str) -> Tick | None:
    """The tick of that name, when it has come before."""
    with told_of(record.path):
        row = record.connection.execute(_TICK, (id_,)).fetchone()
    return None if row is None else _tick_of(id_, row)


def _tick_of(id_: str, row: tuple[Any, ...]) -> Tick:
    by, said, first, last = row
    entries = () if first is None else tuple(range(first, last + 1))
    return Tick(id=id_, key=by, said=tuple(json.loads(said)), entries=entries)


def once(
    record: Record, id_: str, key: Key, at: datetime, act: Callable[[], tuple[str, ...]]
) -> Tick:
    """Let `act` write to the journal, unless a tick of that name has come before.

    act : gives the lines to answer, and writes at most once. What it refuses is not kept, so the
        tick may come again.
    The tick is kept in the very transaction that writes the entries: cut off at any point, either
    both are there or neither, and a phone that heard nothing may send the same again.
    """
    moment: str = codec(datetime).write(at)
    known = tick_sent(record, id_)
    if known is not None:
        return known
    try:
        with told_of(record.path), _ticking(record.connection, id_, key, moment):
            said = act()
    except CropplanError:
        # Another server of the same record may have taken it meanwhile; then ours fell with it.
        known = tick_sent(record, id_)
        if known is None:
            raise
        return known
    with told_of(record.path), writing(record.connection):
        record.connection.execute(
            "INSERT INTO tick (id, access_key, at, said) VALUES (?, ?, ?, ?) "
            "ON CONFLICT (id) DO UPDATE SET said = excluded.said",
            (id_, key.id, moment, as_json(list(said))),
        )
        row = record.connection.execute(_TICK, (id_,)).fetchone()
    return _tick_of(id_, row)


@contextmanager
def _ticking(connection: sqlite3.Connection, id_: str, key: Key, at: str) -> Iterator[None]:
    """While it lasts, entries written over this connection take the tick down with them."""
    # Triggers take no bound values, so what is being ticked lies in a table that only this
    # connection sees.
    connection.execute("CREATE TEMP TABLE IF NOT EXISTS ticking (id, access_key, at, first)")
    connection.execute(
        "CREATE TEMP TRIGGER IF NOT EXISTS ticked AFTER INSERT ON main.journal BEGIN "
        "INSERT INTO tick (id, access_key, at, said, first_entry, last_entry) "
        "SELECT id, access_key, at, '[]', NEW.id, NEW.id FROM ticking WHERE first IS NULL; "
        "UPDATE tick SET last_entry = NEW.id WHERE id = (SELECT id FROM ticking); "
        "UPDATE ticking SET first = coalesce(first, NEW.id); END"
    )
    connection.execute("INSERT INTO ticking VALUES (?, ?, ?, NULL)", (id_, key.id, at))
    try:
        yield
    finally:
        connection.execute("DELETE FROM ticking")
