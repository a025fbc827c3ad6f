"""What the grower's own duties ask for."""

from __future__ import annotations

from collections.abc import Iterator

from cropplan.catalogue.model import Duty, Trigger
from cropplan.holding.holding import Holding, Turn
from cropplan.holding.own_duty import OwnDuty
from cropplan.holding.task import Rank, SubjectKind
from cropplan.holding.turns import turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.fixed import fixed_window
from cropplan.schedule.interval import Interval, lapsed, next_turn
from cropplan.schedule.scene import Scene


def own_calls(scene: Scene) -> Iterator[Call]:
    """The open turns of the grower's own duties, of those that were not stopped."""
    for own in scene.holding.own_duties.values():
        setting = scene.holding.settings.get(own.id)
        where = _where(scene.holding, own)
        if where is None or (setting is not None and setting.stopped):
            continue
        turn = turn_of(scene.holding, own.id, own.subject)
        window = _window(scene, own, turn)
        if window is not None:
            yield _call(own, turn, window, *where)


def _window(scene: Scene, own: OwnDuty, turn: Turn) -> Window | None:
    if own.every_days is None:
        return fixed_window(own, turn, scene.today)
    every = own.every_days
    interval = Interval(low=max(1, every // 2), typical=every, high=every)
    window = next_turn(turn, interval, began=own.begins, first_after=0, today=scene.today)
    return lapsed(window, own.keeps, scene.today)


def _where(holding: Holding, own: OwnDuty) -> tuple[str, tuple[str, ...]] | None:
    """The house and places of what a duty is about; None once that is gone."""
    code = own.subject.code
    match own.subject.kind:
        case SubjectKind.HOUSE:
            return code, ()
        case SubjectKind.LOOP:
            return holding.loops[code].house, ()
        case SubjectKind.PLANTING:
            planting = holding.plantings.get(code)
            if planting is None or not planting.alive:
                return None
            code = planting.place
    place = holding.places[code]
    return None if place.retired_on is not None else (place.house, (code,))


def _call(own: OwnDuty, turn: Turn, window: Window, house: str, places: tuple[str, ...]) -> Call:
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
        turn=turn.number,
        window=window,
        house=house,
        places=places,
        thing=own.subject.code,
        thing_code="",
        named=own.subject.code,
        every=own.every_days,
        job=own.text,
    )
