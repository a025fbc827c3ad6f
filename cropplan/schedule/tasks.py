"""Open tasks: every call that is open today, one a duty and subject, as the work it stands for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import chain

from cropplan.holding.task import State, SubjectKind, Task, TaskKey
from cropplan.holding.turns import turn_of
from cropplan.schedule.away import around_absences
from cropplan.schedule.call import Call, Window
from cropplan.schedule.disinfecting import disinfect_calls
from cropplan.schedule.giving_up import giving_up_calls
from cropplan.schedule.holds import held_call
from cropplan.schedule.media_weeks import spread_media_calls
from cropplan.schedule.own_calls import own_calls
from cropplan.schedule.planned import planned_calls
from cropplan.schedule.planting_calls import planting_calls
from cropplan.schedule.relay import relay_calls
from cropplan.schedule.scene import Scene
from cropplan.schedule.standing_calls import house_calls, loop_calls
from cropplan.schedule.wording import day_text, worded


def open_calls(scene: Scene) -> Iterator[Call]:
    """Every duty's open turn with every subject, put-offs and absences applied."""
    holding = scene.holding
    living = [p for p in holding.plantings.values() if p.alive]
    calls = chain(
        chain.from_iterable(planting_calls(scene, planting) for planting in living),
        chain.from_iterable(giving_up_calls(scene, planting) for planting in living),
        chain.from_iterable(relay_calls(scene, house) for house in holding.houses),
        planned_calls(scene),
        spread_media_calls(scene),
        disinfect_calls(scene),
        chain.from_iterable(loop_calls(scene, loop) for loop in holding.loops.values()),
        chain.from_iterable(house_calls(scene, house) for house in holding.houses.values()),
        own_calls(scene),
    )
    for call in calls:
        put_off = _put_off(scene, call)
        yield held_call(scene, around_absences(put_off, holding.absences, scene.today))


def open_tasks(scene: Scene) -> list[Task]:
    """All open tasks, whenever they fall due. No two have the same duty and subject."""
    return [task_of(scene, call) for call in open_calls(scene)]


def task_of(scene: Scene, call: Call) -> Task:
    """The task that a call makes, with its words, minutes and handle code."""
    window, duty = call.window, call.duty
    return Task(
        key=TaskKey(duty.id, call.subject, call.turn),
        code=_handle(scene, call),
        thing=call.thing,
        house=call.house,
        places=call.places,
        due=window.due,
        earliest=window.earliest,
        latest=window.latest,
        state=state_on(window, scene.today),
        basis=window.basis,
        part=duty.part,
        rank=duty.rank,
        keeps=duty.keeps,
        plants=call.plants,
        minutes=duty.minutes_each * call.plants,
        survival=duty.survival,
        pattern=call.job or worded(duty.job, named=call.named, name=call.name),
        why=window.why,
        cautions=tuple(dict.fromkeys(duty.cautions + call.cautions)),
    )


def _handle(scene: Scene, call: Call) -> str:
    """The handle: the duty's letters and the thing's, and the number of a later house.

    Loops and the grower's own duties are told apart by their own names throughout the record.
    """
    handle = "-".join(part for part in (call.duty.code, call.thing_code) if part)
    number = scene.holding.houses[call.house].number
    named_once = call.subject.kind is SubjectKind.LOOP or call.duty.id in scene.holding.own_duties
    return handle if number == 1 or named_once else f"{handle}{number}"


def state_on(window: Window, today: date) -> State:
    """Late once the window has closed, today from the due day on, coming before it."""
    if window.latest < today:
        return State.LATE
    return State.TODAY if window.due <= today else State.COMING


def _put_off(scene: Scene, call: Call) -> Call:
    turn = turn_of(scene.holding, call.duty.id, call.subject)
    to = turn.put_off_to
    if to is None or to <= call.window.due:
        return call
    window = call.window
    moved = replace(
        window,
        due=to,
        latest=max(window.latest, to),
        why=f"put off to {day_text(to, scene.today)}; {window.why}",
    )
    return replace(call, window=moved)
