"""A terminal for tests: what is typed, on which day, and what comes back on either stream."""

from __future__ import annotations

import io
import json
import os
import shlex
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Sequence
from contextlib import closing, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from cropplan.cli.root import run

DAY = date(2026, 3, 2)
CHECKOUT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a command printed, and the code it left with."""

    out: str
    err: str
    code: int

    @property
    def value(self) -> Any:
        """The JSON value on standard output."""
        return json.loads(self.out)


@dataclass(slots=True, kw_only=True)
class Terminal:
    """Types commands at one record, on a day that the test sets."""

    record: Path
    day: date = DAY
    moments: int = field(default=0)

    def clock(self) -> datetime:
        """Half past seven, a second later each time it is asked, as clocks are."""
        self.moments += 1
        morning = datetime(self.day.year, self.day.month, self.day.day, 7, 30, tzinfo=UTC)
        return morning + timedelta(seconds=self.moments)

    def type(self, line: str) -> Said:
        """Type a command without `cropplan` before it, in this process."""
        words = ["--record", str(self.record), *shlex.split(line)]
        return spoken(lambda: run(words, self.clock))

    def done(self, line: str) -> str:
        """Type a command that must succeed; gives what it printed."""
        said = self.type(line)
        assert (said.code, said.err) == (0, ""), (line, said)
        return said.out

    def lines(self, more: str = "") -> list[dict[str, Any]]:
        """The lines of the rounds, in order."""
        shown: dict[str, list[dict[str, Any]]] = json.loads(self.done(f"rounds --json {more}"))
        return shown["lines"]

    def rounds(self, more: str = "") -> dict[str, dict[str, Any]]:
        """The most pressing line of each handle."""
        return {line["handle"]: line for line in reversed(self.lines(more))}


def spoken(act: Callable[[], int]) -> Said:
    """What an act prints, and its code."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = act()
    return Said(out=out.getvalue(), err=err.getvalue(), code=code)


def in_a_process(words: Sequence[str], **more: Any) -> Said:
    """Type a command at the real program, in a process of its own."""
    env = {**os.environ, "COLUMNS": "80", "PYTHONPATH": str(CHECKOUT)}
    env.pop("CROPPLAN_RECORD", None)
    ended = subprocess.run(
        [sys.executable, "-m", "cropplan", *words],
        capture_output=True,
        encoding="utf-8",
        env=env,
        check=False,
        **more,
    )
    return Said(out=ended.stdout, err=ended.stderr, code=ended.returncode)


def content_of(record: Path) -> list[str]:
    """All that a record holds, as SQL text; empty when there is none."""
    if not record.exists():
        return []
    with closing(sqlite3.connect(f"{record.as_uri()}?mode=ro", uri=True)) as connection:
        return list(connection.iterdump())


def small_house(terminal: Terminal) -> None:
    """A house with buckets, a tray and fish, and a tomato of unknown age that bears."""
    terminal.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin")
    terminal.done("loop add main --volume 1200L --fish rainbow-trout --count 40 --feed 60g")
    terminal.done("place add B1-B5 --kind bucket --medium perlite --filled 2026-01-10")
    terminal.done("place add T1 --kind tray --holds 40")
    terminal.done("bring-in tomato 1 --in B1 --stage fruiting --age-unknown")
