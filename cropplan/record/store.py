"""The record: the one owner of a connection, and the only place where a transaction is opened."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from cropplan.holding.holding import Holding
from cropplan.holding.house import DayTemperature
from cropplan.holding.lesson import RootingLesson, StageLesson
from cropplan.holding.logged import Logged
from cropplan.holding.planting import Planting
from cropplan.problems import Refusal
from cropplan.record import journal, lessons, notices, projection
from cropplan.record.connect import connect, looking, refuse_stranger, version_of, writing
from cropplan.record.faults import told_of
from cropplan.record.schema import VERSION, bring_up_to_date, make

if TYPE_CHECKING:
    import uuid

    from cropplan.holding.entry import Entry
    from cropplan.holding.notice import Published


def open_record(path: Path, *, create: bool = False, namespace: uuid.UUID | None = None) -> Record:
    """Open the record at `path`; with `create`, make an empty one where there is no file.

    namespace : of a new record's calendar UIDs; a random one unless given.
    Raises Refusal when the file is missing, in use or cannot be written; BadData when it is not
    a record, is damaged, or was written by a newer cropplan.
    """
    with told_of(path):
        if create and not path.exists():
            make(path, namespace=namespace)
        refuse_stranger(path)
        connection = connect(path)
        try:
            if version_of(connection) != VERSION:
                bring_up_to_date(path, connection)
            # A backup put in place by hand comes without the write-ahead log.
            connection.execute("PRAGMA journal_mode = WAL")
        except BaseException:
            connection.close()
            raise
    return Record(path, connection)


class Record:
    """An open record. Every method is one transaction; what is refused changes nothing."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self.connection = connection

    def __enter__(self) -> Record:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self.connection.close()

    # What is held ---------------------------------------------------------------------------

    def snapshot(self, *, living_only: bool = False) -> Holding:
        """Everything held, read from the projection alone.

        living_only : leave out plantings that ended, and their turns, so that the cost does not
            grow with the years.
        """
        with told_of(self.path), looking(self.connection):
            if living_only:
                return projection.read_living(self.connection)
            return projection.read_holding(self.connection)

    def append(self, entries: Sequence[Entry]) -> tuple[Holding, list[Entry]]:
        """Write entries, all or none; returns what is then held and the entries as numbered.

        Raises Refusal, with nothing changed, when one of them cannot follow what is held, or
        when a later entry builds on one to be undone.
        """
        # The morning list only reads.
        from cropplan.holding.entry import Voided
        from cropplan.holding.replay import apply

        with told_of(self.path), writing(self.connection):
            before = projection.read_holding(self.connection)
            first = journal.last_id(self.connection) + 1
            numbered = [replace(entry, id=n) for n, entry in enumerate(entries, start=first)]
            if any(isinstance(entry.act, Voided) for entry in numbered):
                after = self._append_undoing(numbered)
            else:
                after = before
                for entry in numbered:
                    after = apply(after, entry)
                journal.insert(self.connection, numbered)
                readings = projection.temperatures_in(numbered)
                projection.write_table(self.connection, projection.TEMPERATURE, (), readings)
                logged = projection.logged_in(numbered)
                projection.write_table(self.connection, projection.WATER_LOG, (), logged)
            projection.write_holding(self.connection, before, after)
        return after, numbered

    def _append_undoing(self, numbered: Sequence[Entry]) -> Holding:
        # Rare, and the morning list only reads.
        from cropplan.holding.entry import TemperaturesRead
        from cropplan.record import undo

        earlier = journal.read_all(self.connection)
        undo.refuse_unless_undoable(earlier, numbered)
        after = undo.held_without(earlier, numbered)
        journal.insert(self.connection, numbered)
        together = [*earlier, *numbered]
        if any(isinstance(entry.act, TemperaturesRead) for entry in together):
            projection.write_table(
                self.connection,
                projection.TEMPERATURE,
                projection.read_table(self.connection, projection.TEMPERATURE),
                projection.temperatures_in(undo.standing(together)),
            )
        projection.write_table(
            self.connection,
            projection.WATER_LOG,
            projection.logged_in(undo.standing(earlier)),
            projection.logged_in(undo.standing(together)),
        )
        return after

    def temperatures(self, house: str, since: date) -> list[DayTemperature]:
        """What was read in a house from `since` on, by day."""
        with told_of(self.path):
            return projection.read_temperatures(self.connection, house, since)

    def water_log(self, since: date) -> list[Logged]:
        """What was fed, drained and added from `since` on, by day, of every loop."""
        with told_of(self.path):
            return projection.read_water_log(self.connection, since)

    def ended_since(self, since: date) -> list[Planting]:
        """The plantings that ended on or after a day."""
        with told_of(self.path):
            return projection.read_ended(self.connection, since)

    # The journal ----------------------------------------------------------------------------

    @property
    def revision(self) -> int:
        """The number of the latest entry; 0 when there is none. It rises with every change."""
        with told_of(self.path):
            return journal.last_id(self.connection)

    def journal(self, tag: str | None = None, last: int | None = None) -> list[Entry]:
        """Entries in the order written, undone ones and undos included.

        tag : only those about this planting. last : only so many, from the end.
        """
        with told_of(self.path):
            if tag is not None:
                return journal.read_about(self.connection, tag, last)
            if last is not None:
                return journal.read_last(self.connection, last)
            return journal.read_all(self.connection)

    def entry(self, number: int) -> Entry:
        """The entry of that number. Raises Refusal when there is none."""
        with told_of(self.path):
            found = journal.read_one(self.connection, number)
        if found is None:
            raise Refusal(f"there is no entry {number}; the last is {self.revision}")
        return found

    def voided(self) -> frozenset[int]:
        """The numbers of the entries that were undone."""
        with told_of(self.path):
            return frozenset(journal.voided(self.connection))

    def next_tag(self, letters: str) -> str:
        """A tag of these letters that no planting has or ever had, undone ones included."""
        return self.next_tags(letters, 1)[0]

    def next_tags(self, letters: str, count: int) -> list[str]:
        """So many new tags, in order."""
        with told_of(self.path):
            highest = journal.highest_number(self.connection, letters)
        return [f"{letters}{highest + n}" for n in range(1, count + 1)]

    # Lessons --------------------------------------------------------------------------------

    def lessons(self) -> tuple[list[StageLesson], list[RootingLesson]]:
        """What the record has taught of every crop."""
        with told_of(self.path):
            return lessons.read(self.connection)

    def keep_lessons(
        self, crop: str, stages: Iterable[StageLesson], rootings: Iterable[RootingLesson]
    ) -> None:
        """Keep what a crop has taught, in place of what it taught before."""
        with told_of(self.path), writing(self.connection):
            lessons.write(self.connection, crop, stages, rootings)

    def silences(self, days: int) -> list[tuple[date, date]]:
        """First and last day of each stretch of so many days or more without an entry."""
        with told_of(self.path):
            return lessons.silences(self.connection, days)

    # The calendar ---------------------------------------------------------------------------

    @property
    def namespace(self) -> uuid.UUID:
        """Under which this record's calendar UIDs are made; it never changes."""
        with told_of(self.path):
            return notices.namespace(self.connection)

    @property
    def made(self) -> datetime:
        """The moment the record was made. [UTC]"""
        with told_of(self.path):
            return notices.made(self.connection)

    def published(self) -> dict[str, Published]:
        """Every notice calendars were ever told of, by key, those that are gone included."""
        with told_of(self.path):
            return notices.read(self.connection)

    def withdrawn(self) -> frozenset[str]:
        """The keys of the notices that have left the calendar."""
        with told_of(self.path):
            return notices.withdrawn(self.connection)

    def publish(self, changed: Iterable[Published], gone: Iterable[str]) -> None:
        """Keep what calendars are now told; a notice that is gone is remembered as gone.

        Raises BadData when a notice would change its UID or lower its sequence.
        """
        with told_of(self.path), writing(self.connection):
            notices.write(self.connection, changed, gone)
