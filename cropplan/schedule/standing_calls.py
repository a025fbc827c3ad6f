"""What the water and the house ask for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from cropplan.catalogue.model import Duty, Trigger
from cropplan.holding.handle import plain
from cropplan.holding.house import House
from cropplan.holding.loop import Loop, LoopState
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import FISH, TEST_WATER, turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.interval import Interval, interval_of, lapsed, next_turn
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import ago_text

_DAILY = Interval(low=1, typical=1, high=1)


def loop_calls(scene: Scene, loop: Loop) -> Iterator[Call]:
    """The open turns of the catalogue's duties with one water loop.

    A fallow loop asks for nothing that needs fish, nor for tests; one that is cycling has its
    water tested daily.
    """
    for duty, interval in _of_kind(scene, SubjectKind.LOOP):
        if duty.with_fish and loop.state is not LoopState.STOCKED:
            continue
        if duty.id != TEST_WATER:
            yield _call(scene, duty, loop, interval)
        elif loop.state is not LoopState.FALLOW:
            cycling = loop.state is LoopState.CYCLING
            yield _call(scene, duty, loop, _DAILY if cycling else interval)


def house_calls(scene: Scene, house: House) -> Iterator[Call]:
    """The open turns of the catalogue's duties with one house."""
    for duty, interval in _of_kind(scene, SubjectKind.HOUSE):
        yield _call(scene, duty, house, interval)


def _of_kind(scene: Scene, kind: SubjectKind) -> Iterator[tuple[Duty, Interval]]:
    for duty in scene.catalogue.duties.values():
        if duty.subject is kind and duty.trigger is Trigger.INTERVAL and duty.every is not None:
            yield duty, interval_of(duty.every, scene.holding.settings.get(duty.id))


def _call(scene: Scene, duty: Duty, about: Loop | House, interval: Interval) -> Call:
    turn = turn_of(scene.holding, duty.id, subject(duty.subject, about.name))
    # A day's work is asked from the first day on; the rest counts from when the record began.
    first_after = 0 if interval.typical == 1 else duty.first_after
    window = next_turn(
        turn, interval, began=about.since, first_after=first_after, today=scene.today
    )
    window = lapsed(window, duty.keeps, scene.today)
    if isinstance(about, Loop) and duty.id == FISH:
        window = _with_last_feed(about, window, scene.today)
    return Call(
        duty=duty,
        subject=turn.subject,
        turn=turn.number,
        window=window,
        house=about.house if isinstance(about, Loop) else about.name,
        places=(),
        thing=about.name,
        thing_code=plain(about.name) if isinstance(about, Loop) else "",
        named=about.name,
        every=interval.typical,
    )


def _with_last_feed(loop: Loop, window: Window, today: date) -> Window:
    """The feeding line says first who fed last, so that nobody feeds twice."""
    if loop.last_fed is None:
        return window
    by = f" by {loop.last_fed_by}" if loop.last_fed_by else ""
    return replace(window, why=f"last fed {ago_text((today - loop.last_fed).days)}{by}")
