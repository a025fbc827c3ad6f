"""The outlook: the turns to come, for a calendar. Later turns move with the one before them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date, timedelta
from itertools import chain

from cropplan.catalogue.model import Trigger
from cropplan.holding.planting import Planting, Stage
from cropplan.holding.span import Basis, Dated
from cropplan.holding.task import SubjectKind, Task, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.away import after_absences
from cropplan.schedule.call import Call, Window
from cropplan.schedule.fixed import later_days
from cropplan.schedule.planting_calls import call_for, concerns, interval_for
from cropplan.schedule.rounds import Line, line_of
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_calls, task_of
from cropplan.schedule.wording import every_text, span_text


def outlook(scene: Scene, until: date) -> list[Line]:
    """The days worth a place in a calendar, up to `until`: one line a handle and day.

    A line is known by the first of its tasks, whose key stays when the day moves.
    """
    walk = {code: place.walk for code, place in scene.holding.places.items()}
    groups: dict[tuple[str, str, date], list[Task]] = defaultdict(list)
    for task in outlook_tasks(scene, until):
        groups[task.key.duty, task.code, task.due].append(task)
    lines = [line_of(group, walk) for group in groups.values()]
    return sorted(lines, key=lambda line: (line.due, line.rank, line.handle))


def outlook_tasks(scene: Scene, until: date) -> Iterator[Task]:
    """Open turns, the turns after them, and those of stages yet to come."""
    own = scene.holding.own_duties
    opened = (c for c in open_calls(scene) if c.duty.in_calendar or c.duty.id in own)
    living = (planting for planting in scene.holding.plantings.values() if planting.alive)
    to_come = chain.from_iterable(_yet_to_come(scene, planting) for planting in living)
    for call in chain(opened, to_come):
        if call.window.due <= until:
            yield task_of(scene, call)
            for turn in _later_turns(scene, call, until):
                yield task_of(scene, turn)


def lead_key(line: Line) -> str:
    """The text of the key a line is known by in calendars."""
    return str(min(line.keys))


def _later_turns(scene: Scene, call: Call, until: date) -> Iterator[Call]:
    """The turns that follow one, each counted from the one before; none for work done once."""
    own = scene.holding.own_duties.get(call.duty.id)
    start = max(call.window.due, scene.today)
    if own is not None and own.every_days is None:
        days = later_days(own, start, until)
        for step, day in enumerate(days, start=1):
            later = replace(call, turn=call.turn + step, window=call.window.on(day, f"{own.rule}"))
            yield after_absences(later, scene.holding.absences)
        return
    if call.every is None:
        return
    last = min(until, _ends(scene, call) or until)
    why, step = f"{every_text(call.every)}, from the turn before", 1
    while start + timedelta(days=call.every) <= last:
        window = call.window.on(start + timedelta(days=call.every), why)
        later = after_absences(
            replace(call, turn=call.turn + step, window=window), scene.holding.absences
        )
        yield later
        start, step = later.window.due, step + 1


def _ends(scene: Scene, call: Call) -> date | None:
    """The day on which a planting's work is likely to end; None when it is past or unknown."""
    if call.subject.kind is not SubjectKind.PLANTING:
        return None
    day = scene.timelines[call.subject.code].likely(Stage.SPENT)
    return None if day is None or day < scene.today else day


def _yet_to_come(scene: Scene, planting: Planting) -> Iterator[Call]:
    """Calls that no stage has opened yet: watches to come, and the rounds of a later stage."""
    crop = scene.catalogue.crops[planting.crop]
    dates = scene.timelines[planting.tag].dates
    for duty in scene.catalogue.duties.values():
        if not duty.in_calendar or planting.stage in duty.stages:
            continue
        if not concerns(scene, duty, planting, crop):
            continue
        every = None
        if duty.trigger is Trigger.WATCH and duty.awaits is not None:
            dated = dates.get(duty.awaits)
        elif duty.trigger is Trigger.INTERVAL and duty.first_after == 0:
            dated = _first_of(dates, duty.stages)
            interval = interval_for(scene, duty, crop)
            if interval is None:
                continue
            every = interval.typical
        else:
            continue
        if dated is None or dated.basis is not Basis.PREDICTED:
            continue
        turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, planting.tag))
        call = call_for(scene, duty, planting, crop, turn, _window(dated), every=every)
        yield after_absences(call, scene.holding.absences)


def _first_of(dates: Mapping[Stage, Dated], stages: frozenset[Stage]) -> Dated | None:
    known = [dates[stage] for stage in stages if stage in dates]
    return min(known, key=lambda dated: dated.likely, default=None)


def _window(dated: Dated) -> Window:
    return Window(
        due=dated.likely,
        earliest=dated.earliest,
        latest=dated.latest,
        why=f"expected {span_text(dated.earliest, dated.latest)}",
        basis=Basis.PREDICTED,
    )
