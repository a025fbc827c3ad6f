"""Values as words for people and as plain values for programs."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from pathlib import Path, PurePath
from typing import Any, TextIO

from cropplan.holding.task import Subject, TaskKey
from cropplan.problems import Refusal

#: What a terminal that knows no UTF-8 shows for the signs the words use.
_PLAIN_SIGNS = {
    "–": "-",
    "−": "-",
    "×": "x",
    " °": " deg ",
    "°": " deg ",
    "²": "2",
    "⁻": "-",
    "¹": "1",
    "·": "-",
    "…": "...",
    "±": "+/-",
    "≥": ">=",
    "≤": "<=",
    "’": "'",
}
_NARROWEST, _USUAL, _WIDEST = 40, 80, 100
_NARROWEST_COLUMN = 13


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a command has to show, in both forms; only the one asked for is made.

    words : lines for people. plain : one value of dicts, lists, texts and numbers.
    """

    words: Callable[[], Iterable[str]]
    plain: Callable[[], Any]


class Words:
    """Shows lines for people."""

    def show(self, shown: Shown) -> None:
        """Print the words."""
        write_lines(shown.words())


class Json:
    """Shows one JSON value for programs."""

    def show(self, shown: Shown) -> None:
        """Print the plain value as JSON."""
        import json

        text = json.dumps(shown.plain(), ensure_ascii=False, indent=2, allow_nan=False)
        write_lines([text])


def write_lines(lines: Iterable[str], out: TextIO | None = None) -> None:
    """Print lines, with plain signs where the terminal cannot show the others."""
    to = out or sys.stdout
    text = "".join(f"{line}\n" for line in lines)
    to.write(fit_for(text, getattr(to, "encoding", None) or "utf-8"))


def write_text(file: Path, lines: Iterable[str]) -> None:
    """Write lines to a file, whole or not at all. Raises Refusal."""
    import tempfile

    beside: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", dir=file.parent, prefix=f".{file.name}.", delete=False
        ) as out:
            beside = Path(out.name)
            out.writelines(f"{line}\n" for line in lines)
        beside.chmod(0o644)
        beside.replace(file)
    except OSError as fault:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise Refusal(f"cannot write '{file}': {fault.strerror}; name another file") from fault


def fit_for(text: str, encoding: str) -> str:
    """The text as a terminal of that encoding can show it."""
    try:
        text.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        for sign, plainly in _PLAIN_SIGNS.items():
            text = text.replace(sign, plainly)
        return text.encode(encoding, errors="replace").decode(encoding)
    return text


def plain(value: Any) -> Any:
    """A value as JSON has it: dataclasses by field, days as ISO text, kinds by their word."""
    match value:
        case Subject() | TaskKey() | PurePath():
            return str(value)
        case Enum():
            return value.value
        case date() | datetime():
            return value.isoformat()
        case Mapping():
            return {str(plain(key)): plain(each) for key, each in value.items()}
        case str() | int() | float() | None:
            return value
        case _ if is_dataclass(value):
            return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
        case frozenset() | set():
            return sorted(plain(each) for each in value)
        case Iterable():
            return [plain(each) for each in value]
    raise TypeError(f"no way to show a {type(value).__name__}")


def table(rows: Sequence[Sequence[object]], heads: Sequence[str]) -> list[str]:
    """Rows under heads, as wide as the words need and no wider than the terminal."""
    import tabulate  # 39 ms, and only for tables

    if not rows:
        return []
    # Two spaces part the columns; by itself it adds two more beside every head.
    tabulate.MIN_PADDING = 0
    room = width() - 2 * (len(heads) - 1)
    limits = [max(len(str(row[n])) for row in [heads, *rows]) for n in range(len(heads))]
    # The widest column gives way first, as far as words allow, so that dates stay whole.
    for column in sorted(range(len(limits)), key=lambda column: -limits[column]):
        least = min(limits[column], _NARROWEST_COLUMN)
        limits[column] = max(least, limits[column] - max(0, sum(limits) - room))
    texts = [[str(cell) for cell in row] for row in rows]
    laid = tabulate.tabulate(
        texts,
        headers=list(heads),
        maxheadercolwidths=limits,
        tablefmt="plain",
        disable_numparse=True,
        maxcolwidths=limits,
    )
    return [line.rstrip() for line in laid.splitlines()]


def width() -> int:
    """Columns to lay out for: the terminal's, within what reads well; COLUMNS goes before it."""
    columns = int(os.environ["COLUMNS"]) if os.environ.get("COLUMNS", "").isdecimal() else 0
    with suppress(OSError, ValueError, AttributeError):
        # Not `shutil`'s, which loads three ways of packing files; ValueError: closed, or no file.
        columns = columns or os.get_terminal_size(sys.stdout.fileno()).columns
    return max(_NARROWEST, min(_WIDEST, columns or _USUAL))


def in_colour() -> bool:
    """Whether weights and colours may be used; they never carry anything alone."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR")


def short_codes(codes: Sequence[str]) -> str:
    """Codes with runs drawn together: `B1-B4, C2`."""
    runs: list[list[str]] = []
    for code in codes:
        if runs and _follows(runs[-1][-1], code):
            runs[-1].append(code)
        else:
            runs.append([code])
    parts: list[str] = []
    for run in runs:
        parts += [f"{run[0]}-{run[-1]}"] if len(run) > 2 else run
    return ", ".join(parts)


def _follows(before: str, code: str) -> bool:
    first, second = (re.fullmatch(r"(\D*)(\d+)", each) for each in (before, code))
    if first is None or second is None or first[1] != second[1]:
        return False
    # A9 is followed by A10, and A09 by A10, but A0 not by A01.
    padded = any(each[2].startswith("0") and each[2] != "0" for each in (first, second))
    same_width = len(first[2]) == len(second[2])
    return int(second[2]) == int(first[2]) + 1 and (same_width or not padded)


def span_of_time(minutes: float) -> str:
    """Minutes as spoken: `under 1 min`, `12 min`, `1 h 25 min`."""
    whole = round(minutes)
    if whole < 1:
        return "under 1 min"
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"
