"""Imports point one way: which part may use which, as a table, held against every file."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "cropplan"

_DECIDE = {"growth", "water", "holding", "problems", "catalogue.model"}
_ADAPTERS = {"record", "ics", "sync", "charts"}

#: What each part may import of ours, beside itself.
OURS: dict[str, set[str]] = {
    "__init__": set(),
    "__main__": {"cli"},
    "problems": set(),
    "growth": {"problems"},
    "water": {"problems"},
    "holding": {"problems"},
    "catalogue": {"holding", "problems"},
    "schedule": _DECIDE,
    "season": _DECIDE | {"schedule"},
    "record": {"holding", "problems"},
    "ics": {"holding", "problems"},
    "sync": {"holding", "problems"},
    "charts": {"holding", "season", "problems"},
    "desk": _DECIDE | _ADAPTERS | {"catalogue", "schedule", "season"},
    "serve": {"desk", "holding", "problems"},
    # The command that starts the server is the one place where a face knows another.
    "cli": {"desk", "holding", "problems", "serve"},
}

#: What each part may import from outside the standard library; parts not named here, nothing.
OUTSIDE: dict[str, set[str]] = {
    "catalogue": {"tomlkit"},
    "schedule": {"dateutil"},
    "season": {"highspy", "numpy"},
    "record": {"sqlite_utils"},
    "ics": {"icalendar"},
    "sync": {"caldav", "icalendar", "requests"},
    "charts": {"matplotlib", "numpy"},
    "desk": {"keyring"},
    "cli": {"click", "platformdirs", "tabulate"},
    "serve": {"jinja2", "segno", "starlette", "uvicorn"},
}

#: Parts in which nobody may ask what day it is; the desk tells them.
CLOCKLESS = {"growth", "water", "holding", "catalogue", "schedule", "season", "ics"}
_CLOCKS = {"date.today", "datetime.today", "datetime.now", "datetime.utcnow", "time.time"}


def test_every_import_is_one_that_the_table_allows() -> None:
    """One direction only (design §3, layers)."""
    found = [fault for file in sources() for fault in import_faults(*file)]
    assert not found, "\n".join(found)


def test_nothing_below_the_desk_looks_at_the_clock() -> None:
    """Today is an argument, so that every decision can be tried on any day (design §3)."""
    found = [fault for file in sources() for fault in clock_faults(*file)]
    assert not found, "\n".join(found)


def test_every_part_of_the_package_is_in_the_table() -> None:
    """A new part says first what it may import."""
    parts = {part_of(path) for path, _ in sources()}
    assert parts <= OURS.keys()
    assert len(parts) > 8


def test_the_table_itself_points_one_way() -> None:
    """No two parts may import each other, by whatever way round."""
    below: set[str] = set()
    while below != OURS.keys():
        ready = {
            part
            for part, allowed in OURS.items()
            if {name.partition(".")[0] for name in allowed} <= below and part not in below
        }
        assert ready, f"{sorted(OURS.keys() - below)} go round in a circle"
        below |= ready


def test_a_forbidden_import_is_told_with_its_line_and_what_would_be_right() -> None:
    """The check can fail, and its words say where and how."""
    allowed = "(allowed: catalogue.model, growth, holding, problems, water)"
    text = "import os\nfrom cropplan.record import store\nimport numpy\n"
    assert list(import_faults("schedule/turns.py", text)) == [
        f"schedule/turns.py:2 imports record {allowed}",
        "schedule/turns.py:3 imports numpy (allowed: dateutil)",
    ]
    inside = "def read():\n    from cropplan.catalogue.read import read_catalogue\n"
    assert list(import_faults("schedule/scene.py", inside)) == [
        f"schedule/scene.py:2 imports catalogue.read {allowed}"
    ]
    assert list(import_faults("schedule/scene.py", "from cropplan import record\n")) == [
        f"schedule/scene.py:1 imports record {allowed}"
    ]
    assert list(import_faults("holding/task.py", "import tomlkit\n")) == [
        "holding/task.py:1 imports tomlkit (allowed: nothing)"
    ]
    right = "from cropplan.catalogue.model import Crop\nfrom dateutil import rrule\n"
    assert list(import_faults("schedule/scene.py", right)) == []


def test_a_look_at_the_clock_is_told_with_its_line() -> None:
    """The check can fail."""
    text = "from datetime import date\n\nstart = date.today()\n"
    assert list(clock_faults("schedule/away.py", text)) == ["schedule/away.py:3 asks date.today"]
    assert list(clock_faults("desk/desk.py", text)) == []
    assert list(clock_faults("schedule/away.py", "day = scene.today\n")) == []


def sources() -> list[tuple[str, str]]:
    """Every file of the package: its path within it, and its text."""
    return [
        (str(file.relative_to(PACKAGE)), file.read_text(encoding="utf-8"))
        for file in sorted(PACKAGE.rglob("*.py"))
    ]


def part_of(path: str) -> str:
    """The part a file belongs to: its folder, or itself."""
    return Path(path).parts[0].removesuffix(".py")


def import_faults(path: str, text: str) -> Iterator[str]:
    """Imports of a file that its part may not have."""
    part = part_of(path)
    for line, module in imported(text):
        top, _, rest = module.partition(".")
        if top == "cropplan":
            if not _may_import(part, rest):
                yield _fault(path, line, rest, OURS[part])
        elif top not in sys.stdlib_module_names and top not in OUTSIDE.get(part, set()):
            yield _fault(path, line, top, OUTSIDE.get(part, set()))


def clock_faults(path: str, text: str) -> Iterator[str]:
    """Places of a file that ask what day or time it is."""
    if part_of(path) not in CLOCKLESS:
        return
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Attribute) and ast.unparse(node) in _CLOCKS:
            yield f"{path}:{node.lineno} asks {ast.unparse(node)}"


def imported(text: str) -> Iterator[tuple[int, str]]:
    """Line and full name of every module that a text imports, wherever in it."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            module = node.module or ""
            if module == "cropplan":
                yield from ((node.lineno, f"cropplan.{alias.name}") for alias in node.names)
            else:
                yield node.lineno, module


def _may_import(part: str, module: str) -> bool:
    """Whether a part may import one of our modules, given as `part` or `part.module`."""
    names = module.split(".")
    allowed = OURS[part] | {part}
    return names[0] in allowed or ".".join(names[:2]) in allowed


def _fault(path: str, line: int, module: str, allowed: set[str]) -> str:
    return f"{path}:{line} imports {module} (allowed: {', '.join(sorted(allowed)) or 'nothing'})"
