"""A house served for a test: a record of its own, keys, and the real server in its own process."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from cropplan.desk import keys
from cropplan.desk.desk import Desk, open_desk
from cropplan.desk.example import EXAMPLE_MOMENT, example_dir
from cropplan.desk.keys import KeyKind
from cropplan.record.exchange import JOURNAL_FILE, import_journal
from cropplan.record.store import open_record
from tests.builders import bare_house, bearing

ROOT = Path(__file__).parents[3]
_STARTER = Path(__file__).with_name("serve_for_tests.py")


def example_record(path: Path) -> Path:
    """The example house's record, made anew from its journal."""
    import_journal(example_dir() / JOURNAL_FILE, path)
    return path


def small_record(path: Path) -> Path:
    """A record of a few entries: a house on one loop with a tomato in fruit."""
    with open_record(path, create=True) as record:
        for entries in (bare_house(), bearing("tom1", "B1")):
            record.append(entries)
    return path


def desk_over(path: Path) -> Desk:
    """The desk over a record on the example's morning."""
    return open_desk(path, clock=lambda: EXAMPLE_MOMENT)


def free_port() -> int:
    """A port that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def make_key(record: Path, label: str, kind: KeyKind, **what: object) -> str:
    """A key, and the path it is let in by."""
    desk = desk_over(record)
    with desk.record:
        made = keys.new_key(desk, label, kind, **what)  # type: ignore[arg-type]
        path = made.addresses[-1].url.split("/", 3)[3]
    return f"/{path}"


@dataclass(slots=True)
class Served:
    """A running server.

    feed, phone : paths of a calendar's and a phone's key. log : the file its lines go to.
    """

    record: Path
    port: int
    feed: str
    phone: str
    log: Path
    process: subprocess.Popen[bytes]
    host: str = "127.0.0.1"
    secrets: list[str] = field(default_factory=list)

    @property
    def origin(self) -> str:
        """What a browser on one of its pages sends as Origin."""
        return f"http://{self.host}:{self.port}"

    def lines(self) -> list[str]:
        """What the server has written down so far."""
        return self.log.read_text(encoding="utf-8").splitlines()

    def alive(self) -> bool:
        """Whether the process still runs."""
        return self.process.poll() is None

    def memory_kb(self) -> int:
        """Memory the process holds. [kB]"""
        status = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii")
        return int(next(line.split()[1] for line in status.splitlines() if "VmRSS" in line))

    def entries(self) -> list[tuple[str, str | None]]:
        """The journal's acts and who wrote them, oldest first."""
        desk = desk_over(self.record)
        with desk.record:
            return [(type(entry.act).__name__, entry.by) for entry in desk.record.journal()]


@contextmanager
def serving(
    record: Path, *, names: Sequence[str] = (), options: Mapping[str, object] | None = None
) -> Iterator[Served]:
    """Serve a record, with a calendar's and a phone's key, until the test is done with it."""
    port = free_port()
    feed = make_key(record, "kitchen wall", KeyKind.FEED)
    phone = make_key(record, "Mina", KeyKind.PHONE)
    log = record.with_suffix(".log")
    told = json.dumps({"port": port, "names": list(names), **(options or {})})
    with log.open("wb") as out:
        process = subprocess.Popen(
            [sys.executable, str(_STARTER), str(record), told],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=out,
            stderr=out,
        )
    served = Served(record=record, port=port, feed=feed, phone=phone, log=log, process=process)
    served.secrets = [feed.split("/")[2], phone.split("/")[2]]
    try:
        _wait_for(served)
        yield served
    finally:
        process.terminate()
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _wait_for(served: Served) -> None:
    until = time.monotonic() + 20
    while time.monotonic() < until:
        if not served.alive():
            raise AssertionError(f"the server ended: {served.log.read_text()}")
        try:
            socket.create_connection(("127.0.0.1", served.port), 1).close()
        except OSError:
            time.sleep(0.05)
        else:
            return
    raise AssertionError("the server did not begin to listen")
