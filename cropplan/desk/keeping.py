"""Keeping the record safe: undo, check, backup, restore, export, import."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from cropplan.desk.desk import Desk, Outcome, day_done, learn_all, numbers, write
from cropplan.holding.entry import Entry, Voided
from cropplan.problems import Problem, Refusal
from cropplan.record.store import open_record
from cropplan.schedule.wording import day_text

#: How far back an undo without a number looks for something to undo. [entries]
_LOOK_BACK = 200


def undo(desk: Desk, number: int | None = None) -> Outcome:
    """Void an entry, or all that the last command wrote; everything derived follows.

    Raises Refusal when there is nothing to undo, or later entries build on it.
    """
    holding = desk.record.snapshot()
    voided = desk.record.voided()
    meant = _last_command(desk, voided) if number is None else [desk.record.entry(number)]
    day = day_done(desk, holding, None)
    # Later entries first, so that none is voided while another still builds on it.
    acts = [Voided(entry=entry.id) for entry in reversed(meant)]
    _, entries = write(desk, day, acts)
    said = tuple(
        f"undone: entry {entry.id}, {spoken(entry)} on {day_text(entry.happened)}"
        for entry in meant
    )
    return Outcome(said=said, entries=numbers(entries))


def _last_command(desk: Desk, voided: frozenset[int]) -> list[Entry]:
    standing = [
        entry
        for entry in desk.record.journal(last=_LOOK_BACK)
        if entry.id not in voided and not isinstance(entry.act, Voided)
    ]
    if not standing:
        raise Refusal("there is nothing to undo")
    # One command writes its entries in one moment.
    return [entry for entry in standing if entry.written == standing[-1].written]


def spoken(entry: Entry) -> str:
    """An entry's act in a few words."""
    from cropplan.record.acts import told

    return told(entry.act)


def check(desk: Desk) -> list[Problem]:
    """What is wrong with the record; empty when all is well."""
    from cropplan.record.audit import check as audit

    return audit(desk.record)


def backup(desk: Desk, to: Path, *, overwrite: bool = False) -> Outcome:
    """Copy the record, whole and consistent, while it is open."""
    from cropplan.record.backup import backup as copy

    copy(desk.record.path, to, overwrite=overwrite)
    return Outcome(said=(f"backed up to {to}",))


def restore(source: Path, record: Path) -> Outcome:
    """Put a backup in the place of the record; the record replaced is kept beside it."""
    from cropplan.record.backup import restore as put_back

    kept = put_back(source, record)
    said = [f"restored from {source}"]
    if kept is not None:
        said.append(f"the record that was there is kept as {kept.name}")
    return Outcome(said=tuple(said))


def export(desk: Desk, folder: Path, *, overwrite: bool = False) -> Outcome:
    """Write every table as CSV, and the whole record as JSON lines, into a folder."""
    from cropplan.record.exchange import export as write_out

    files = write_out(desk.record.path, folder, overwrite=overwrite)
    return Outcome(said=tuple(str(file) for file in files))


def import_file(file: Path, record: Path, clock: Callable[[], datetime]) -> Outcome:
    """Make the record, missing or empty so far, from the JSON lines of an export."""
    from cropplan.record.exchange import import_journal

    entries = import_journal(file, record)
    with open_record(record) as opened:
        learn_all(Desk(record=opened, clock=clock))
    return Outcome(said=(f"{record}: made of {entries} entries",))
