"""What the water and the house ask for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cropplan.catalogue.model import Duty, Trigger
from cropplan.holding.handle import plain
from cropplan.holding.holding import Turn
from cropplan.holding.house import Failing, House
from cropplan.holding.loop import Loop, LoopState
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import DRAIN, FISH, TEST_WATER, turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.draining import drain_of, drain_window
from cropplan.schedule.interval import (
    Interval,
    after_skip,
    come_back_after,
    interval_of,
    lapsed,
    next_turn,
)
from cropplan.schedule.ration import last_fed_text, ration_for
from cropplan.schedule.scene import Scene
from cropplan.schedule.water_calls import failed_lately, must_not_feed, water_calls
from cropplan.schedule.wording import day_text

ALARM = "alarm"
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
    yield from water_calls(scene, loop)


def house_calls(scene: Scene, house: House) -> Iterator[Call]:
    """The open turns of the catalogue's duties with one house."""
    for duty, interval in _of_kind(scene, SubjectKind.HOUSE):
        call = _call(scene, duty, house, interval)
        yield _after_failure(scene, house, call) if duty.id == ALARM else call


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
    job = None
    every = interval.typical
    if isinstance(about, Loop) and duty.id == DRAIN:
        window, every = _drained(scene, about, turn, interval, window)
    elif isinstance(about, Loop) and duty.id == FISH:
        window, job = _fed(scene, about, window)
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
        every=every,
        job=job,
    )


def _drained(
    scene: Scene, loop: Loop, turn: Turn, interval: Interval, plainly: Window
) -> tuple[Window, int]:
    """The drain by the feed, and the days to the one after; by the calendar without a feed."""
    drain = drain_of(scene, loop, turn, interval)
    if drain is None:
        return plainly, interval.typical
    ceiling = scene.catalogue.waters["loop.any"]["drain_ceiling"].typical
    units = scene.holding.houses[loop.house].units
    window = drain_window(drain, max(round(ceiling), interval.typical), units, scene.today)
    return after_skip(
        window, turn, come_back_after(interval)
    ), drain.interval_days or interval.typical


def _fed(scene: Scene, loop: Loop, window: Window) -> tuple[Window, str | None]:
    """The feeding line: who fed last, so that nobody feeds twice, and how much; or not to feed."""
    last = last_fed_text(loop, scene.today)
    found = must_not_feed(scene, loop)
    if found is not None:
        why = "; ".join(part for part in (found, last) if part)
        return replace(window, why=why), f"Do not feed {loop.name}; watch the fish"
    ration = ration_for(scene, loop)
    how_much = None if ration is None else ration.words(scene.holding.houses[loop.house].units)
    failed = failed_lately(scene, loop)
    if failed is not None:
        how_much = "begin with a little, and only once ammonia is tested and the air runs"
    told = [part for part in (last, how_much) if part]
    return replace(window, why="; ".join(told)) if told else window, None


def _after_failure(scene: Scene, house: House, call: Call) -> Call:
    """The alarm is tested anew on the day of a failure."""
    failed = house.failed_on
    last = turn_of(scene.holding, call.duty.id, call.subject).last_done
    if failed is None or (last is not None and last >= failed) or call.window.due <= failed:
        return call
    word = "the power" if house.failed is Failing.POWER else "the heat"
    why = f"{word} failed on {day_text(failed, scene.today)}: did it tell you?"
    return replace(call, window=Window(due=failed, earliest=failed, latest=failed, why=why))
