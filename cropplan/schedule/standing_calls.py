"""What the water, the house and the grower's own duties ask for."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from cropplan.catalogue.model import Duty, Trigger
from cropplan.holding.entry import OwnDuty
from cropplan.holding.holding import Holding
from cropplan.holding.house import House
from cropplan.holding.loop import Loop, LoopState
from cropplan.holding.task import Rank, SubjectKind, subject
from cropplan.holding.turns import FISH, TEST_WATER, turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.fixed import fixed_window
from cropplan.schedule.interval import Interval, interval_of, lapsed, next_turn
from cropplan.schedule.scene import Scene


def loop_calls(scene: Scene, loop: Loop) -> Iterator[Call]:
    """The open turns of the catalogue's duties with one water loop.

    A fallow loop asks for nothing that needs fish; one that is cycling has its water tested daily.
    """
    for duty in _of_kind(scene, SubjectKind.LOOP):
        if duty.with_fish and loop.state is not LoopState.STOCKED and duty.id != TEST_WATER:
            continue
        if loop.state is LoopState.FALLOW and duty.id == TEST_WATER:
            continue
        interval = _interval(scene, duty)
        if loop.state is LoopState.CYCLING and duty.id == TEST_WATER:
            interval = Interval(low=1, typical=1, high=1)
        yield _call(scene, duty, loop, interval)


def house_calls(scene: Scene, house: House) -> Iterator[Call]:
    """The open turns of the catalogue's duties with one house."""
    for duty in _of_kind(scene, SubjectKind.HOUSE):
        yield _call(scene, duty, house, _interval(scene, duty))


def own_calls(scene: Scene) -> Iterator[Call]:
    """The open turns of the grower's own duties."""
    for own in scene.holding.own_duties.values():
        setting = scene.holding.settings.get(own.id)
        if setting is not None and setting.stopped:
            continue
        turn = turn_of(scene.holding, own.id, own.subject)
        if own.rule is not None:
            window = fixed_window(own, turn, scene.today)
            every = None
        else:
            every = own.every_days or 1
            keep = Interval(low=max(1, every // 2), typical=every, high=every)
            window = next_turn(turn, keep, began=own.begins, first_after=0, today=scene.today)
            window = lapsed(window, own.keeps, scene.today)
        if window is not None and _stands(scene.holding, own):
            yield _own_call(scene, own, turn.number, window, every)


def _of_kind(scene: Scene, kind: SubjectKind) -> Iterator[Duty]:
    for duty in scene.catalogue.duties.values():
        if duty.subject is kind and duty.trigger is Trigger.INTERVAL and duty.every is not None:
            yield duty


def _interval(scene: Scene, duty: Duty) -> Interval:
    assert duty.every is not None  # noqa: S101 - `_of_kind` lets no other through
    return interval_of(duty.every, scene.holding.settings.get(duty.id))


def _call(scene: Scene, duty: Duty, about: Loop | House, interval: Interval) -> Call:
    name, kind = about.name, duty.subject
    house = about.house if isinstance(about, Loop) else about.name
    turn = turn_of(scene.holding, duty.id, subject(kind, name))
    # A day's work is asked from the first day on; the rest counts from when the record began.
    first_after = 0 if interval.typical == 1 else duty.first_after
    window = next_turn(
        turn, interval, began=about.since, first_after=first_after, today=scene.today
    )
    window = lapsed(window, duty.keeps, scene.today)
    if duty.id == FISH:
        window = _with_last_feed(scene.holding, name, window, scene.today)
    return Call(
        duty=duty,
        subject=subject(kind, name),
        turn=turn.number,
        window=window,
        house=house,
        places=(),
        thing=name,
        thing_code=name if kind is SubjectKind.LOOP else "",
        named=name,
        every=interval.typical,
    )


def _with_last_feed(holding: Holding, name: str, window: Window, today: date) -> Window:
    """The feeding line says first who fed last, so that nobody feeds twice."""
    loop = holding.loops[name]
    if loop.last_fed is None:
        return window
    when = {0: "today", 1: "yesterday"}.get((today - loop.last_fed).days, f"on {loop.last_fed}")
    by = f" by {loop.last_fed_by}" if loop.last_fed_by else ""
    why = f"last fed {when}{by}"
    return Window(
        due=window.due, earliest=window.earliest, latest=window.latest, why=why, basis=window.basis
    )


def _stands(holding: Holding, own: OwnDuty) -> bool:
    """Whether what the duty is about is still there."""
    code = own.subject.code
    match own.subject.kind:
        case SubjectKind.PLANTING:
            return code in holding.plantings
        case SubjectKind.PLACE:
            return holding.places[code].retired_on is None
        case _:
            return True


def _where(holding: Holding, own: OwnDuty) -> tuple[str, tuple[str, ...]]:
    code = own.subject.code
    match own.subject.kind:
        case SubjectKind.PLANTING:
            code = holding.plantings[code].place
            return holding.places[code].house, (code,)
        case SubjectKind.PLACE:
            return holding.places[code].house, (code,)
        case SubjectKind.LOOP:
            return holding.loops[code].house, ()
        case SubjectKind.HOUSE:
            return code, ()


def _own_call(scene: Scene, own: OwnDuty, turn: int, window: Window, every: int | None) -> Call:
    house, places = _where(scene.holding, own)
    duty = Duty(
        id=own.id,
        code=own.code,
        job=own.text,
        subject=own.subject.kind,
        trigger=Trigger.INTERVAL,
        part=own.part,
        keeps=own.keeps,
        rank=Rank.WEAR,
        minutes_each=own.minutes,
    )
    return Call(
        duty=duty,
        subject=own.subject,
        turn=turn,
        window=window,
        house=house,
        places=places,
        thing=own.subject.code,
        thing_code="",
        named=own.subject.code,
        every=every,
        job=own.text,
    )


def later_by(window: Window, days: int) -> Window:
    """The window of a later turn, so many days on."""
    by = timedelta(days=days)
    return Window(
        due=window.due + by,
        earliest=window.earliest + by,
        latest=window.latest + by,
        why=window.why,
        basis=window.basis,
    )
