"""The checklist itself: forty requirements, each with tests that are really there."""

from __future__ import annotations

import ast
from functools import lru_cache

import pytest
from checklist import CHECKLIST
from served_house import ROOT


@lru_cache(maxsize=64)
def read_from(file: str) -> dict[str, ast.FunctionDef]:
    """The tests of a file, by name."""
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    return {
        node.name: node
        for node in tree.body
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }


def test_all_forty_requirements_are_there() -> None:
    """None is left out, each says what and by whose word."""
    assert sorted(CHECKLIST) == list(range(1, 41))
    assert all(row.must and row.source for row in CHECKLIST.values())


@pytest.mark.parametrize("number", sorted(CHECKLIST))
def test_each_requirement_names_tests_that_exist_and_are_run(number: int) -> None:
    """A test that was renamed, removed or marked to be skipped proves nothing."""
    assert CHECKLIST[number].tests
    for named in CHECKLIST[number].tests:
        file, _, name = named.partition("::")
        found = read_from(file)
        assert name in found, f"{number}: there is no {named}"
        marks = " ".join(ast.unparse(mark) for mark in found[name].decorator_list)
        assert "skip" not in marks
        assert "xfail" not in marks
        assert any(
            isinstance(node, ast.Assert | ast.With | ast.Call) for node in ast.walk(found[name])
        )
