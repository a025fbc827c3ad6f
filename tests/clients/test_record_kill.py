"""A power cut, two hundred times: what was acknowledged is there, and the record is sound."""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path

import pytest

from cropplan.holding.entry import (
    Act,
    Began,
    Entry,
    Fed,
    HouseSet,
    LoopSet,
    Lost,
    PlacesAdded,
    Pulled,
    Voided,
)
from cropplan.holding.house import House
from cropplan.holding.loop import Loop
from cropplan.holding.notice import Published
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Origin, Stage
from cropplan.record import in_place, migrations, schema, undo
from cropplan.record.audit import check
from cropplan.record.backup import backup
from cropplan.record.store import Record, open_record

KILLS = 200
#: The longest life of a writer, long enough for several commits on a quiet machine. [s]
LIFE = 0.06
FIRST = date(2026, 1, 1)
#: Loaded before the first fork, so that no life is spent on imports.
LOADED = (in_place, migrations, schema, undo)


def entries(*acts: Act, day: date = FIRST) -> list[Entry]:
    """Entries as the desk makes them."""
    written = datetime(2026, 1, 1, 7, 0, tzinfo=UTC)
    return [Entry(happened=day, written=written, act=act) for act in acts]


def house(path: Path) -> None:
    """A record of a house with a loop and one large tray."""
    with open_record(path, create=True) as record:
        record.append(
            entries(
                HouseSet(house=House(name="h", latitude=57.7, longitude=-3.2, zone="UTC")),
                LoopSet(loop=Loop(name="tank", house="h", volume_l=900.0, species="tench")),
                PlacesAdded(codes=("T1",), house="h", kind=PlaceKind.TRAY, holds=100_000),
            )
        )


def commands(record: Record, life: int) -> Iterator[list[Act]]:
    """What one life types: single entries, whole batches; some begin with an undo."""
    if life % 4 == 1:
        yield [Fed(loop="tank", grams=9.5)]
        yield [Voided(entry=record.revision)]
    while True:
        tag = record.next_tag("tom")
        struck = Began(
            tag=tag,
            crop="tomato",
            origin=Origin.CUTTING,
            count=4,
            place="T1",
            stage=Stage.STRUCK,
            started=FIRST,
        )
        yield [struck]
        yield [Lost(tag=tag, count=1), Fed(loop="tank", grams=8.0), Pulled(tag=tag)]


def told(number: int) -> Published:
    """What calendars were told after an entry."""
    now = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=number)
    return Published(
        key="feed/loop:tank/1",
        uid="uid-1",
        sequence=number,
        created=datetime(2026, 1, 1, tzinfo=UTC),
        stamp=now,
        digest=f"d{number}",
        day=FIRST,
        tentative=False,
    )


def live(path: Path, life: int, out: int) -> None:
    """Type until killed; say each number only after its commit."""
    with open_record(path) as record:
        for acts in commands(record, life):
            _, written = record.append(entries(*acts))
            os.write(out, b"%d\n" % written[-1].id)
            record.publish([told(written[-1].id)], [])
            os.write(out, b"p%d\n" % written[-1].id)


def cut_short(work: Callable[[int], None], seconds: float, *, started: bool) -> list[str]:
    """Do `work(out)` in a process of its own, kill it, and give the lines it acknowledged.

    started : the seconds count from the first acknowledgement, not from the process's birth.
    """
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            work(writing)
        finally:
            # Whatever happens, a child must never go on as a second test runner.
            os._exit(1)
    os.close(writing)
    with os.fdopen(reading, "rb") as lines:
        acknowledged = lines.readline() if started else b""
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
        acknowledged += lines.read()
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the writer failed by itself"
    # The last piece has no line end: it is empty, or a number cut in two.
    return acknowledged.decode().split("\n")[:-1]


def test_two_hundred_kills_lose_nothing_acknowledged(tmp_path: Path) -> None:
    """`kill -9` at any moment, on one and the same record: check passes, every commit is there."""
    path = tmp_path / "house.db"
    house(path)
    chance = random.Random(20260301)  # noqa: S311 - moments, not secrets
    lives_with_a_commit, last_entry, last_told = 0, 3, 0
    for kill in range(KILLS):
        lines = cut_short(
            partial(live, path, kill), chance.uniform(0.0, LIFE), started=kill % 2 == 1
        )
        entered = [int(line) for line in lines if not line.startswith("p")]
        published = [int(line[1:]) for line in lines if line.startswith("p")]
        lives_with_a_commit += bool(entered)
        last_entry = max([last_entry, *entered])
        last_told = max([last_told, *published])
        with open_record(path) as record:
            assert record.revision >= last_entry
            notices = record.published()
            assert not last_told or notices["feed/loop:tank/1"].sequence >= last_told
            if kill % 20 == 0:
                assert check(record) == []
            last_entry = record.revision
    with open_record(path) as record:
        assert check(record) == []
        assert [entry.id for entry in record.journal()] == list(range(1, last_entry + 1))
        assert record.voided()
    # A test that killed every writer before it wrote would show nothing.
    assert lives_with_a_commit >= KILLS / 2
    assert {file.name for file in tmp_path.iterdir()} == {"house.db"}


@pytest.mark.parametrize("kill", range(20))
def test_a_record_killed_while_it_is_made_is_there_whole_or_not_at_all(
    tmp_path: Path, kill: int
) -> None:
    """No half-made file stands where the next command would take it for a record."""
    path = tmp_path / "house.db"

    def make(out: int) -> None:
        open_record(path, create=True).close()
        os.write(out, b"made\n")
        time.sleep(60)

    acknowledged = cut_short(make, kill * 0.002, started=False)
    if acknowledged:
        assert path.exists()
    with open_record(path, create=True) as record:
        assert check(record) == []


@pytest.mark.parametrize("kill", range(20))
def test_a_backup_killed_half_way_leaves_the_old_one(tmp_path: Path, kill: int) -> None:
    """A backup is replaced whole or not at all."""
    path, to = tmp_path / "house.db", tmp_path / "backup.db"
    house(path)
    backup(path, to)

    def copy(out: int) -> None:
        while True:
            backup(path, to, overwrite=True)
            os.write(out, b"copied\n")

    cut_short(copy, kill * 0.001, started=kill % 2 == 1)
    with open_record(to) as record:
        assert check(record) == []
        assert record.revision == 3
