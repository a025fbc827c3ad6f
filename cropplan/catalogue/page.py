"""One file of the catalogue while it is checked: where each value stands, and what it may be.

A fault is a `Problem` in a list, never an exception, so that the first bad line hides no other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeGuard

from cropplan.catalogue.lines import Path, line_at, line_numbers
from cropplan.problems import Problem, did_you_mean

LARGEST = 1e9
"""No quantity of the trade comes near; beyond it a number is a slip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One file as read: its name, its tables and the line of each."""

    file: str
    tables: Mapping[str, Any]
    numbers: Mapping[Path, int]

    def fault(self, path: Path, message: str) -> Problem:
        """A fault at a table or key, or at the table around it when it is not written."""
        return Problem(file=self.file, line=line_at(self.numbers, path), message=message)


def page_of(file: str, text: str, tables: Mapping[str, Any]) -> Page:
    """The page for a file's text and the tables read from it."""
    return Page(file=file, tables=tables, numbers=line_numbers(text))


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """What one key of a table may hold.

    kind : "text", "texts", "number", "whole", "switch", "table" or "points".
    choices : the words allowed; None for any. needed : whether it must be there.
    """

    kind: str = "text"
    needed: bool = True
    choices: tuple[str, ...] | None = None


_KINDS = {
    "text": "text in quotes",
    "texts": 'a list of texts, as ["one", "two"]',
    "number": "a number",
    "whole": "a whole number",
    "switch": "true or false",
    "table": "a table of its own",
    "points": "pairs of °C and value, as [[14, 95], [18, 65]]",
}


def table_faults(page: Page, path: Path, fields: Mapping[str, Field]) -> Iterator[Problem]:
    """What is wrong with the keys of one table: missing, unknown, of another kind or word."""
    table = at_path(page.tables, path)
    name = ".".join(path)
    if not isinstance(table, dict):
        yield page.fault(path, f"'{name}' must be a table, [{name}]")
        return
    for key in table:
        if key not in fields:
            yield page.fault((*path, key), f"unknown key '{key}'{_suggest(key, fields)}")
    for key, field in fields.items():
        if key in table:
            yield from _value_faults(page, (*path, key), table[key], field)
        elif field.needed:
            yield page.fault(path, f"[{name}] needs '{key}', {_KINDS[field.kind]}")


def at_path(tables: Mapping[str, Any], path: Path) -> Any:
    """The value at a path, None when there is none."""
    value: Any = tables
    for name in path:
        value = value.get(name) if isinstance(value, dict) else None
    return value


def is_number(value: object) -> TypeGuard[float]:
    """Whether a value is a number of a size that the trade knows; true and false are none."""
    if type(value) is not int and type(value) is not float:
        return False
    return -LARGEST < value < LARGEST


def shown(value: object) -> str:
    """A value as typed, shortened, for a message."""
    if type(value) is int and abs(value) > LARGEST:
        return "a number beyond all bounds"
    try:
        text = "true" if value is True else "false" if value is False else f"{value!s}"
    except ValueError:  # Python writes no number of more than some thousand figures.
        return "a value beyond all bounds"
    return f"'{text[:40]}…'" if len(text) > 40 else f"'{text}'"


def _suggest(word: str, known: Mapping[str, object] | tuple[str, ...]) -> str:
    return did_you_mean(word, known) or f"; known are {', '.join(known)}"


def _value_faults(page: Page, path: Path, value: object, field: Field) -> Iterator[Problem]:
    if not _is_kind(value, field.kind):
        message = f"'{path[-1]}' must be {_KINDS[field.kind]}, got {shown(value)}"
        yield page.fault(path, message)
        return
    if field.choices is None:
        if field.kind == "text" and not str(value).strip():
            yield page.fault(path, f"'{path[-1]}' must not be empty")
        return
    for word in map(str, value if isinstance(value, list) else [value]):
        if word not in field.choices:
            unknown = f"'{path[-1]}' cannot be '{word}'{did_you_mean(word, field.choices)}"
            choices = f"; choose from {', '.join(field.choices)}" if field.choices else ""
            yield page.fault(path, unknown + choices)


def _is_kind(value: object, kind: str) -> bool:
    match kind:
        case "text":
            return isinstance(value, str)
        case "texts":
            return isinstance(value, list) and all(isinstance(word, str) for word in value)
        case "number":
            return is_number(value)
        case "whole":
            return type(value) is int
        case "switch":
            return isinstance(value, bool)
        case "points":
            return are_points(value)
        case _:
            return isinstance(value, dict)


def are_points(value: object) -> TypeGuard[list[tuple[float, float]]]:
    """Whether a value is a list of pairs of numbers, at least one."""
    return isinstance(value, list) and bool(value) and all(map(_is_point, value))


def _is_point(value: object) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(map(is_number, value))
