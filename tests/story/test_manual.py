"""The manual tells the truth: its sessions print what it shows, and it names every command."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from manual import CHECKOUT, README, sessions, typed_again

from cropplan.cli.root import SECTIONS

MANUAL = README.read_text(encoding="utf-8")


def test_the_sessions_print_what_the_manual_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`python tests/story/manual.py` writes them anew when words have changed."""
    monkeypatch.setenv("COLUMNS", "80")
    told = sessions(MANUAL)
    assert told, "README.md shows no session"
    for number, steps in enumerate(told):
        folder = tmp_path / str(number)
        folder.mkdir()
        for step, printed in zip(steps, typed_again(steps, folder), strict=True):
            assert printed == step.printed, f"README.md is out of date at '{step.typed}'"


def test_every_command_is_named_in_the_manual() -> None:
    """What the program can do, the manual says."""
    unnamed = [
        name
        for section in SECTIONS.values()
        for name in section
        if f"cropplan {name}" not in MANUAL
    ]
    assert unnamed == []


def test_the_manual_begins_with_the_job_and_gives_the_two_commands() -> None:
    """A title, then one paragraph of what it is for, then how to begin."""
    title, job, *_ = MANUAL.split("\n\n")
    assert title.startswith("# ")
    assert "clone" in job
    assert "fish" in job
    for command in ("cropplan demo", "bash tests/run"):
        assert command in MANUAL


def test_the_paths_of_the_manual_exist() -> None:
    """Every file the manual sends a reader to is there."""
    for word in shlex.split(MANUAL.replace("`", " ").replace("'", " ").replace('"', " ")):
        path = word.strip("().,;:")
        if path.startswith(("catalog/", "examples/", "tests/", "cropplan/")) and "*" not in path:
            assert (CHECKOUT / path).exists(), path
