"""The rounds: open tasks gathered into lines: fish first, then what is late, then the day's."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.growth.light import daily_light_integral
from cropplan.growth.sun import day_length
from cropplan.holding.holding import Holding
from cropplan.holding.house import House
from cropplan.holding.span import Basis
from cropplan.holding.task import Part, Rank, State, Subject, Task, TaskKey, in_words
from cropplan.schedule.climate import light_of
from cropplan.schedule.remarks import remarks
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_tasks

_STATES = {State.LATE: 0, State.TODAY: 1, State.COMING: 2}
_PARTS = {Part.MORNING: 0, Part.ANY: 1, Part.MIDDAY: 2, Part.EVENING: 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the rounds: the same work on all the places where it is open.

    handle : names the work and the crop or thing, and stays while days move.
    keys, subjects : of the tasks it gathers. places : in walking order.
    due, earliest, latest, state, basis, why : of its most urgent task.
    minutes : for all of it.
    """

    handle: str
    keys: tuple[TaskKey, ...]
    duty: str
    subjects: tuple[Subject, ...]
    places: tuple[str, ...]
    house: str
    job: str
    part: Part
    rank: Rank
    due: date
    earliest: date
    latest: date
    state: State
    basis: Basis
    minutes: float
    survival: bool
    cautions: tuple[str, ...]
    why: str

    @property
    def comes_first(self) -> bool:
        """Whether fish or their water ask for it this morning, before any plant, late or not."""
        of_fish = self.rank <= Rank.WATER and (self.survival or self.part is Part.MORNING)
        return of_fish and self.state is not State.COMING


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounds:
    """The morning list of one house or of all.

    daylength_h : from sunrise to sunset. [h] dli_inside : light on the plants. [mol m⁻² d⁻¹]
    minutes : for what is late and due today.
    remarks : what to know before starting, most pressing first.
    """

    house: str
    on: date
    daylength_h: float
    dli_inside: float
    minutes: float
    lines: tuple[Line, ...]
    remarks: tuple[str, ...]


def rounds_of(scene: Scene, house: House, ahead: int) -> Rounds:
    """The rounds of one house for the scene's day and so many days ahead."""
    until = scene.today + timedelta(days=ahead)
    tasks = [t for t in open_tasks(scene) if t.house == house.name and t.due <= until]
    lines = lines_of(tasks, scene.holding)
    return Rounds(
        house=house.name,
        on=scene.today,
        daylength_h=day_length(house.latitude, scene.today),
        dli_inside=daily_light_integral(light_of(house), scene.today),
        minutes=sum(line.minutes for line in lines if line.state is not State.COMING),
        lines=tuple(lines),
        remarks=tuple(remarks(scene, house.name)),
    )


def lines_of(tasks: Iterable[Task], holding: Holding) -> list[Line]:
    """Tasks as lines: what is open now, one line a handle; what is coming, one a handle and day."""
    gathered: dict[tuple[str, str, date | None], list[Task]] = defaultdict(list)
    for task in tasks:
        day = task.due if task.state is State.COMING else None
        gathered[task.key.duty, task.code, day].append(task)
    walk = {code: place.walk for code, place in holding.places.items()}
    lines = [line_of(group, walk) for group in gathered.values()]
    return sorted(lines, key=lambda line: _order(line, walk))


def line_of(group: Sequence[Task], walk: Mapping[str, int]) -> Line:
    """One line for tasks of one handle."""
    by_walk = sorted(group, key=lambda t: ([walk.get(p, 0) for p in t.places], t.key))
    first = min(by_walk, key=lambda t: (_STATES[t.state], t.latest, t.due))
    places = tuple(dict.fromkeys(place for task in by_walk for place in task.places))
    return Line(
        handle=first.code,
        keys=tuple(task.key for task in by_walk),
        duty=first.key.duty,
        subjects=tuple(task.key.subject for task in by_walk),
        places=places,
        house=first.house,
        job=in_words(first.pattern, sum(task.plants for task in by_walk)),
        part=first.part,
        rank=first.rank,
        due=first.due,
        earliest=first.earliest,
        latest=first.latest,
        state=first.state,
        basis=first.basis,
        minutes=sum(task.minutes for task in by_walk),
        survival=first.survival,
        cautions=first.cautions,
        why=first.why,
    )


def _order(line: Line, walk: Mapping[str, int]) -> tuple[int, date, int, int, int, str]:
    """What fish live by, then late, today, coming; ranked by what dies first.

    A plant that is a day late can wait for ten minutes; fish without air cannot.
    """
    state = _STATES[line.state]
    day = line.due if line.state is State.COMING else date.min
    at = walk.get(line.places[0], 0) if line.places else 0
    part = _PARTS[line.part]
    if line.comes_first:
        return -1, day, line.rank, state, at, line.handle
    if line.state is State.LATE:
        return state, day, line.rank, part, at, line.handle
    return state, day, part, line.rank, at, line.handle
