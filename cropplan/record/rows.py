"""Rows of a table as the nouns they hold, and back: one typed column for each field."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from inspect import get_annotations
from typing import Any, Generic, TypeVar, get_args

from cropplan.record.plain import Codec, Unreadable, codec

Noun = TypeVar("Noun")
#: What a column can hold.
Cell = str | int | float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape(Generic[Noun]):
    """How one dataclass lies in a row; the columns are its fields, in order.

    readers : of the columns whose cells are not the values themselves.
    """

    noun: type[Noun]
    columns: tuple[str, ...]
    writers: tuple[Callable[[Any], Cell], ...]
    readers: tuple[tuple[str, Callable[[Any], Any]], ...]

    def row(self, noun: Noun) -> tuple[Cell, ...]:
        """The cells of one noun. Raises Refusal for a value that no record can hold."""
        return tuple(
            write(getattr(noun, name))
            for name, write in zip(self.columns, self.writers, strict=True)
        )

    def read(self, cells: Sequence[Any]) -> Noun:
        """The noun in one row. Raises Unreadable, naming the column."""
        values: dict[str, Any] = dict(zip(self.columns, cells, strict=True))
        name = ""
        try:
            for name, reader in self.readers:
                values[name] = reader(values[name])
        except (Unreadable, json.JSONDecodeError) as fault:
            about = self.noun.__name__.lower()
            raise Unreadable(f"{about} {cells[0]}: {name}: {fault}") from None
        return self.noun(**values)


_known: dict[type[Any], Shape[Any]] = {}


def columns_of(noun: type[Any]) -> tuple[str, ...]:
    """The columns of a dataclass: its fields, in order."""
    return tuple(field.name for field in fields(noun))


def shape(noun: type[Noun]) -> Shape[Noun]:
    """The shape of a dataclass, worked out once."""
    if noun not in _known:
        _known[noun] = _made(noun)
    return _known[noun]


def _made(noun: type[Noun]) -> Shape[Noun]:
    hints = get_annotations(noun, eval_str=True)
    columns = columns_of(noun)
    return Shape(
        noun=noun,
        columns=columns,
        writers=tuple(_writer(hints[name]) for name in columns),
        readers=tuple(
            (name, reader) for name in columns if (reader := _reader(hints[name])) is not None
        ),
    )


def _is_yes_no(hint: Any) -> bool:
    return hint is bool or bool in get_args(hint)


def _writer(hint: Any) -> Callable[[Any], Cell]:
    part: Codec = codec(hint)
    if part.nested:
        return lambda value: as_json(part.write(value))
    if _is_yes_no(hint):
        return lambda value: None if value is None else int(value)
    write: Callable[[Any], Cell] = part.write
    return write


def _reader(hint: Any) -> Callable[[Any], Any] | None:
    part: Codec = codec(hint)
    if part.as_is:
        return None
    if part.nested:
        return lambda cell: part.read(json.loads(cell))
    if _is_yes_no(hint):
        # SQLite has no type for yes and no: 1 and 0 stand for them.
        return lambda cell: part.read({0: False, 1: True}.get(cell, cell))
    return part.read


def as_json(plain: Any) -> str:
    """A plain value as compact JSON text."""
    return json.dumps(plain, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


# The names below are those of our own tables and fields, never typed text; values are bound.


def select(table: str, columns: Iterable[str], rest: str = "") -> str:
    """The statement that reads columns of a table."""
    return f"SELECT {_names(columns)} FROM {_name(table)} {rest}"  # noqa: S608 - our own names


def insert(table: str, columns: Sequence[str]) -> str:
    """The statement that writes a new row."""
    marks = ", ".join("?" for _ in columns)
    return f"INSERT INTO {_name(table)} ({_names(columns)}) VALUES ({marks})"  # noqa: S608 - our own


def upsert(table: str, columns: Sequence[str], key: Sequence[str]) -> str:
    """The statement that writes a row, in place of the one with the same key if there is one."""
    changes = ", ".join(f"{_name(c)} = excluded.{_name(c)}" for c in columns if c not in key)
    return f"{insert(table, columns)} ON CONFLICT ({_names(key)}) DO UPDATE SET {changes}"


def delete(table: str, key: Sequence[str]) -> str:
    """The statement that removes the row of one key."""
    wanted = " AND ".join(f"{_name(column)} = ?" for column in key)
    return f"DELETE FROM {_name(table)} WHERE {wanted}"  # noqa: S608 - our own names


def _name(identifier: str) -> str:
    return f'"{identifier}"'


def _names(identifiers: Iterable[str]) -> str:
    return ", ".join(_name(identifier) for identifier in identifiers)
