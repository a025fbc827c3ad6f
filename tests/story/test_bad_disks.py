"""A record in use, a folder that may not be written in, a full disk: refused, nothing changed."""

from __future__ import annotations

import ctypes
import os
import resource
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from at_the_terminal import Terminal, content_of, in_a_process
from refusals import lived_in_house, refused


@pytest.fixture
def terminal(tmp_path: Path) -> Terminal:
    """A house in which there is much to refuse."""
    return lived_in_house(tmp_path / "house.db")


def test_a_record_that_is_in_use_is_refused_and_not_waited_for_for_ever(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another program holds the record: say so, change nothing."""
    monkeypatch.setattr("cropplan.record.connect.BUSY_MS", 50)
    before = content_of(terminal.record)
    with closing(sqlite3.connect(terminal.record, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        refused(terminal.type("feed main 60g"), 1, (str(terminal.record), "in use"))
        other.execute("ROLLBACK")
    assert content_of(terminal.record) == before


def as_an_owner_like_any_other() -> None:
    """Give up root's right to write in read-only folders, for the process about to start."""
    # prctl(PR_CAPBSET_DROP, CAP_DAC_OVERRIDE), see capabilities(7): counts from the next exec.
    prctl = ctypes.CDLL(None, use_errno=True).prctl
    if os.geteuid() == 0 and prctl(24, 1, 0, 0, 0) != 0:
        raise OSError(ctypes.get_errno(), "root's rights cannot be given up here")


def small_files_only() -> None:
    """No file may grow beyond 4 kB, as on a disk that is full."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))


NOT_WRITTEN: list[tuple[str, Callable[[], None], str]] = [
    ("feed main 60g", as_an_owner_like_any_other, "cannot be written"),
    ("calendar write {folder}/house.ics", as_an_owner_like_any_other, "cannot write"),
    (
        "away 2026-12-01 2026-12-09 --sheet {folder}/page.txt",
        as_an_owner_like_any_other,
        "cannot write",
    ),
    ("backup {folder}/copy.db", as_an_owner_like_any_other, "cannot be written"),
    ("crops set tomato pick_interval 2", as_an_owner_like_any_other, "cannot be written"),
    ("feed main 60g", small_files_only, "disk is full"),
    ("backup {folder}/copy.db", small_files_only, "disk is full"),
    ("export {folder}/out", small_files_only, "disk is full"),
    ("calendar write {folder}/house.ics --days 800", small_files_only, "disk is full"),
]


@pytest.mark.parametrize(("typed", "limits", "words"), NOT_WRITTEN)
def test_a_folder_or_disk_that_takes_nothing_changes_nothing(
    terminal: Terminal, typed: str, limits: Callable[[], None], words: str
) -> None:
    """Read-only folder, full disk (RLIMIT_FSIZE): one line, exit 1, record as before."""
    folder = terminal.record.parent
    before = content_of(terminal.record)
    if limits is as_an_owner_like_any_other:
        folder.chmod(0o555)
        terminal.record.chmod(0o444)
    try:
        said = in_a_process(
            ["--record", str(terminal.record), *typed.format(folder=folder).split()],
            preexec_fn=limits,
        )
    finally:
        folder.chmod(0o755)
        terminal.record.chmod(0o644)
    refused(said, 1, (words,))
    assert content_of(terminal.record) == before
    left = {file.name for file in folder.iterdir()} - {"house.db", "house.db-wal", "house.db-shm"}
    assert left == set()
