"""A TOML file line by line: a quick reader for plain files, and the line each value stands on.

The standard reader takes about 25 µs a value, which is felt when ten crops are read each morning.
A plain file, as all of the catalogue's are, has one thing a line (a comment, a `[table.name]`, a
`key = value` whose value is JSON as well as TOML), so that Python's own JSON scanner can do the
work. For any file that is not plain, `plain_tables` answers None and the standard reader decides:
it never reads otherwise than tomllib would.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from json.decoder import JSONDecoder
from typing import Any

from cropplan.problems import BadData, Problem

Path = tuple[str, ...]

# Escapes, tabs and other control characters, which TOML and JSON understand differently.
_NOT_PLAIN = re.compile(r"[\\\x00-\x09\x0b-\x1f\x7f]")
_TABLE = re.compile(r"\[([A-Za-z0-9_-]+(?:\.[A-Za-z0-9_-]+)*)\] *(?:#.*)?")
_KEY = re.compile(r"([A-Za-z0-9_-]+) *= *")
_TABLE_END = re.compile(r"[A-Za-z0-9_.-]+\]")
_UNCUTTABLE = re.compile(r"\"\"\"|'''|^[ \t]+\[", re.MULTILINE)


def _not_toml(found: object) -> object:
    raise ValueError(found)


# JSON's objects, NaN and Infinity are written otherwise in TOML.
_scan = JSONDecoder(object_pairs_hook=_not_toml, parse_constant=_not_toml).raw_decode


def plain_tables(text: str) -> dict[str, Any] | None:
    """The tables of a plain file, the same as tomllib's; None when the file is not plain."""
    if _NOT_PLAIN.search(text):
        return None
    root: dict[str, Any] = {}
    table = root
    opened: set[str] = set()
    for untrimmed in text.split("\n"):
        line = untrimmed.strip(" ")
        if not line or line[0] == "#":
            continue
        if line[0] == "[":
            header = _TABLE.fullmatch(line)
            if header is None or header[1] in opened:
                return None
            opened.add(header[1])
            inner = _table_at(root, header[1])
            if inner is None:
                return None
            table = inner
        elif not _take_value(table, line):
            return None
    return root


def tables_of(text: str, names: Iterable[str]) -> str | None:
    """The part of a plain file that holds the tables of those dotted names and what is in them.

    None when the text cannot be cut safely, for a line inside a longer value may look like a table.
    """
    _, *blocks = f"\n{text}".split("\n[")
    if _UNCUTTABLE.search(text) or not all(_TABLE_END.match(block) for block in blocks):
        return None
    starts = tuple(start for name in names for start in (f"{name}]", f"{name}."))
    return "\n".join(f"[{block}" for block in blocks if block.startswith(starts))


def toml_tables(file: str, text: str) -> dict[str, Any]:
    """The tables of any TOML file. Raises BadData with file and line, and what to write instead."""
    import tomllib  # 11 ms that a plain file does not need.

    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as fault:
        raise BadData(str(toml_fault(file, text, fault))) from fault


def _table_at(root: dict[str, Any], dotted: str) -> dict[str, Any] | None:
    """The table of that name, made when it is not there; None when a value has the name."""
    table = root
    for name in dotted.split("."):
        table = table.setdefault(name, {})
        if type(table) is not dict:
            return None
    return table


def _take_value(table: dict[str, Any], line: str) -> bool:
    """Whether the line is a plain `key = value` for a key not yet in the table, now taken."""
    key = _KEY.match(line)
    if key is None or key[1] in table:
        return False
    try:
        value, end = _scan(line, key.end())
    except (ValueError, RecursionError):
        return False
    if type(value) is not str and "null" in line:
        return False
    table[key[1]] = value
    return end == len(line) or line[end:].lstrip(" ")[:1] in {"", "#"}


# --- where things stand -------------------------------------------------------------------------

_WORD = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\])*"|'[^']*')"""
_DOTTED = rf"{_WORD}(?:[ \t]*\.[ \t]*{_WORD})*"
_ANY_TABLE = re.compile(rf"[ \t]*\[\[?[ \t]*({_DOTTED})[ \t]*\]")
_ANY_KEY = re.compile(rf"[ \t]*({_DOTTED})[ \t]*=")
_TOKEN = re.compile(r"""\"\"\"|'''|"(?:\\.|[^"\\])*"|'[^']*'|#.*|[\[\]{}]""", re.DOTALL)


def line_numbers(text: str) -> Mapping[Path, int]:
    """The line, from 1, on which each table and each key is first written, by its path.

    A table that is only written through those inside it stands where the first of them does.
    """
    found: dict[Path, int] = {}
    for path, line, _ in _written(text):
        for depth in range(1, len(path) + 1):
            found.setdefault(path[:depth], line)
    return found


def line_at(numbers: Mapping[Path, int], path: Path) -> int | None:
    """The line of a path, or of the nearest table around it; None when none is written."""
    while path and path not in numbers:
        path = path[:-1]
    return numbers.get(path)


def _written(text: str) -> Iterator[tuple[Path, int, bool]]:
    """Each table and key as written: its path, its line, and whether it may stand only once."""
    table: Path = ()
    depth, quotes, once = 0, "", True
    for number, line in enumerate(text.split("\n"), start=1):
        rest = line
        if not quotes and depth == 0:
            header, key = _ANY_TABLE.match(line), _ANY_KEY.match(line)
            if header:
                table, once = _names(header[1]), not line.lstrip().startswith("[[")
                yield table, number, once
                continue
            if key:
                yield (*table, *_names(key[1])), number, once
                rest = line[key.end() :]
        depth, quotes = _left_open(rest, depth, quotes)


def _names(dotted: str) -> Path:
    return tuple(word.strip("\"'") for word in re.findall(_WORD, dotted))


def _left_open(rest: str, depth: int, quotes: str) -> tuple[int, str]:
    """How many brackets, and which long quotes, are still open at the end of a line."""
    at = 0
    while at < len(rest):
        if quotes:
            close = rest.find(quotes, at)
            if close < 0:
                return depth, quotes
            at, quotes = close + 3, ""
            continue
        token = _TOKEN.search(rest, at)
        if token is None:
            break
        at = token.end()
        if token[0] in {'"""', "'''"}:
            quotes = token[0]
        elif token[0] in {"[", "{"}:
            depth += 1
        elif token[0] in {"]", "}"}:
            depth = max(0, depth - 1)
    return depth, quotes


# --- what a hand gets wrong ---------------------------------------------------------------------

_PLACE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
_SLIPS: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(r"=\s*([+-]?\d+),(\d+)"), "a number is written with a point: {0}.{1}"),
    (re.compile(r"=\s*([+-]?)(\.\d+)"), "a number needs a digit before the point: {0}0{1}"),
    (re.compile(r"=\s*([+-]?\d+)\.(?!\d)"), "a number needs a digit after the point: {0}.0"),
    (
        re.compile(r"=\s*([\d.]+)\s*[-–]\s*([\d.]+)\s*(?:#|$)"),
        "a range takes two lines: low = {0} and high = {1}",
    ),
    (
        re.compile(r"=\s*([+-]?\d+(?:\.\d+)?)\s*([A-Za-z°%]\S*)"),
        "a number stands alone: {0}, and the unit '{1}' on its own line",
    ),
    (re.compile(r"=\s*[“”‘’„]"), 'text is written in straight quotes: "…"'),
    (re.compile(r"=\s*([^\s\"'\[{\d+-][^#]*)"), 'text is written in quotes: "{0}"'),
    (re.compile(r"=\s*(?:#|$)"), "a value is missing after the equals sign"),
    (re.compile(r"=\s*[\"'][^\"']*$"), "the text has no closing quote"),
    (
        re.compile(r"^\s*([A-Za-z0-9_-]+)(?:\s*:\s*|\s+)([^=]+)$"),
        "a name and its value are joined by an equals sign: {0} = {1}",
    ),
)


def toml_fault(file: str, text: str, fault: Exception) -> Problem:
    """What is wrong with a file that is no TOML, on which line, and what to write."""
    if isinstance(fault, RecursionError):
        return Problem(file=file, line=None, message="lists are nested too deep to be read")
    said = str(fault)
    if "(4300 digits)" in said:
        return Problem(file=file, line=None, message="a number has thousands of digits")
    twice = _written_twice(text) if said.startswith("Cannot ") else None
    if twice is not None:
        path, first, second = twice
        where = f" in [{'.'.join(path[:-1])}]" if path[:-1] else ""
        message = f"'{path[-1]}' is written twice{where}, first on line {first}; keep one"
        return Problem(file=file, line=second, message=message)
    place = _PLACE.search(said)
    lines = text.split("\n")
    number = int(place[1]) if place and place[1] else _last_written(lines)
    for slip, hint in _SLIPS:
        seen = slip.search(lines[number - 1])
        if seen:
            parts = [part.strip() for part in seen.groups()]
            return Problem(file=file, line=number, message=hint.format(*parts))
    begun = _list_left_open(lines[: number - 1])
    if begun is not None:
        return Problem(file=file, line=begun, message="the list begun here is not closed with ]")
    said = _PLACE.sub("", said)
    return Problem(file=file, line=number, message=f"is not TOML: {said[:1].lower()}{said[1:]}")


def _list_left_open(lines: list[str]) -> int | None:
    """The line on which a list was begun that is still open after these lines."""
    depth, quotes, begun = 0, "", None
    for number, line in enumerate(lines, start=1):
        key = None if depth or quotes else _ANY_KEY.match(line)
        was = depth
        if key or depth or quotes:
            depth, quotes = _left_open(line[key.end() :] if key else line, depth, quotes)
        begun = number if depth and not was else begun
    return begun if depth else None


def _last_written(lines: list[str]) -> int:
    return max((n for n, line in enumerate(lines, start=1) if line.strip()), default=1)


def _written_twice(text: str) -> tuple[Path, int, int] | None:
    """The first key or table written a second time: its path, and both lines."""
    seen: dict[Path, int] = {}
    for path, line, once in _written(text):
        if once and path in seen:
            return path, seen[path], line
        seen[path] = line
    return None
