"""Ticks that come from a calendar server: what they are about, and how they are written.

A tick is about turns, by key. It is written for those that are still open, and as history for
those that were passed over; a turn that was done already is not done again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import Enum
from zoneinfo import ZoneInfo

from cropplan.desk import answers
from cropplan.desk.answers import Answer
from cropplan.desk.desk import Desk, first_house, scene_on, today_in, write
from cropplan.holding.entry import Act, Done, Voided
from cropplan.holding.holding import Holding
from cropplan.holding.replay import apply
from cropplan.holding.synced import SyncedTask
from cropplan.holding.task import Subject, SubjectKind, Task, TaskKey, read_key
from cropplan.holding.turns import turn_of
from cropplan.problems import BadData, Refusal
from cropplan.record import synced
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_tasks
from cropplan.schedule.wording import day_text

NOTE = "ticked on the phone"
NOTE_UNTICKED = "un-ticked on the phone"


class TurnState(Enum):
    """How a turn stands: open, done, or passed over (skipped, or no longer called for)."""

    OPEN = "open"
    DONE = "done"
    PASSED = "passed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """What is held and open at this moment; `tasks` by the text of their keys."""

    holding: Holding
    scene: Scene
    today: date
    tasks: Mapping[str, Task]


def now_of(desk: Desk) -> Now:
    """What is held and open now."""
    holding = desk.record.snapshot()
    today = today_in(desk, first_house(holding))
    scene = scene_on(desk, holding, today)
    tasks = {str(task.key): task for task in open_tasks(scene)}
    return Now(holding=holding, scene=scene, today=today, tasks=tasks)


def key_from(text: str) -> TaskKey:
    """The key written as `duty/kind:code/turn`. Raises BadData."""
    try:
        return read_key(text)
    except ValueError:
        raise BadData(f"'{text}' is no key of a task, such as pick/planting:tom7/3") from None


def turn_states(desk: Desk, now: Now, keys: Iterable[str]) -> dict[str, TurnState]:
    """How each of these turns stands. Raises BadData for a key that is none."""
    states: dict[str, TurnState] = {}
    long_past: set[TaskKey] = set()
    for text in keys:
        key = key_from(text)
        turn = turn_of(now.holding, key.duty, key.subject)
        if text in now.tasks:
            states[text] = TurnState.OPEN
        elif turn.number == key.turn + 1:
            # A reason stands only where the last turn was skipped.
            states[text] = TurnState.DONE if turn.skip_why is None else TurnState.PASSED
        elif turn.number > key.turn:
            long_past.add(key)
        else:
            states[text] = TurnState.PASSED
    done = _done_of(desk, long_past) if long_past else set()
    return states | {
        str(key): TurnState.DONE if key in done else TurnState.PASSED for key in long_past
    }


def _done_of(desk: Desk, keys: Collection[TaskKey]) -> set[TaskKey]:
    """Those of these closed turns that were closed by doing them, as the journal tells."""
    voided = desk.record.voided()
    holding = Holding()
    waiting, done = set(keys), set()
    for entry in desk.record.journal():
        if not waiting:
            break
        if entry.id in voided or isinstance(entry.act, Voided):
            continue
        holding = apply(holding, entry)
        for key in list(waiting):
            turn = turn_of(holding, key.duty, key.subject)
            if turn.number > key.turn:
                waiting.discard(key)
                done |= {key} if turn.skip_why is None else set()
    return done


def day_of_tick(
    now: Now,
    task: SyncedTask,
    *,
    day: date | None,
    modified: datetime | None,
) -> date:
    """The day of a tick in the house: as the copy says; else when it was changed; else today.

    day : where the copy gives no more than a day. modified : when the copy was last changed.
    A day still to come, or before the task was ever sent, is that of a phone whose clock is off:
    it is taken as today.
    """
    zone = _zone_of(now.holding, task)
    moment = task.stamp
    if moment is None and day is None and modified is not None and modified > task.told:
        moment = modified
    said = moment.astimezone(zone).date() if moment else day or now.today
    return said if task.sent.astimezone(zone).date() <= said <= now.today else now.today


def _zone_of(holding: Holding, task: SyncedTask) -> ZoneInfo:
    house = _house_of(holding, key_from(task.keys[0]).subject) if task.keys else None
    known = holding.houses.get(house or "") or first_house(holding)
    return ZoneInfo(known.zone)


def _house_of(holding: Holding, about: Subject) -> str | None:
    if about.kind is SubjectKind.HOUSE:
        return about.code
    if about.kind is SubjectKind.LOOP:
        loop = holding.loops.get(about.code)
        return None if loop is None else loop.house
    planting = holding.plantings.get(about.code)
    place = holding.places.get(about.code if planting is None else planting.place)
    return None if place is None else place.house


def take(desk: Desk, before: SyncedTask, after: SyncedTask, day: date) -> list[str]:
    """Write a tick; what is known of the task becomes `after` in the same transaction.

    A tick that cannot be written as it is stays with the task as a question.
    Returns what was written, in words. Raises Refusal when the record is in use.
    """
    now = now_of(desk)
    states = turn_states(desk, now, after.keys)
    passed = [key_from(key) for key, state in states.items() if state is TurnState.PASSED]
    open_now = [now.tasks[key] for key, state in states.items() if state is TurnState.OPEN]
    said: list[str] = []
    if passed and open_now:
        # Before the entries that take the task along: written again, after a cut, what was
        # passed over changes nothing.
        said += _write_passed(desk, now, passed, day)
    try:
        with synced.with_entries(desk.record, before, after, numbered=True):
            said += (
                _write_open(desk, open_now, day)
                if open_now
                else _write_passed(desk, now, passed, day)
            )
    except Refusal as fault:
        _raise_if_passing(fault)
        question = f"ticked on the phone ({day_text(day)}): {fault}"
        synced.keep(desk.record, [replace(after, question=question)])
        return said
    except BadData:
        # Another sync has read the same tick and written it meanwhile.
        if not _is_known(desk, after):
            raise
    # Where all was written before, there was no entry to take the task along.
    if not _is_known(desk, after):
        synced.keep(desk.record, [after])
    return said


def _is_known(desk: Desk, after: SyncedTask) -> bool:
    known = synced.read(desk.record).get(after.uid)
    return known is not None and (known.mark, known.stamp) == (after.mark, after.stamp)


def _raise_if_passing(fault: Refusal) -> None:
    """Raise again what is of the moment, as of a record in use: the next run meets the tick."""
    if isinstance(fault.__cause__, sqlite3.Error | OSError):
        raise fault


def _write_open(desk: Desk, tasks: Collection[Task], day: date) -> list[str]:
    answer = Answer(
        handles=tuple(dict.fromkeys(task.code for task in tasks)),
        only=tuple(task.key.subject.code for task in tasks),
    )
    return list(answers.done(desk, answer, on=day, note=NOTE).said)


def _write_passed(desk: Desk, now: Now, keys: Collection[TaskKey], day: date) -> list[str]:
    acts: list[Act] = []
    said: list[str] = []
    for key in keys:
        last = turn_of(now.holding, key.duty, key.subject).last_done
        if last is None or last < day:
            acts.append(Done(duty=key.duty, subjects=(key.subject,)))
            said.append(
                f"{key.duty}, {key.subject.code}: was no longer asked, but ticked on the phone; "
                f"done on {day_text(day)}"
            )
    try:
        if acts:
            write(desk, day, acts, note=NOTE)
    except Refusal as fault:
        _raise_if_passing(fault)
        about = ", ".join(f"{key.duty} of {key.subject.code}" for key in keys)
        return [f"{about}: ticked on the phone on {day_text(day)}, but not written: {fault}"]
    return said


def take_back(desk: Desk, before: SyncedTask, after: SyncedTask) -> list[str]:
    """Undo what a task's tick wrote; what is known of it becomes `after` with that.

    What was not written by its tick, or has been built upon, stays; the task will be shown as
    done again.
    """
    name = f"'{before.summary}'"
    after = replace(after, first_entry=None, last_entry=None)
    voided = desk.record.voided()
    entries: list[int] = []
    if before.first_entry is not None and before.last_entry is not None:
        wrote = range(before.first_entry, before.last_entry + 1)
        entries = [entry for entry in wrote if entry not in voided]
    if not entries:
        synced.keep(desk.record, [after])
        stays = (
            f"{name} was un-ticked on the phone, but what is written was not ticked there and "
            "stays; 'cropplan journal' shows its entry, 'cropplan undo ENTRY' takes it back"
        )
        return [stays]
    today = today_in(desk, first_house(desk.record.snapshot()))
    try:
        with synced.with_entries(desk.record, before, after, numbered=False):
            # Later entries first, so that none is voided while another still builds on it.
            acts = [Voided(entry=entry) for entry in reversed(entries)]
            write(desk, today, acts, note=NOTE_UNTICKED)
    except Refusal as fault:
        _raise_if_passing(fault)
        shown_open = replace(before, mark=after.mark, stamp=after.stamp, etag=after.etag)
        synced.keep(desk.record, [shown_open])
        return [f"{name} was un-ticked on the phone, but stays done: {fault}"]
    except BadData:
        # Another sync has read the same change and written it meanwhile.
        if not _is_known(desk, after):
            raise
        return []
    return [f"{name}: un-ticked on the phone, so to be done again"]
