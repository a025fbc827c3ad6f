"""Values as plain JSON ones and back, led by the type hints of the dataclasses.

One set of rules serves the columns of a table (`rows`) and the body of a journal entry (`acts`):
an enum is its value, a day and a moment are ISO text, a subject is `kind:code`, a tuple is a
list, a mapping or a dataclass is an object.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from datetime import UTC, date, datetime
from enum import Enum
from inspect import get_annotations
from types import NoneType, UnionType
from typing import Any, get_args, get_origin

from cropplan.holding.task import Subject, read_subject
from cropplan.problems import Refusal

#: SQLite keeps whole numbers in 64 bits.
LARGEST = 2**63 - 1


class Unreadable(ValueError):
    """A stored value is not what its place calls for; the text says which and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Codec:
    """How one type is written plainly and read back.

    write : value -> text, number, bool, None, list or object. Raises Refusal for what no record
        can hold: an endless number, one beyond 64 bits, text that is not Unicode.
    read : the reverse. Raises Unreadable.
    nested : the plain form is a list or an object.
    as_is : a column of a strict table gives the value back without reading.
    """

    write: Callable[[Any], Any]
    read: Callable[[Any], Any]
    nested: bool = False
    as_is: bool = False


def codec(hint: Any) -> Codec:
    """The codec of a type hint used by the nouns; TypeError for one they do not use."""
    if hint not in _known:
        _known[hint] = _made(hint)
    return _known[hint]


def _made(hint: Any) -> Codec:
    origin = get_origin(hint)
    if origin is UnionType:
        (inner,) = (arg for arg in get_args(hint) if arg is not NoneType)
        return _or_none(codec(inner))
    if origin is tuple:
        return _listed(codec(get_args(hint)[0]))
    if origin is Mapping:
        key, value = get_args(hint)
        return _mapped(codec(key), codec(value))
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _enum(hint)
    if isinstance(hint, type) and is_dataclass(hint):
        return _object(hint)
    raise TypeError(f"no way to write down a value of the type {hint}")


def _write_text(value: str) -> str:
    try:
        value.encode()
    except UnicodeEncodeError:
        raise Refusal(
            f"the text {value!r} holds characters that are not Unicode; type it again"
        ) from None
    return value


def _write_whole(value: int) -> int:
    if abs(value) > LARGEST:
        raise Refusal(f"the number {value} is too large for a record")
    return int(value)


def _write_number(value: float) -> float:
    if not math.isfinite(value):
        raise Refusal(f"a record cannot hold the number {value}; give a measured one")
    return float(value)


def _read_text(plain: Any) -> str:
    if not isinstance(plain, str):
        raise Unreadable(f"{plain!r} is not text")
    return plain


def _read_whole(plain: Any) -> int:
    if type(plain) is not int:
        raise Unreadable(f"{plain!r} is not a whole number")
    return plain


def _read_number(plain: Any) -> float:
    if type(plain) not in {int, float}:
        raise Unreadable(f"{plain!r} is not a number")
    return float(plain)


def _read_yes_no(plain: Any) -> bool:
    if type(plain) is not bool:
        raise Unreadable(f"{plain!r} is neither true nor false")
    return plain


def _read_day(plain: Any) -> date:
    try:
        return date.fromisoformat(plain)
    except (TypeError, ValueError):
        raise Unreadable(f"{plain!r} is not a day; write it as 2026-03-04") from None


def _write_moment(value: datetime) -> str:
    if value.tzinfo is None:
        raise ValueError(f"the moment {value} has no time zone; moments are kept in UTC")
    return value.astimezone(UTC).isoformat()


def _read_moment(plain: Any) -> datetime:
    try:
        moment = datetime.fromisoformat(plain)
    except (TypeError, ValueError):
        raise Unreadable(f"{plain!r} is not a moment such as 2026-03-04T07:30:00+00:00") from None
    if moment.tzinfo is None:
        raise Unreadable(f"{plain!r} has no time zone; write it as {plain}+00:00")
    return moment


def _read_about(plain: Any) -> Subject:
    try:
        return read_subject(plain)
    except (AttributeError, ValueError):
        raise Unreadable(f"{plain!r} is not a subject such as planting:tom7") from None


#: Codecs by type hint, each made once.
_known: dict[Any, Codec] = {
    str: Codec(write=_write_text, read=_read_text, as_is=True),
    int: Codec(write=_write_whole, read=_read_whole, as_is=True),
    float: Codec(write=_write_number, read=_read_number, as_is=True),
    bool: Codec(write=bool, read=_read_yes_no),
    date: Codec(write=date.isoformat, read=_read_day),
    datetime: Codec(write=_write_moment, read=_read_moment),
    Subject: Codec(write=lambda about: _write_text(str(about)), read=_read_about),
}


def _or_none(inner: Codec) -> Codec:
    def write(value: Any) -> Any:
        return None if value is None else inner.write(value)

    def read(plain: Any) -> Any:
        return None if plain is None else inner.read(plain)

    return Codec(write=write, read=read, nested=inner.nested, as_is=inner.as_is)


def _enum(kind: type[Enum]) -> Codec:
    by_value = {member.value: member for member in kind}

    def read(plain: Any) -> Enum:
        try:
            return by_value[plain]
        except (KeyError, TypeError):
            known = ", ".join(str(value) for value in by_value)
            raise Unreadable(f"{plain!r} is none of {known}") from None

    return Codec(write=lambda member: member.value, read=read)


def _listed(item: Codec) -> Codec:
    def write(values: tuple[Any, ...]) -> list[Any]:
        return [item.write(value) for value in values]

    def read(plain: Any) -> tuple[Any, ...]:
        if not isinstance(plain, list):
            raise Unreadable(f"{plain!r} is not a list")
        return tuple(item.read(value) for value in plain)

    return Codec(write=write, read=read, nested=True)


def _mapped(key: Codec, item: Codec) -> Codec:
    def write(values: Mapping[Any, Any]) -> dict[str, Any]:
        return {key.write(name): item.write(value) for name, value in values.items()}

    def read(plain: Any) -> dict[Any, Any]:
        if not isinstance(plain, dict):
            raise Unreadable(f"{plain!r} is not an object")
        return {key.read(name): item.read(value) for name, value in plain.items()}

    return Codec(write=write, read=read, nested=True)


def _object(noun: type[Any]) -> Codec:
    hints = get_annotations(noun, eval_str=True)
    parts = {field.name: codec(hints[field.name]) for field in fields(noun)}
    needed = {f.name for f in fields(noun) if f.default is MISSING and f.default_factory is MISSING}

    def write(value: Any) -> dict[str, Any]:
        return {name: part.write(getattr(value, name)) for name, part in parts.items()}

    def read(plain: Any) -> Any:
        if not isinstance(plain, dict):
            raise Unreadable(f"{plain!r} is not an object")
        if missing := needed - plain.keys():
            raise Unreadable(f"'{min(missing)}' is missing")
        values = {}
        for name, part_plain in plain.items():
            if name not in parts:
                raise Unreadable(f"'{name}' is not known here")
            try:
                values[name] = parts[name].read(part_plain)
            except Unreadable as fault:
                raise Unreadable(f"{name}: {fault}") from None
        return noun(**values)

    return Codec(write=write, read=read, nested=True)
