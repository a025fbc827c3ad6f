"""Two programs that are not ours, vdirsyncer and todoman, tick in the same list.

vdirsyncer keeps a folder in step with the server, todoman edits the files in it; both from PyPI.
"""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from cropplan.desk.sync_list import PASSWORD_VARIABLE
from tests.clients.sync.house import done_days
from tests.clients.sync.phone import Phone, is_done, value
from tests.clients.sync.server import PASSWORD, USER, Server
from tests.clients.sync.terminal import Terminal, begun, connect

VDIRSYNCER = """
[general]
status_path = "{room}/status/"
[pair work]
a = "here"
b = "there"
collections = null
[storage here]
type = "filesystem"
path = "{room}/tasks/"
fileext = ".ics"
[storage there]
type = "caldav"
url = "{address}"
username = "{user}"
password = "{password}"
item_types = ["VTODO"]
"""
TODOMAN = """
path = "{room}/tasks*"
cache_path = "{room}/todoman.sqlite3"
default_list = "tasks"
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Laptop:
    """A folder of tasks, kept in step with the server by vdirsyncer and edited by todoman."""

    room: Path
    phone: Phone

    def __post_init__(self) -> None:
        for module in ("vdirsyncer", "todoman"):
            if importlib.util.find_spec(module) is None:
                pytest.fail(f"{module} is missing: pip install 'cropplan[test]'")
        (self.room / "tasks").mkdir(parents=True)
        (self.room / "vdirsyncer").write_text(
            VDIRSYNCER.format(
                room=self.room, address=self.phone.address, user=USER, password=PASSWORD
            )
        )
        (self.room / "todoman.py").write_text(TODOMAN.format(room=self.room))
        self._run("vdirsyncer", "discover", "--no-list", say="y\n")

    def in_step(self) -> None:
        """Bring the folder and the server into step."""
        self._run("vdirsyncer", "sync")

    def todo(self, *words: str) -> str:
        """A command of todoman."""
        return self._run("todoman", *words)

    def file_of(self, uid: str) -> Path:
        """The file of one task."""
        return self.room / "tasks" / f"{uid}.ics"

    def _run(self, program: str, *words: str, say: str = "") -> str:
        before = {
            "vdirsyncer": ["-m", "vdirsyncer", "-c", str(self.room / "vdirsyncer")],
            "todoman": ["-m", "todoman", "--config", str(self.room / "todoman.py")],
        }
        run = subprocess.run(
            [sys.executable, *before[program], *words],
            input=say,
            env={**os.environ, "TZ": "UTC"},
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )
        assert run.returncode == 0, run.stdout + run.stderr
        return run.stdout


@pytest.fixture
def terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Terminal:
    """A record with work in it, and the password where a grower would put it."""
    monkeypatch.setenv(PASSWORD_VARIABLE, PASSWORD)
    return begun(tmp_path, capsys)


def test_what_todoman_ticks_is_written_and_what_we_tick_it_sees(
    terminal: Terminal, server: Server, tmp_path: Path
) -> None:
    """There, ticked, back, written; then done at the terminal, there, and seen as done."""
    phone = connect(terminal, server, "Laptop")
    laptop = Laptop(room=tmp_path / "laptop", phone=phone)
    laptop.in_step()
    listed = laptop.todo("--porcelain", "list")
    assert "Wipe lamp 3" in listed

    lamp3, lamp4 = phone.find("Wipe lamp 3"), phone.find("Wipe lamp 4")
    number = next(line["id"] for line in _porcelain(listed) if line["summary"] == "Wipe lamp 3")
    laptop.todo("done", str(number))
    laptop.in_step()
    # todoman writes all three, raises SEQUENCE, and its clock is the real one: for a house whose
    # day is in the past such a tick is one of today.
    assert is_done(phone.find("Wipe lamp 3").text)
    assert terminal.sync()["said"] == ["o3: Wipe lamp 3, done on Thu 5 Mar"]
    assert len(done_days(terminal.desk(), "own-3")) == 1

    terminal.done("done", "o4")
    terminal.done("later", "o5", "--to", "2026-03-12")
    assert terminal.sync()["changed"] == 2
    laptop.in_step()
    open_now = {line["summary"] for line in _porcelain(laptop.todo("--porcelain", "list"))}
    assert "Wipe lamp 5" in open_now
    assert not {"Wipe lamp 3", "Wipe lamp 4"} & open_now
    assert value(laptop.file_of(lamp4.uid).read_text(), "STATUS") == "COMPLETED"
    assert laptop.file_of(lamp3.uid).exists()


def test_what_vdirsyncer_removes_is_asked_about(
    terminal: Terminal, server: Server, tmp_path: Path
) -> None:
    """A file deleted in the folder is a task dismissed, not done."""
    phone = connect(terminal, server, "Folder")
    laptop = Laptop(room=tmp_path / "laptop", phone=phone)
    laptop.in_step()
    laptop.file_of(phone.find("Wipe lamp 3").uid).unlink()
    laptop.in_step()
    said = terminal.sync()
    assert [one["handle"] for one in said["questions"]] == ["o3"]
    assert done_days(terminal.desk(), "own-3") == []


def _porcelain(listed: str) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(listed)
    return found
