"""Answers that phones send: each written exactly once, however often and late it comes."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from cropplan.catalogue.read import read_catalogue
from cropplan.desk import answers, beginnings, plantings
from cropplan.desk.answers import Answer
from cropplan.desk.desk import Desk, Outcome, day_done, numbers, write
from cropplan.desk.keeping import spoken
from cropplan.desk.phone import is_open
from cropplan.holding import turns
from cropplan.holding.entry import Voided
from cropplan.holding.holding import Holding
from cropplan.holding.planting import Stage
from cropplan.holding.task import SubjectKind, TaskKey, read_subject
from cropplan.problems import CropplanError, Misuse, Refusal
from cropplan.record import keys as kept
from cropplan.record.keys import Key, KeyKind, Tick
from cropplan.schedule.wording import day_text

__all__ = [
    "Sent",
    "Tick",
    "is_passing",
    "later",
    "pick",
    "seen",
    "sent_before",
    "set_out",
    "skip",
    "strike",
    "task_keys",
    "tick",
    "undo_entry",
    "undo_ticks",
]

_NOT_YOURS = "this key is only for what must go on while the people of the house are away"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """One answer of a phone.

    id : the answer's own name, given by the phone, by which it is known when it comes again.
    handle, keys : the line as the phone showed it, and the tasks it stood for then.
    day : when it was done; None for today.
    """

    id: str
    handle: str
    keys: tuple[TaskKey, ...]
    day: date | None = None
    note: str | None = None


def task_keys(text: str) -> tuple[TaskKey, ...]:
    """The task keys written one to a line. Raises Misuse."""
    found = []
    for line in text.split("\n"):
        duty, _, rest = line.strip().partition("/")
        about, _, turn = rest.rpartition("/")
        try:
            found.append(TaskKey(duty, read_subject(about), int(turn)))
        except ValueError:
            raise Misuse(
                f"'{line.strip()}' is no line of the rounds; load the page again"
            ) from None
    return tuple(found)


def is_passing(fault: CropplanError) -> bool:
    """Whether a refusal is of the moment, as of a record in use: the same may be sent again."""
    return isinstance(fault.__cause__, sqlite3.Error | OSError)


def tick(desk: Desk, key: Key, sent: Sent) -> Tick:
    """Tick what the phone showed, and nothing that has joined the line since."""
    _refuse_but_errands(desk, key, sent)
    return _once(desk, key, sent, lambda at: _still_open(at, sent, _tick_open))


def _tick_open(desk: Desk, sent: Sent, answer: Answer) -> Outcome:
    return answers.done(desk, answer, on=sent.day, note=sent.note)


def skip(desk: Desk, key: Key, sent: Sent, *, why: str, not_needed: bool) -> Tick:
    """Answer a line without doing it."""
    if not why.strip() and not not_needed:
        raise Misuse("say in a word why it was not done")
    reason = why.strip() or "looked at"

    def act(desk: Desk, sent: Sent, answer: Answer) -> Outcome:
        return answers.skip(desk, answer, why=reason, not_needed=not_needed, on=sent.day)

    _refuse_but_errands(desk, key, sent)
    return _once(desk, key, sent, lambda at: _still_open(at, sent, act))


def later(desk: Desk, key: Key, sent: Sent, *, to: date) -> Tick:
    """Put a line off to a later day."""

    def act(desk: Desk, _: Sent, answer: Answer) -> Outcome:
        return answers.put_off(desk, answer, to=to)

    _refuse_neighbour(key)
    return _once(desk, key, sent, lambda at: _still_open(at, sent, act))


def pick(desk: Desk, key: Key, sent: Sent, amounts: Mapping[str, float | None]) -> tuple[Tick, ...]:
    """Write what was picked, planting by planting; the amount in the crop's own unit.

    amounts : by tag; None for a pick that was not weighed.
    """

    _refuse_neighbour(key)

    def written(tag: str, amount: float | None) -> Tick:
        one = replace(sent, id=f"{sent.id}:{tag}") if len(amounts) > 1 else sent
        return _once(
            desk,
            key,
            one,
            lambda at: plantings.pick(at, tag, amount=amount, on=sent.day, note=sent.note),
        )

    return tuple(written(tag, amount) for tag, amount in amounts.items())


def seen(desk: Desk, key: Key, sent: Sent, tag: str, stage: Stage) -> Tick:
    """Write that what was looked for has been seen."""
    _refuse_neighbour(key)
    return _once(
        desk, key, sent, lambda at: plantings.seen(at, tag, stage, on=sent.day, note=sent.note)
    )


def strike(desk: Desk, key: Key, sent: Sent, *, parent: str, count: int, place: str) -> Tick:
    """Write that cuttings were taken from a planting and stand in a place."""
    _refuse_neighbour(key)

    def act(at: Desk) -> Outcome:
        mother = at.record.snapshot(living_only=True).plantings.get(parent)
        if mother is None:
            raise Refusal(f"no living planting has the tag '{parent}'; load the page again")
        return beginnings.strike(
            at, mother.crop, count, parent=parent, place=place, on=sent.day, note=sent.note
        )

    return _once(desk, key, sent, act)


def set_out(desk: Desk, key: Key, sent: Sent, tag: str, places: Sequence[str]) -> Tick:
    """Write that plants were set out in places."""
    _refuse_neighbour(key)
    return _once(
        desk,
        key,
        sent,
        lambda at: plantings.set_out(at, tag, places=places, on=sent.day, note=sent.note),
    )


def undo_ticks(desk: Desk, key: Key, id_: str, ticks: Sequence[str]) -> Tick:
    """Void all that ticks of this key have written."""
    known = [sent_before(desk, key, tick) for tick in ticks]
    return _undo(desk, key, id_, sorted(n for one in known if one for n in one.entries))


def undo_entry(desk: Desk, key: Key, id_: str, entry: int) -> Tick:
    """Void one entry, whoever wrote it. A neighbour's key cannot."""
    _refuse_neighbour(key)
    return _undo(desk, key, id_, [entry])


def _undo(desk: Desk, key: Key, id_: str, entries: Sequence[int]) -> Tick:
    def act(at: Desk) -> Outcome:
        found = [at.record.entry(number) for number in entries]
        if not found:
            raise Refusal("there is nothing to undo; load the page again")
        # Later entries first, so that none is voided while another still builds on it.
        acts = [Voided(entry=entry.id) for entry in reversed(found)]
        day = day_done(at, at.record.snapshot(living_only=True), None)
        _, written = write(at, day, acts)
        said = tuple(f"undone: {spoken(entry)}, {day_text(entry.happened)}" for entry in found)
        return Outcome(said=said, entries=numbers(written))

    return _once(desk, key, Sent(id=id_, handle="", keys=()), act)


def sent_before(desk: Desk, key: Key, id_: str) -> Tick | None:
    """The answer of that name, when it has come before by this key."""
    known = kept.tick_sent(desk.record, id_)
    return known if known is not None and known.key == key.id else None


def _once(desk: Desk, key: Key, sent: Sent, act: Callable[[Desk], Outcome]) -> Tick:
    at = replace(desk, by=key.label)
    return kept.once(desk.record, sent.id, key, desk.clock(), lambda: act(at).said)


def _refuse_neighbour(key: Key) -> None:
    if key.kind is not KeyKind.PHONE:
        raise Refusal(_NOT_YOURS)


def _refuse_but_errands(desk: Desk, key: Key, sent: Sent) -> None:
    """Let a phone pass, and a neighbour with the work of the absence on one of its days."""
    if key.kind is KeyKind.PHONE:
        return
    duties = read_catalogue([]).duties
    meant = [duties.get(one.duty) for one in sent.keys]
    if key.kind is not KeyKind.NEIGHBOUR or not all(duty and duty.survival for duty in meant):
        raise Refusal(_NOT_YOURS)
    day = day_done(desk, desk.record.snapshot(living_only=True), sent.day)
    if not is_open(key, day):
        raise Refusal(f"this key is for {key.first} to {key.last}; {day} is another day")


def _still_open(desk: Desk, sent: Sent, act: Callable[[Desk, Sent, Answer], Outcome]) -> Outcome:
    """Act on the tasks of a line whose turn is the one the phone showed.

    A turn that somebody has answered meanwhile stays answered once: a list may be days old, and
    its tick must not close the turn after.
    """
    holding = desk.record.snapshot(living_only=True)
    if not sent.keys:
        raise Misuse("the answer names no work; load the page again")
    open_ = [key for key in sent.keys if _is_open(holding, key)]
    if not open_:
        return Outcome(said=(_answered(holding, sent),))
    only = tuple(key.subject.code for key in open_)
    return act(desk, sent, Answer(handles=(sent.handle,), only=only))


def _is_open(holding: Holding, key: TaskKey) -> bool:
    if key.subject.kind is SubjectKind.PLANTING and key.subject.code not in holding.plantings:
        return False
    return turns.turn_of(holding, key.duty, key.subject).number <= key.turn


def _answered(holding: Holding, sent: Sent) -> str:
    turn = turns.turn_of(holding, sent.keys[0].duty, sent.keys[0].subject)
    if turn.answered is None:
        return f"{sent.handle}: no longer asked for; nothing changed"
    by = f" by {turn.last_by}" if turn.last_by and turn.skip_why is None else ""
    return f"{sent.handle}: answered on {day_text(turn.answered)}{by} already; nothing changed"
