"""Freeze a record of today's version: run once when a version is released, never again.

    python tests/unit/record/old/freeze.py

writes `vN.db` and its export `vN.jsonl` beside this file, N being today's version, from a story
that uses every kind of entry. It refuses to overwrite a frozen file.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import uuid
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import get_args

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from record_builders import NOW, entry, lived_in, notice, struck  # noqa: E402

from cropplan.holding.entry import (  # noqa: E402
    Act,
    Drained,
    Fed,
    LoopTurned,
    Lost,
    Marked,
    Moved,
    Named,
    PlaceRetired,
    PlaceSet,
    Pulled,
    Tended,
    Tested,
    Voided,
)
from cropplan.holding.house import Failing  # noqa: E402
from cropplan.holding.loop import LoopState  # noqa: E402
from cropplan.holding.place import Care  # noqa: E402
from cropplan.holding.synced import Mark, SyncedTask, TaskList  # noqa: E402
from cropplan.holding.water_acts import ToppedUp, Treated, Weighed, WentWithout  # noqa: E402
from cropplan.record import keys, synced  # noqa: E402
from cropplan.record.backup import backup  # noqa: E402
from cropplan.record.exchange import JOURNAL_FILE, export  # noqa: E402
from cropplan.record.schema import VERSION  # noqa: E402
from cropplan.record.store import Record, open_record  # noqa: E402

SUMMER = date(2026, 6, 1)


def story() -> list[list[object]]:
    """Entries, command by command."""
    return [
        lived_in(),
        [struck("tom3", parent="tom2"), entry(Lost(tag="tom3", count=1, why="damping off"))],
        [
            entry(Moved(tag="tom2", place="B2"), SUMMER),
            entry(Named(tags=("tom2",), cultivar="Ida")),
        ],
        [entry(Marked(tag="tom2", mother=True), note="the sweetest; keep it going ☂")],
        [entry(Tended(places=("B1",), care=Care.CHANGE, medium="clay"), SUMMER, by="Isla")],
        [entry(PlaceSet(place="T1", holds=30)), entry(PlaceRetired(place="B1"), SUMMER)],
        [entry(Fed(loop="tank", grams=31.0), SUMMER), entry(Drained(loop="tank", litres=4.0))],
        [
            entry(Weighed(loop="tank", count=8, mean_g=142.0), SUMMER),
            entry(ToppedUp(loop="tank", litres=21.5), SUMMER),
            entry(Drained(loop="tank", litres=6.0, vessel=True), date(2026, 6, 2)),
            entry(Drained(loop="tank", litres=5.0, beds=("B2",)), date(2026, 6, 4)),
        ],
        [
            entry(Treated(loop="tank", what="salt", no_water_until=date(2026, 6, 20)), SUMMER),
            entry(WentWithout(house="lean-to", what=Failing.POWER), date(2026, 6, 3)),
            entry(Tested(loop="tank", values={"ammonia": 0.5}, again=True), date(2026, 6, 4)),
        ],
        [entry(LoopTurned(loop="tank", state=LoopState.FALLOW), SUMMER)],
        [entry(Pulled(tag="tom2", why="disease"), date(2026, 9, 9))],
        [entry(Fed(loop="tank", grams=310.0), SUMMER)],
    ]


def let_in(record: Record) -> None:
    """A phone that has sent a tick, and a calendar's key that was taken back."""
    phone, _ = keys.add(record, "phone by the door", keys.KeyKind.PHONE, made=SUMMER)
    keys.add(record, "wall", keys.KeyKind.FEED, made=SUMMER, house="lean-to", works=("media",))
    keys.revoke(record, "wall", SUMMER)
    keys.once(record, "8d0b6a58", phone, NOW, lambda: ("nothing to write",))


def in_step(record: Record) -> None:
    """A list on a calendar server: one task open there, one ticked, one whose tick asks."""
    chosen = TaskList(address="https://dav.example/ivy/work/", user="ivy", name="Work", token="t1")  # noqa: S106
    synced.choose(record, chosen)
    sent = SyncedTask(
        uid="5d8c0f9a-3c0b-5c52-9e1e-0c64ec8a3a01",
        summary="Pick tomatoes: B2",
        keys=("pick/planting:tom2/1",),
        href="/ivy/work/1.ics",
        etag='"e1"',
        mark=Mark.OPEN,
        digest="d1",
        sent=NOW,
        told=NOW,
    )
    ticked = replace(
        sent,
        uid="5d8c0f9a-3c0b-5c52-9e1e-0c64ec8a3a02",
        href="/ivy/work/2.ics",
        mark=Mark.DONE,
        stamp=NOW,
        closed=SUMMER,
        first_entry=2,
        last_entry=3,
    )
    asking = replace(ticked, uid="5d8c0f9a-3c0b-5c52-9e1e-0c64ec8a3a03", question="how many?")
    synced.keep(record, [sent, ticked, asking])


def main() -> None:
    """Write the two files."""
    file = HERE / f"v{VERSION}.db"
    if file.exists():
        raise SystemExit(f"{file} is frozen already; a change of the tables is a new version")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "house.db"
        namespace = uuid.UUID("2c6f7c1e-55b0-4d0e-a1c5-0b8f6d0f9a21")
        with open_record(path, create=True, namespace=namespace) as record:
            for command in story():
                record.append(command)  # type: ignore[arg-type]
            record.append([entry(Voided(entry=record.revision))])
            unused = set(get_args(Act)) - {type(e.act) for e in record.journal()}
            if unused:
                raise SystemExit(f"the story lacks {', '.join(sorted(a.__name__ for a in unused))}")
            record.publish([notice("a/1", "uid-a", 3), notice("b/1", "uid-b")], ["b/1"])
            let_in(record)
            in_step(record)
        backup(path, file)
        export(path, Path(folder) / "out")
        shutil.copy(Path(folder) / "out" / JOURNAL_FILE, file.with_suffix(".jsonl"))


if __name__ == "__main__":
    main()
