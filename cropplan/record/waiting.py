"""Ticks from the phone that wait for a word: apart from `synced`, as the rounds must be quick."""

from __future__ import annotations

import json

from cropplan.holding.task import TaskKey, read_key
from cropplan.record.faults import told_of
from cropplan.record.store import Record


def waiting_ticks(record: Record) -> list[tuple[str, tuple[TaskKey, ...]]]:
    """What must be said before a tick can be written, and the turns it is about, in order sent."""
    with told_of(record.path):
        rows = record.connection.execute(
            "SELECT question, keys FROM synced_task WHERE question IS NOT NULL ORDER BY rowid"
        )
        return [
            (question, tuple(read_key(key) for key in json.loads(keys))) for question, keys in rows
        ]
