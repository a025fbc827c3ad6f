"""A house whose work goes to a calendar server, and a hand that ticks in a list in memory."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from cropplan.desk import syncing
from cropplan.desk.desk import Desk
from cropplan.desk.syncing import Report
from cropplan.holding.entry import Done, DutyAdded, Entry, OwnDuty, Picked, Voided
from cropplan.holding.synced import TaskList
from cropplan.holding.task import SubjectKind, TaskKey, subject
from cropplan.holding.turns import turn_of
from cropplan.record import synced
from cropplan.record.store import open_record
from cropplan.sync.storage import Resource, Storage
from tests.builders import START, after, bare_house, on, standing
from tests.clients.sync.phone import ticked, unticked, value

#: A morning three days after the house was put in.
MORNING = datetime(2026, 3, 5, 7, 0, tzinfo=UTC)


@dataclass(slots=True, kw_only=True)
class Clock:
    """A clock that a test can set."""

    now: datetime = MORNING

    def __call__(self) -> datetime:
        """The moment now."""
        return self.now

    def days_later(self, days: int) -> None:
        """Let days pass."""
        self.now += timedelta(days=days)


def chores(count: int, *, every_days: int = 40, first: int = 1) -> list[Entry]:
    """So many duties of the grower's own, each about a lamp of the house."""
    return on(
        START,
        *[
            DutyAdded(
                duty=OwnDuty(
                    id=f"own-{n}",
                    code=f"o{n}",
                    text=f"Wipe lamp {n}",
                    subject=subject(SubjectKind.HOUSE, "north"),
                    begins=after(n % 10),
                    every_days=every_days,
                )
            )
            for n in range(first, first + count)
        ],
    )


def tomatoes() -> list[Entry]:
    """Two tomatoes that are picked together."""
    return [*standing("tom1", "B1"), *standing("tom2", "B2")]


def desk_at(path: Path, *days: list[Entry], clock: Clock | None = None) -> Desk:
    """A desk over a new record with a house, and a list to be kept in step."""
    record = open_record(path, create=True)
    record.append([*bare_house(), *(entry for day in days for entry in day)])
    synced.choose(record, TaskList(address="memory:", user="ivy", name="Work"))
    return Desk(record=record, clock=clock or Clock())


def in_step(desk: Desk, storage: Storage, **more: object) -> Report:
    """A run that comes to its end with nothing left to complain of."""
    report = syncing.sync(desk, storage, **more)  # type: ignore[arg-type]
    assert (report.stopped, report.faults) == (None, {})
    return report


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """A hand that looks at a list and ticks in it, whatever storage holds it."""

    storage: Storage

    def all(self) -> list[Resource]:
        """All that is in the list."""
        return self.storage.read(sorted(self.storage.look(None).etags))

    def names(self) -> list[str]:
        """What all of it is called."""
        return [value(one.content.decode(), "SUMMARY") or one.path for one in self.all()]

    def find(self, name: str) -> Resource:
        """The one task at that path, or whose summary begins so."""
        found = [
            one
            for one in self.all()
            if one.path == name or (value(one.content.decode(), "SUMMARY") or "").startswith(name)
        ]
        assert len(found) == 1, f"{len(found)} tasks are '{name}'"
        return found[0]

    def text(self, name: str) -> str:
        """The text of that task."""
        return self.find(name).content.decode()

    def put(self, name: str, text: str) -> None:
        """Write a task back."""
        one = self.find(name)
        assert one.etag is not None
        self.storage.replace(one.path, text.encode(), one.etag)

    def tick(self, name: str, way: str = "all three", *, at: str = "20260305T061500Z") -> None:
        """Tick it."""
        self.put(name, ticked(self.text(name), way, at=at))

    def untick(self, name: str) -> None:
        """Take its tick away."""
        self.put(name, unticked(self.text(name)))

    def remove(self, name: str) -> None:
        """Delete it."""
        one = self.find(name)
        assert one.etag is not None
        self.storage.remove(one.path, one.etag)


def standing_entries(desk: Desk) -> list[Entry]:
    """The journal without what was undone."""
    voided = desk.record.voided()
    return [
        entry
        for entry in desk.record.journal()
        if entry.id not in voided and not isinstance(entry.act, Voided)
    ]


def done_days(desk: Desk, duty: str) -> list[date]:
    """The days for which a duty stands written as done, entry by entry."""
    return [
        entry.happened
        for entry in standing_entries(desk)
        if isinstance(entry.act, Done) and entry.act.duty == duty
    ]


def picks(desk: Desk) -> list[tuple[str, date]]:
    """What stands written as picked, and when."""
    return [
        (entry.act.tag, entry.happened)
        for entry in standing_entries(desk)
        if isinstance(entry.act, Picked)
    ]


def open_turn(desk: Desk, key: TaskKey) -> int:
    """The number of the open turn of a key's duty and subject."""
    return turn_of(desk.record.snapshot(), key.duty, key.subject).number
