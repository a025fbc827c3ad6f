"""The table of requirements names tests that are there."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.clients.sync.checklist import ROWS

ROOT = Path(__file__).parents[3]


@pytest.mark.parametrize("row", ROWS)
def test_each_row_names_tests_that_exist(row: int) -> None:
    """A renamed test must not leave a requirement unheld."""
    for name in ROWS[row]:
        file, _, test = name.partition("::")
        tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
        tests = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
        assert test in tests, f"row {row}: {name} is not there"


def test_the_rows_of_two_way_tasks_are_all_held() -> None:
    """Identity, and both rows of CalDAV."""
    assert set(ROWS) == {8, 9, 10, 11, 12, 39, 40}
