"""The outlook: the turns to come, for a calendar. Later turns move with the one before them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date, timedelta

from cropplan.catalogue.model import Trigger
from cropplan.holding.planting import Planting, Stage
from cropplan.holding.span import Basis, Dated
from cropplan.holding.task import SubjectKind, Task, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.away import around_absences
from cropplan.schedule.call import Call, Window
from cropplan.schedule.fixed import later_days
from cropplan.schedule.interval import interval_of
from cropplan.schedule.planting_calls import call_for
from cropplan.schedule.rounds import Line, line_of
from cropplan.schedule.scene import Scene
from cropplan.schedule.standing_calls import later_by
from cropplan.schedule.tasks import open_calls, task_of
from cropplan.schedule.wording import span_text


def outlook(scene: Scene, until: date) -> list[Line]:
    """The days worth a place in a calendar, up to `until`: one line a handle and day.

    A line is known by the first of its tasks, whose key stays when the day moves.
    """
    walk = {code: place.walk for code, place in scene.holding.places.items()}
    groups: dict[tuple[str, str, date], list[Task]] = defaultdict(list)
    for task in outlook_tasks(scene, until):
        groups[task.code, task.house, task.due].append(task)
    lines = [line_of(group, walk) for group in groups.values()]
    return sorted(lines, key=lambda line: (line.due, line.rank, line.handle))


def outlook_tasks(scene: Scene, until: date) -> Iterator[Task]:
    """Open turns, the turns after them, and those of stages yet to come."""
    own = set(scene.holding.own_duties)
    for call in open_calls(scene):
        if not (call.duty.in_calendar or call.duty.id in own):
            continue
        for turn in _turns(scene, call, until):
            yield task_of(scene, turn)
    for planting in scene.holding.plantings.values():
        if planting.alive:
            for call in _yet_to_come(scene, planting):
                for turn in _turns(scene, call, until):
                    yield task_of(scene, turn)


def lead_key(line: Line) -> str:
    """The text of the key a line is known by in calendars."""
    return str(min(line.keys))


def _turns(scene: Scene, call: Call, until: date) -> Iterator[Call]:
    if call.window.due > until:
        return
    yield call
    own = scene.holding.own_duties.get(call.duty.id)
    if own is not None and own.rule is not None:
        for step, day in enumerate(later_days(own, call.window.due, until), start=1):
            window = replace(call.window, due=day, earliest=day, latest=day)
            yield replace(call, turn=call.turn + step, window=window)
        return
    if call.every is None or call.duty.trigger is Trigger.WATCH:
        return
    last = min(until, _ends(scene, call) or until)
    start = max(call.window.due, scene.today)
    step = 1
    while start + timedelta(days=step * call.every) <= last:
        window = later_by(call.window, step * call.every + (start - call.window.due).days)
        later = replace(call, turn=call.turn + step, window=window)
        yield around_absences(later, scene.holding.absences, scene.today)
        step += 1


def _ends(scene: Scene, call: Call) -> date | None:
    if call.subject.kind is not SubjectKind.PLANTING:
        return None
    timeline = scene.timelines.get(call.subject.code)
    return None if timeline is None else timeline.likely(Stage.SPENT)


def _yet_to_come(scene: Scene, planting: Planting) -> Iterator[Call]:
    """Calls that no stage has opened yet: watches to come, and the rounds of a later stage."""
    crop = scene.catalogue.crops[planting.crop]
    dates = scene.timelines[planting.tag].dates
    for duty in scene.catalogue.duties.values():
        if duty.subject is not SubjectKind.PLANTING or not duty.in_calendar:
            continue
        if planting.stage in duty.stages or (duty.habits and crop.habit not in duty.habits):
            continue
        if duty.origins and planting.way not in duty.origins:
            continue
        if duty.pollinations and crop.pollination not in duty.pollinations:
            continue
        turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, planting.tag))
        if duty.trigger is Trigger.WATCH and duty.awaits is not None:
            dated = dates.get(duty.awaits)
            every = None
        elif duty.trigger is Trigger.INTERVAL and duty.first_after == 0:
            dated = _first_of(dates, duty.stages)
            figure = duty.every if duty.every_key is None else crop.values.get(duty.every_key)
            if figure is None:
                continue
            every = interval_of(figure, scene.holding.settings.get(duty.id)).typical
        else:
            continue
        if dated is None or dated.basis is not Basis.PREDICTED:
            continue
        yield call_for(scene, duty, planting, crop, turn, _window(dated), every=every)


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
