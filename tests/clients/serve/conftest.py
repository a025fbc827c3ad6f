"""The house served once for the tests that only look, and freshly for those that write."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from served_house import Served, house_record, serving


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The house's record, to be copied."""
    return house_record(tmp_path_factory.mktemp("made") / "house.db")


@pytest.fixture
def record(made: Path, tmp_path: Path) -> Path:
    """A record of the test's own."""
    return Path(shutil.copy(made, tmp_path / "house.db"))


@pytest.fixture
def served(record: Path) -> Iterator[Served]:
    """The house served to this test alone."""
    with serving(record) as running:
        yield running


@pytest.fixture(scope="module")
def looked_at(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The house served to tests that write nothing."""
    copy = shutil.copy(made, tmp_path_factory.mktemp("looked-at") / "house.db")
    with serving(Path(copy)) as running:
        yield running
