"""The record in forms that other programs read: a CSV file for each table, and JSON lines.

The JSON lines hold all that a record is made from: its identity, each entry of the journal, each
notice that calendars were told of. A record made from them equals the one they came from.
"""

from __future__ import annotations

import csv
import json
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

from cropplan.holding.entry import Entry
from cropplan.holding.notice import Published
from cropplan.problems import BadData, CropplanError, Refusal
from cropplan.record import acts, notices, undo
from cropplan.record.backup import put_aside
from cropplan.record.faults import told_of
from cropplan.record.in_place import put_new, put_over, workroom
from cropplan.record.plain import Unreadable, codec
from cropplan.record.rows import as_json
from cropplan.record.schema import make
from cropplan.record.store import Record, open_record

#: The name of the file that `import_journal` reads.
JOURNAL_FILE = "journal.jsonl"


def export(path: Path, folder: Path, *, overwrite: bool = False) -> list[Path]:
    """Write every table as CSV and the whole record as JSON lines into a folder.

    Returns the files written. Raises Refusal when the folder holds files already and
    `overwrite` is not asked for.
    """
    with open_record(path) as record, told_of(folder):
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()) and not overwrite:
            raise Refusal(f"{folder}: holds files already; name an empty folder or a new one")
        with workroom(folder / JOURNAL_FILE) as room:
            _write_tables(record, room)
            lines = "".join(f"{as_json(line)}\n" for line in _lines(record))
            (room / JOURNAL_FILE).write_text(lines, encoding="utf-8", newline="\n")
            made = sorted(room.iterdir())
            for file in made:
                put_over(file, folder / file.name)
    return [folder / file.name for file in made]


def import_journal(file: Path, into: Path) -> int:
    """Make the record `into` from JSON lines of `export`; returns how many entries it has.

    `into` must be missing or an empty record. All is made beside and then put in place.
    Raises BadData naming the line that cannot be read or cannot follow those before it.
    """
    with told_of(file):
        raw = file.read_bytes()
    try:
        content = _read(file, raw.decode("utf-8-sig"))
    except UnicodeDecodeError as fault:
        line = raw.count(b"\n", 0, fault.start) + 1
        raise BadData(f"{file}:{line}: is not UTF-8 text; name a file of an export") from None
    with told_of(into):
        occupied = into.exists()
        if occupied:
            _refuse_unless_empty(into)
        into.parent.mkdir(parents=True, exist_ok=True)
        with workroom(into) as room:
            made = room / "record"
            make(made, namespace=content.namespace, created=content.created)
            with open_record(made) as record:
                _fill(file, record, content)
            if occupied:
                put_aside(into, "replaced").unlink()
            put_new(made, into)
    return len(content.entries)


def _write_tables(record: Record, room: Path) -> None:
    # Costs many times what the rest of this does to load.
    from sqlite_utils import Database

    db = Database(record.connection, execute_plugins=False)
    for table in db.tables:
        with (room / f"{table.name}.csv").open("w", encoding="utf-8", newline="") as out:
            writer = csv.writer(out)
            writer.writerow([column.name for column in table.columns])
            writer.writerows(row.values() for row in table.rows)


def _lines(record: Record) -> Iterator[dict[str, Any]]:
    yield {
        "record": {
            "namespace": str(record.namespace),
            "created": notices.made(record.connection).isoformat(),
        }
    }
    for entry in record.journal():
        yield {
            "entry": entry.id,
            "happened": entry.happened.isoformat(),
            "written": codec(datetime).write(entry.written),
            "kind": acts.kind_of(entry.act),
            "act": acts.body_of(entry.act),
            "by": entry.by,
            "note": entry.note,
        }
    gone = record.withdrawn()
    for key, notice in record.published().items():
        yield {"published": codec(Published).write(notice), "gone": key in gone}


@dataclass(slots=True, kw_only=True)
class _Content:
    """What a file of JSON lines holds; `lines` gives the line of each entry, by number."""

    namespace: uuid.UUID | None = None
    created: datetime | None = None
    entries: list[Entry] = field(default_factory=list)
    lines: dict[int, int] = field(default_factory=dict)
    published: list[Published] = field(default_factory=list)
    gone: list[str] = field(default_factory=list)


def _read(file: Path, text: str) -> _Content:
    content = _Content()
    for number, line in enumerate(text.split("\n"), start=1):
        if line.strip():
            try:
                plain = json.loads(line)
                _take_line(content, plain, number)
            except json.JSONDecodeError as fault:
                raise BadData(f"{file}:{number}: is not JSON ({fault.msg})") from None
            except Unreadable as fault:
                raise BadData(f"{file}:{number}: {fault}") from None
    if content.namespace is None:
        raise BadData(f"{file}: has no line that begins with 'record'; name a file of an export")
    return content


def _take_line(content: _Content, plain: Any, number: int) -> None:
    match plain:
        case {"record": {"namespace": str(namespace), **rest}}:
            content.created = codec(datetime | None).read(rest.get("created"))
            try:
                content.namespace = uuid.UUID(namespace)
            except ValueError:
                raise Unreadable(f"the namespace '{namespace}' is not a UUID") from None
        case {"entry": int(_)}:
            entry = _entry(plain)
            if entry.id != len(content.entries) + 1:
                raise Unreadable(f"entry {entry.id} stands where {len(content.entries) + 1} should")
            content.entries.append(entry)
            content.lines[entry.id] = number
        case {"published": told, "gone": bool(is_gone)}:
            notice: Published = codec(Published).read(told)
            content.published.append(notice)
            content.gone += [notice.key] if is_gone else []
        case _:
            raise Unreadable("is neither a 'record', an 'entry' nor a 'published' line")


def _entry(plain: dict[str, Any]) -> Entry:
    wanted = {"entry", "happened", "written", "kind", "act"}
    if missing := wanted - plain.keys():
        raise Unreadable(f"entry {plain['entry']}: '{min(missing)}' is missing")
    return Entry(
        id=plain["entry"],
        happened=codec(date).read(plain["happened"]),
        written=codec(datetime).read(plain["written"]),
        act=acts.act_of(plain["kind"], plain["act"]),
        by=codec(str | None).read(plain.get("by")),
        note=codec(str | None).read(plain.get("note")),
    )


def _fill(file: Path, record: Record, content: _Content) -> None:
    try:
        undo.fold(undo.standing(content.entries))
    except undo.Impossible as fault:
        line = content.lines[fault.entry.id]
        raise BadData(f"{file}:{line}: entry {fault.entry.id} cannot be: {fault}") from None
    try:
        record.append(content.entries)
        record.publish(content.published, content.gone)
    except CropplanError as fault:
        raise BadData(f"{file}: {fault}") from None


def _refuse_unless_empty(into: Path) -> None:
    with open_record(into) as record:
        if record.revision or record.published():
            raise Refusal(
                f"{into}: holds entries already; import into a new record, named with --record"
            )
