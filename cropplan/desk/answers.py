"""Answers to lines of the rounds: done, skipped, put off, by handle."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.catalogue.model import Habit
from cropplan.desk.caring import care_acts
from cropplan.desk.desk import (
    Desk,
    Outcome,
    day_done,
    first_house,
    numbers,
    scene_on,
    today_in,
    write,
    write_days,
)
from cropplan.desk.looking_back import open_then
from cropplan.holding import turns
from cropplan.holding.entry import (
    Act,
    Done,
    Drained,
    Fed,
    Lost,
    Picked,
    Pulled,
    PutOff,
    Skipped,
    Tested,
)
from cropplan.holding.holding import Holding
from cropplan.holding.place import Care
from cropplan.holding.task import State, Task, in_words
from cropplan.problems import Refusal, did_you_mean
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_tasks
from cropplan.schedule.wording import day_text, list_text

#: Work that cannot be ticked, because the record needs to know more: what to type instead.
_PICK_HEADS = "pick-heads"
_SAY_MORE = {
    _PICK_HEADS: "say how many heads were cut: cropplan pick {tag} N",
    "strike": "say what was struck: cropplan strike {crop} N --from TAG --in PLACE",
    turns.TEST_AGAIN: "say what it read: cropplan test {tag} ammonia=0.5 ph=7 temperature=20C",
    "set-out": "say where they went: cropplan set-out {tag} --in PLACES",
}
_CARES = {turns.RENEW: Care.CHANGE, turns.DISINFECT: Care.DISINFECT}
#: Ticking a look means that it was looked for and not found; finding is written as seen.
_LOOKS = {
    turns.CHECK_ROOTS: "rooted",
    turns.CHECK_SEEDLINGS: "emerged",
    "first-flower": "flowering",
    "first-fruit": "fruiting",
    "first-cut": "picking",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Which of a line's places are meant: all of them, only some, or all but some.

    Places may be named by place or by the tag that stands there.
    """

    handles: tuple[str, ...]
    only: tuple[str, ...] = ()
    but: tuple[str, ...] = ()


def done(desk: Desk, answer: Answer, *, on: date | None = None, note: str | None = None) -> Outcome:
    """Tick lines as done on a day. The same work ticked twice for one day is one."""
    return done_on_days(desk, answer, None if on is None else [on], note=note)


def done_on_days(
    desk: Desk, answer: Answer, days: Sequence[date] | None, *, note: str | None = None
) -> Outcome:
    """Tick lines as done on each of several days, as from a neighbour's sheet: all or none.

    days : rising; None for today.
    """
    holding, scene = _scene(desk)
    checked = [day_done(desk, holding, day) for day in days or (None,)]
    meant = _meant(scene, answer, closed=_closed_since(desk, holding, checked))
    acts: list[tuple[date, Act]] = []
    said: list[str] = []
    for tasks in meant:
        by_day = {
            day: [task for task in tasks if not _done_already(holding, task, day)]
            for day in checked
        }
        fresh_days = [day for day in checked if by_day[day]]
        for day in checked:
            if not by_day[day]:
                said.append(_said_already(holding, tasks[0], day))
            acts += [(day, act) for act in _acts(by_day[day], scene)] if by_day[day] else []
        if fresh_days:
            spoken = _spoken(by_day[fresh_days[0]])
            said.append(f"{tasks[0].code}: {spoken}, done on {_days_spoken(fresh_days)}")
            said += _still_looked_for(tasks)
    if not acts:
        return Outcome(said=tuple(said))
    _, entries = write_days(desk, acts, note=note)
    return Outcome(said=tuple(said), entries=numbers(entries))


def _said_already(holding: Holding, task: Task, day: date) -> str:
    by = turns.turn_of(holding, task.key.duty, task.key.subject).last_by
    who = f" by {by}" if by else ""
    return f"{task.code}: written for {day_text(day)} already{who}; nothing changed"


def _still_looked_for(tasks: Sequence[Task]) -> list[str]:
    look = _LOOKS.get(tasks[0].key.duty)
    if look is None:
        return []
    tag = tasks[0].key.subject.code
    return [f"  written as looked, not yet; once seen: cropplan seen {tag} {look}"]


def _days_spoken(days: Sequence[date]) -> str:
    if len(days) == 1:
        return day_text(days[0])
    return f"{len(days)} days, {day_text(days[0])} to {day_text(days[-1])}"


def skip(
    desk: Desk,
    answer: Answer,
    *,
    why: str,
    not_needed: bool = False,
    on: date | None = None,
) -> Outcome:
    """Answer lines without doing them; only what was not needed restarts the interval."""
    holding, scene = _scene(desk)
    day = day_done(desk, holding, on)
    acts: list[Act] = []
    said: list[str] = []
    for tasks in _meant(scene, answer):
        subjects = tuple(task.key.subject for task in tasks)
        duty = tasks[0].key.duty
        acts.append(Skipped(duty=duty, subjects=subjects, why=why, not_needed=not_needed))
        word = "not needed" if not_needed else "skipped"
        said.append(f"{tasks[0].code}: {_spoken(tasks)}, {word} ({why})")
        skips = turns.turn_of(holding, duty, subjects[0]).skips
        if skips >= 3 and not not_needed:
            said.append(
                f"  skipped {skips + 1} times in a row: 'cropplan duty set {duty} --every DAYS' "
                f"asks less often, 'cropplan duty stop {duty}' not at all"
            )
    _, entries = write(desk, day, acts)
    return Outcome(said=tuple(said), entries=numbers(entries))


def put_off(desk: Desk, answer: Answer, *, to: date) -> Outcome:
    """Put lines off to a later day, never past the turn that would follow."""
    holding, scene = _scene(desk)
    today = today_in(desk, first_house(holding))
    if to <= today:
        raise Refusal(f"{to} is not later than today ({today}); 'done --on' is for days gone by")
    acts: list[Act] = []
    said: list[str] = []
    for tasks in _meant(scene, answer):
        furthest = max(_furthest(task, today) for task in tasks)
        if to > furthest:
            raise Refusal(
                f"{tasks[0].code} can be put off to {furthest} at the latest; "
                "beyond that its next turn would be due: skip it instead"
            )
        subjects = tuple(task.key.subject for task in tasks)
        acts.append(PutOff(duty=tasks[0].key.duty, subjects=subjects, to=to))
        said.append(f"{tasks[0].code}: {_spoken(tasks)}, put off to {day_text(to)}")
    _, entries = write(desk, today, acts)
    return Outcome(said=tuple(said), entries=numbers(entries))


def _furthest(task: Task, today: date) -> date:
    """As long again as the window is wide, and at least two weeks for what has no next turn."""
    room = max((task.latest - task.earliest).days, 1)
    return max(today, task.latest) + timedelta(days=max(room, 14))


def _scene(desk: Desk) -> tuple[Holding, Scene]:
    # Only the living have open lines, and the cost must not grow with the years.
    holding = desk.record.snapshot(living_only=True)
    return holding, scene_on(desk, holding, today_in(desk, first_house(holding)))


def plain_handle(handle: str) -> str:
    """A handle as compared: no capitals, no hyphens, whatever was typed between."""
    return "".join(letter for letter in handle.casefold() if letter.isalnum())


def _closed_since(desk: Desk, holding: Holding, days: Sequence[date]) -> Callable[[], list[Task]]:
    """What was open on the one day that is written for, found out when it is asked for."""
    return lambda: open_then(desk, holding, days[0]) if len(days) == 1 else []


def _meant(
    scene: Scene, answer: Answer, closed: Callable[[], list[Task]] = list
) -> list[list[Task]]:
    """The tasks each handle means, narrowed by place.

    What is due or late is meant; when nothing is, the nearest turn to come, for work done early.
    closed : what was open on the day written for, for a line that has closed since: cuttings that
        were misted in the morning and whose roots were seen and written before that.
    """
    by_handle: dict[str, list[Task]] = defaultdict(list)
    for task in open_tasks(scene):
        by_handle[plain_handle(task.code)].append(task)
    meant = []
    for handle in answer.handles:
        tasks = by_handle.get(plain_handle(handle))
        tasks = tasks or [t for t in closed() if plain_handle(t.code) == plain_handle(handle)]
        if not tasks:
            known = {task.code for group in by_handle.values() for task in group}
            raise Refusal(f"no line has the handle '{handle}'{did_you_mean(handle, known)}")
        due = [task for task in tasks if task.state is not State.COMING]
        if answer.only:
            due = tasks
        if not due:
            soonest = min(task.due for task in tasks)
            due = [task for task in tasks if task.due == soonest]
        meant.append(_narrowed(handle, due, answer))
    return meant


def _narrowed(handle: str, tasks: Sequence[Task], answer: Answer) -> list[Task]:
    named = [*answer.only, *answer.but]
    for name in named:
        if not any(_is_at(task, name) for task in tasks):
            open_at = list_text([place for task in tasks for place in task.places], most=8)
            raise Refusal(f"'{handle}' is not open at '{name}'; it is open at {open_at}")
    kept = [
        task
        for task in tasks
        if (not answer.only or any(_is_at(task, name) for name in answer.only))
        and not any(_is_at(task, name) for name in answer.but)
    ]
    if not kept:
        raise Refusal(f"nothing of '{handle}' is left to answer")
    return kept


def _is_at(task: Task, name: str) -> bool:
    spoken = name.casefold()
    return spoken == task.key.subject.code.casefold() or any(
        spoken == place.casefold() for place in task.places
    )


def _done_already(holding: Holding, task: Task, day: date) -> bool:
    last = turns.turn_of(holding, task.key.duty, task.key.subject).last_done
    return last is not None and last >= day


def _acts(tasks: Sequence[Task], scene: Scene) -> list[Act]:
    """The entries that ticking tasks of one duty makes: its own act where it has one."""
    duty = tasks[0].key.duty
    crop = scene.catalogue.crops.get(tasks[0].thing)
    if duty == turns.PICK and crop is not None and crop.habit is Habit.HEAD:
        duty = _PICK_HEADS
    subjects = tuple(task.key.subject for task in tasks)
    codes = [one.code for one in subjects]
    if duty in _SAY_MORE:
        raise Refusal(
            f"{tasks[0].code}: " + _SAY_MORE[duty].format(crop=tasks[0].thing, tag=codes[0])
        )
    own = _own_acts(duty, codes, scene.holding)
    return own if own is not None else [Done(duty=duty, subjects=subjects)]


def _own_acts(duty: str, codes: Sequence[str], holding: Holding) -> list[Act] | None:
    match duty:
        case turns.PICK:
            return [Picked(tag=code) for code in codes]
        case "pull":
            return [Pulled(tag=code, why="finished") for code in codes]
        case "give-up":
            return [
                Lost(tag=code, count=_unrooted(holding, code), why="did not root") for code in codes
            ]
        case turns.FISH:
            return [Fed(loop=code, grams=holding.loops[code].feed_g) for code in codes]
        case turns.DRAIN:
            return [Drained(loop=code) for code in codes]
        case turns.TEST_WATER:
            return [Tested(loop=code) for code in codes]
        case turns.RENEW | turns.DISINFECT:
            return care_acts(holding, codes, _CARES[duty])
        case _:
            return None


def _unrooted(holding: Holding, tag: str) -> int:
    planting = holding.plantings[tag]
    return planting.count - planting.rooted


def _spoken(tasks: Sequence[Task]) -> str:
    places = list(dict.fromkeys(place for task in tasks for place in task.places))
    job = in_words(tasks[0].pattern, sum(task.plants for task in tasks))
    return f"{job}: {list_text(places, most=12)}" if places else job
