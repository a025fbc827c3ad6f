"""The command line as a person uses it, in this process."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from cropplan.cli.root import run
from cropplan.desk.desk import Desk
from cropplan.record import synced
from cropplan.record.store import open_record
from tests.builders import bare_house
from tests.clients.sync.house import Clock, chores, tomatoes
from tests.clients.sync.phone import Phone
from tests.clients.sync.server import USER, Server


@dataclass(frozen=True, slots=True)
class Said:
    """What a command printed, and its exit code."""

    code: int
    out: str
    err: str


@dataclass(slots=True, kw_only=True)
class Terminal:
    """Commands typed over one record."""

    record: Path
    clock: Clock
    capture: pytest.CaptureFixture[str]

    def type(self, *words: str) -> Said:
        """Type a command; `--record` is added."""
        self.capture.readouterr()
        code = run([*words, "--record", str(self.record)], clock=self.clock)
        printed = self.capture.readouterr()
        return Said(code, printed.out, printed.err)

    def done(self, *words: str) -> str:
        """Type a command that succeeds; what it printed."""
        said = self.type(*words)
        assert said.code == 0, said.err
        return said.out

    def sync(self, *words: str) -> dict[str, Any]:
        """Type `calendar sync` and read its JSON."""
        said: dict[str, Any] = json.loads(self.done("calendar", "sync", "--json", *words))
        return said

    def desk(self) -> Desk:
        """The desk over the record, for looking into it."""
        return Desk(record=open_record(self.record), clock=self.clock)


def begun(room: Path, capture: pytest.CaptureFixture[str]) -> Terminal:
    """A house with a dozen chores and two tomatoes, three days old."""
    path = room / "house.db"
    with open_record(path, create=True) as record:
        record.append([*bare_house(), *chores(12), *tomatoes()])
    return Terminal(record=path, clock=Clock(), capture=capture)


def connect(terminal: Terminal, server: Server, name: str) -> Phone:
    """Choose a new list on the server, and a phone that looks at it."""
    terminal.done(
        "calendar", "sync", "--server", server.url, "--user", USER, "--calendar", name, "--make"
    )
    with open_record(terminal.record) as record:
        chosen = synced.task_list(record)
    assert chosen is not None
    return Phone(address=chosen.address)
