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
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from cropplan.desk import keys
from cropplan.desk.desk import Desk, open_desk
from cropplan.desk.keys import KeyKind
from cropplan.holding.entry import DutyAdded, Entry, LoopSet, Lost, OwnDuty, Picked
from cropplan.holding.planting import Stage
from cropplan.holding.task import Keeps, Part, SubjectKind, subject
from cropplan.record.store import open_record
from tests.builders import LOOP, START, bare_house, bearing, on, standing, struck

ROOT = Path(__file__).parents[3]
_STARTER = Path(__file__).with_name("serve_for_tests.py")


#: The morning on which the tests look at the house, and the day it is.
MOMENT = datetime(2026, 6, 10, 6, 30, tzinfo=ZoneInfo("Europe/London"))
TODAY = MOMENT.date()


def house_record(path: Path) -> Path:
    """A record of a house on one loop, with work of every kind that a phone can answer.

    Two tomatoes in fruit (tom1 in B1 was picked twice, tom2 stands in B2), six lettuces to cut,
    cuttings of tom1 in a tray (tom3), others that failed (tom4), and three duties of the grower's
    own that fall due today.
    """
    own = [
        OwnDuty(
            id=f"own-{number}",
            code=f"o{number}",
            text=text,
            subject=subject(SubjectKind.HOUSE, "north"),
            begins=TODAY,
            every_days=5,
            rule=None,
            keeps=Keeps.STAYS,
            part=Part.ANY,
            minutes=5.0,
        )
        for number, text in enumerate(("wipe the lamps", "sweep the path", "oil the vents"), 1)
    ]
    commands: list[list[Entry]] = [
        bare_house(),
        on(START, LoopSet(loop=replace(LOOP, feed_g=230.0))),
        bearing("tom1", "B1"),
        standing("tom2", "B2"),
        standing("let1", "W1", stage=Stage.PICKING, crop="lettuce", count=6),
        on(date(2026, 6, 1), Picked(tag="tom1", amount=0.4), by="Ines"),
        on(date(2026, 6, 5), Picked(tag="tom1", amount=0.6), by="Mina"),
        struck("tom3", date(2026, 5, 20), parent="tom1"),
        struck("tom4", date(2026, 5, 1), parent="tom1", place="T2"),
        on(date(2026, 5, 20), Lost(tag="tom4", count=4, why="damping off")),
        *(on(date(2026, 6, 9), DutyAdded(duty=duty)) for duty in own),
    ]
    with open_record(path, create=True) as record:
        for entries in commands:
            record.append(entries)
    return path


def desk_over(path: Path) -> Desk:
    """The desk over a record on that morning."""
    return open_desk(path, clock=lambda: MOMENT)


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
    settings = {"port": port, "names": list(names), "morning": MOMENT.isoformat()}
    told = json.dumps({**settings, **(options or {})})
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
