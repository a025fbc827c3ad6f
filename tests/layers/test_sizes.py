"""Small files, short functions: limits that keep the shape readable."""

from __future__ import annotations

import ast
from collections.abc import Iterator

from tests.layers.test_imports import sources

#: Lines of a module, and of a function without its docstring.
LONGEST_MODULE = 400
LONGEST_FUNCTION = 60


def test_no_module_and_no_function_is_too_long() -> None:
    """Where a file passes some hundred lines, two subjects have run together."""
    found = [fault for file in sources() for fault in size_faults(*file)]
    assert not found, "\n".join(found)


def test_what_is_too_long_is_told_with_its_length() -> None:
    """The check can fail, and a docstring is not counted."""
    long = "def walk():\n" + "    step()\n" * 60
    assert list(size_faults("desk/walk.py", long)) == [
        "desk/walk.py:1 walk has 61 lines (60 at most)"
    ]
    told = 'def walk():\n    """Walk.\n\n    Far.\n    """\n' + "    step()\n" * 59
    assert list(size_faults("desk/walk.py", told)) == []
    assert list(size_faults("desk/walk.py", "pass\n" * 401)) == [
        "desk/walk.py has 401 lines (400 at most)"
    ]


def size_faults(path: str, text: str) -> Iterator[str]:
    """What of a file is longer than it may be."""
    lines = len(text.splitlines())
    if lines > LONGEST_MODULE:
        yield f"{path} has {lines} lines ({LONGEST_MODULE} at most)"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = _length(node)
            if length > LONGEST_FUNCTION:
                where = f"{path}:{node.lineno} {node.name}"
                yield f"{where} has {length} lines ({LONGEST_FUNCTION} at most)"


def _length(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    whole = (function.end_lineno or function.lineno) - function.lineno + 1
    first = function.body[0]
    if ast.get_docstring(function) is None:
        return whole
    return whole - ((first.end_lineno or first.lineno) - first.lineno + 1)
