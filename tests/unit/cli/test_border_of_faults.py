"""The border: whatever goes wrong leaves as one line and a code, never as a traceback."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from at_the_terminal import CHECKOUT, Said, Terminal, spoken

from cropplan.cli.root import run
from cropplan.problems import BadData, Misuse, Refusal


def failing_with(fault: BaseException, monkeypatch: pytest.MonkeyPatch) -> Said:
    """What is said when a command fails in this way."""

    def fails(*_: object, **__: object) -> None:
        raise fault

    monkeypatch.setattr("cropplan.desk.figures.crops", fails)
    return spoken(lambda: run(["crops", "list"]))


@pytest.mark.parametrize(
    ("fault", "code"),
    [(Refusal("no room in 'B3'"), 1), (BadData("a.toml:3: wrong"), 1), (Misuse("'4/3' what"), 2)],
)
def test_our_own_faults_are_said_as_they_are(
    fault: Exception, code: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit 1 refused, 2 misuse; the fault's text is the line."""
    said = failing_with(fault, monkeypatch)
    assert said == Said(out="", err=f"cropplan: {fault}\n", code=code)


def test_a_key_that_stops_the_program_is_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C leaves with 1 and one line."""
    said = failing_with(KeyboardInterrupt(), monkeypatch)
    assert (said.out, said.code) == ("", 1)
    # A terminal shows ^C first; the empty line ends that.
    assert said.err.lstrip("\n").startswith("cropplan: stopped")
    assert said.err.strip().count("\n") == 0


def test_faults_of_disk_and_database_name_what_they_are_about(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One line each, whatever slipped past the parts that know the file."""
    said = failing_with(PermissionError(13, "Permission denied", "/barn/x"), monkeypatch)
    assert said.err == "cropplan: '/barn/x': Permission denied; nothing more was written\n"
    said = failing_with(sqlite3.OperationalError("no such table: bed"), monkeypatch)
    assert "no such table: bed" in said.err
    assert "cropplan check" in said.err
    assert said.err.count("\n") == said.code == 1


def test_a_fault_of_ours_is_one_line_and_its_story_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No traceback reaches a user; whoever mends it finds it in a file."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    said = failing_with(ZeroDivisionError("by nought"), monkeypatch)
    assert (said.out, said.code, said.err.count("\n")) == ("", 1, 1)
    assert "Traceback" not in said.err
    (story,) = tmp_path.iterdir()
    assert str(story) in said.err
    assert "Traceback" in story.read_text(encoding="utf-8")
    assert "by nought" in story.read_text(encoding="utf-8")


def test_what_was_typed_cannot_steer_the_terminal(tmp_path: Path) -> None:
    """Escape signs and line breaks in a typed word come back as plain text in one line."""
    terminal = Terminal(record=tmp_path / "house.db")
    terminal.done("house new Lean-to --at 53.3,-6.2 --zone Europe/Dublin")
    said = terminal.type("pull 'tom\x1b[2J\n7'")
    assert said.code == 1
    assert said.err == "cropplan: no planting has the tag 'tom?[2J 7'\n"


def test_a_reader_who_has_seen_enough_is_no_fault(tmp_path: Path) -> None:
    """`cropplan journal | head -1` ends quietly."""
    terminal = Terminal(record=tmp_path / "house.db")
    terminal.done("house new Lean-to --at 53.3,-6.2 --zone Europe/Dublin")
    terminal.done("place add B1-B400 --kind bucket")
    program = f"{sys.executable} -m cropplan --record {terminal.record} place list --json"
    ended = subprocess.run(
        ["sh", "-c", f"{program} | head -c 1"],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(CHECKOUT)},
        check=False,
    )
    assert (ended.stdout, ended.stderr) == ("[", "")


def test_a_family_by_itself_shows_what_there_is() -> None:
    """`cropplan place` is a question, not a slip."""
    said = spoken(lambda: run(["place"]))
    assert (said.code, said.err) == (0, "")
    assert "Put in places of one kind, in the order you walk past them." in said.out


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (["--json", "rounds"], "goes after it"),
        (["--recrod", "x", "rounds"], "did you mean '--record'?"),
        (["rounds", "--ahead"], "'cropplan rounds --help'"),
        (["rounds", "tomorrow"], "'cropplan rounds --help'"),
        (["seen", "tom1"], "missing argument 'STAGE'"),
        (["rounds", "--jsn"], "did you mean '--json'?"),
    ],
)
def test_misuse_says_in_one_line_what_is_meant(typed: list[str], says: str) -> None:
    """Exit 2; the line names the command whose help says more."""
    said = spoken(lambda: run(typed))
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert says in said.err
