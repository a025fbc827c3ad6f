"""What was open on a day, for work done then whose line has closed since."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from cropplan.desk.desk import Desk, scene_on
from cropplan.holding.entry import Entry, Voided
from cropplan.holding.holding import Holding
from cropplan.holding.task import State, SubjectKind, Task
from cropplan.problems import Refusal
from cropplan.schedule.tasks import open_tasks

#: What these write hangs on how the plants are now, so that they are answered as they stand now.
_OF_NOW = frozenset({"give-up", "pull", "strike", "set-out"})


def open_then(desk: Desk, holding: Holding, day: date) -> list[Task]:
    """The tasks that were due on a day and can still be written as done for it.

    holding : as it is now. As the record knew it in the morning of the day, or, for what began
    on it, in the evening.
    """
    voided = desk.record.voided()
    journal = [
        entry
        for entry in desk.record.journal()
        if entry.id not in voided and not isinstance(entry.act, Voided)
    ]
    found: dict[str, Task] = {}
    for until in (day - timedelta(days=1), day):
        for task in _open_after(desk, journal, until, day):
            found.setdefault(str(task.key), task)
    return [task for task in found.values() if _can_be_written(holding, task)]


def _open_after(desk: Desk, journal: list[Entry], until: date, day: date) -> Iterator[Task]:
    from cropplan.holding.replay import replay  # a tick of today needs no history

    try:
        then = replay(entry for entry in journal if entry.happened <= until)
    except Refusal:
        return  # What was written late about days before hangs on what came after.
    if then.houses:
        tasks = open_tasks(scene_on(desk, then, day))
        yield from (task for task in tasks if task.state is not State.COMING)


def _can_be_written(holding: Holding, task: Task) -> bool:
    about = task.key.subject
    alive = about.kind is not SubjectKind.PLANTING or about.code in holding.plantings
    return alive and task.key.duty not in _OF_NOW
