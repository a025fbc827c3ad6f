"""What whoever looks after the house must do, and on which days of a time away."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.catalogue.model import Caution
from cropplan.desk.desk import Desk
from cropplan.desk.look import scene_today
from cropplan.holding.task import SubjectKind, Task
from cropplan.holding.turns import FISH
from cropplan.schedule.call import Call
from cropplan.schedule.rounds import Line, line_of
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_calls, task_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Errand:
    """One piece of work that must go on, with the days it falls on.

    feed_g : the ration to give, where it is a feed and the ration is known. [g/day]
    """

    line: Line
    days: tuple[date, ...]
    feed_g: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Errands:
    """The work of a time away in walking order, fish and water first, with its cautions."""

    houses: tuple[str, ...]
    errands: tuple[Errand, ...]
    cautions: dict[str, Caution]


def errands(desk: Desk, first: date, last: date, *, house: str | None = None) -> Errands:
    """What must be done while nobody of the house is there, day by day."""
    holding, scene = scene_today(desk)
    tasks: dict[tuple[str, str], list[Task]] = defaultdict(list)
    days: dict[tuple[str, str], set[date]] = defaultdict(set)
    for call in open_calls(scene):
        if call.duty.survival and house in {None, call.house}:
            task = task_of(scene, call)
            tasks[task.house, task.code].append(task)
            days[task.house, task.code] |= set(_days(call, first, last))
    walk = {code: place.walk for code, place in holding.places.items()}
    lines = {key: line_of(group, walk) for key, group in tasks.items() if days[key]}
    in_order = sorted(lines, key=lambda key: (lines[key].rank, _first_place(lines[key], walk), key))
    found = tuple(
        Errand(
            line=lines[key],
            days=tuple(sorted(days[key])),
            feed_g=_ration(scene, lines[key]),
        )
        for key in in_order
    )
    needed = {id_ for errand in found for id_ in errand.line.cautions}
    cautions = {id_: c for id_, c in scene.catalogue.cautions.items() if id_ in needed}
    named = tuple(holding.houses) if house is None else (house,)
    return Errands(houses=named, errands=found, cautions=cautions)


def _days(call: Call, first: date, last: date) -> list[date]:
    """The days from `first` to `last` on which a turn falls; what is due before waits for none."""
    due = max(call.window.due, first)
    if due > last:
        return []
    every = call.every or (last - first).days + 1
    return [due + timedelta(days=n) for n in range(0, (last - due).days + 1, every)]


def _first_place(line: Line, walk: dict[str, int]) -> int:
    return walk.get(line.places[0], 0) if line.places else 0


def _ration(scene: Scene, line: Line) -> float | None:
    about = line.subjects[0]
    if line.duty != FISH or about.kind is not SubjectKind.LOOP:
        return None
    return scene.holding.loops[about.code].feed_g
