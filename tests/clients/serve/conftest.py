"""The house served once for the tests that only look, and freshly for those that write."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from at_the_phone import Phone, phone
from raw_http import ask
from served_house import Served, desk_over, house_record, serving

from cropplan.desk.keeping import check


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


@pytest.fixture(scope="module")
def impatient(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A small house served with little patience."""
    record = house_record(tmp_path_factory.mktemp("impatient") / "house.db")
    with serving(record, options={"head_seconds": 2.0, "body_seconds": 2.0}) as running:
        yield running


@pytest.fixture
def attacked(impatient: Served) -> Iterator[Served]:
    """That house, to be attacked.

    After each attack the server answers, the record is sound, and no line holds a key.
    """
    before = impatient.entries()
    yield impatient
    assert impatient.alive()
    assert ask(impatient, impatient.feed).status == 200
    assert impatient.entries() == before
    desk = desk_over(impatient.record)
    with desk.record:
        assert check(desk) == []
    written = impatient.log.read_text(encoding="utf-8")
    assert written.count(" GET ") > 0
    assert not [secret for secret in impatient.secrets if secret in written]


@pytest.fixture(scope="module")
def screen() -> Iterator[Phone]:
    """One browser for the tests that only look."""
    with phone() as one:
        yield one
