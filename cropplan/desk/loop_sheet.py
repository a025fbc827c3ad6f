"""All that is known of one water loop on one sheet, and its past for a picture."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from cropplan.charts.loop_past import LoopPast, draw
from cropplan.desk.desk import Desk, scene_on, today_in
from cropplan.holding.entry import Fed, Tested
from cropplan.holding.holding import Holding
from cropplan.holding.house import Units
from cropplan.holding.loop import Loop
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.things import loop_called
from cropplan.holding.turns import DRAIN, turn_of
from cropplan.problems import Refusal
from cropplan.schedule.balance import LoopBalance, balance_of
from cropplan.schedule.draining import drain_of, drain_words
from cropplan.schedule.findings import WORDS, LoopTests, judged_tests, limits_for, range_of
from cropplan.schedule.holds import banner
from cropplan.schedule.interval import interval_of
from cropplan.schedule.ration import Ration, ration_for
from cropplan.schedule.rounds import Line, lines_of
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_tasks
from cropplan.schedule.topping import Added, last_top_up
from cropplan.schedule.water_calls import must_not_feed
from cropplan.water.drain import Drain
from cropplan.water.readings import Key


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """One reading of a loop, with the range it should keep to.

    value : in the unit of the key, °C for the warmth. low, high : the narrowest range that any
        life on the water sets; None where that side has no end.
    verdict : good, watch or urgent.
    """

    key: str
    value: float
    day: date
    low: float | None
    high: float | None
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopSheet:
    """One water loop on one day.

    banner : what a treatment forbids. no_feed : why nothing is to be fed today.
    fill : how full the filter is, 1 being full; None when not known. drain_why : in words.
    tests : one row a reading. oxygen_share : of what the water could hold.
    lines : the open work on it.
    """

    loop: Loop
    units: Units
    on: date
    banner: str | None
    balance: LoopBalance | None
    ration: Ration | None
    no_feed: str | None
    fill: float | None
    next_drain: date | None
    drain_why: str | None
    top_up: Added | None
    tests: tuple[ReadingRow, ...]
    oxygen_share: float | None
    not_tested: tuple[str, ...]
    lines: tuple[Line, ...]


def loop_sheet(desk: Desk, name: str | None = None, *, on: date | None = None) -> LoopSheet:
    """The sheet of the water loop of that name, or of the only one."""
    holding = desk.record.snapshot(living_only=True)
    loop = loop_named(holding, name)
    scene = scene_on(desk, holding, on or today_in(desk, holding.houses[loop.house]))
    units = holding.houses[loop.house].units
    tests = judged_tests(scene, loop)
    drain = _drain(scene, loop)
    tasks = [t for t in open_tasks(scene) if t.key.subject.code == loop.name and not t.places]
    drains = [task.due for task in tasks if task.key.duty == DRAIN]
    return LoopSheet(
        loop=loop,
        units=units,
        on=scene.today,
        banner=banner(loop, scene.today),
        balance=balance_of(scene, loop),
        ration=ration_for(scene, loop),
        no_feed=must_not_feed(scene, loop),
        fill=None if drain is None else drain.fill,
        next_drain=drains[0] if drains else None,
        drain_why=None if drain is None else drain_words(drain, units, scene.today),
        top_up=last_top_up(scene, loop),
        tests=() if tests is None else tuple(_rows(tests)),
        oxygen_share=None if tests is None else tests.judgement.oxygen_share,
        not_tested=() if tests is None else tuple(k.value for k in tests.judgement.not_tested),
        lines=tuple(sorted(lines_of(tasks, holding), key=lambda line: line.due)),
    )


def loop_named(holding: Holding, name: str | None) -> Loop:
    """The loop of that name, or the only one. Raises Refusal."""
    if name is not None:
        return loop_called(holding, name)
    if len(holding.loops) != 1:
        known = ", ".join(holding.loops) or "none yet; put one in with 'cropplan loop add'"
        raise Refusal(f"name the water loop: {known}")
    return next(iter(holding.loops.values()))


def _drain(scene: Scene, loop: Loop) -> Drain | None:
    duty = scene.catalogue.duties.get(DRAIN)
    if duty is None or duty.every is None:
        return None
    turn = turn_of(scene.holding, DRAIN, subject(SubjectKind.LOOP, loop.name))
    interval = interval_of(duty.every, scene.holding.settings.get(DRAIN))
    return drain_of(scene, loop, turn, interval)


def _rows(tests: LoopTests) -> list[ReadingRow]:
    values = dict(tests.readings)
    days = dict(tests.read_on)
    if tests.judgement.un_ionised is not None:
        values[Key.UN_IONISED] = tests.judgement.un_ionised
        days[Key.UN_IONISED] = days[Key.AMMONIA]
    urgent = {finding.key for finding in tests.urgent}
    watched = {finding.key for finding in tests.judgement.findings}
    rows = []
    for key in Key:
        if key in values:
            low, high = range_of(tests.limits, key)
            word = "urgent" if key in urgent else "watch" if key in watched else "good"
            rows.append(
                ReadingRow(
                    key=key.value,
                    value=values[key],
                    day=days[key],
                    low=low,
                    high=high,
                    verdict=word,
                )
            )
    return rows


def draw_past(desk: Desk, file: Path, name: str | None = None, *, days: int = 365) -> None:
    """Draw the past of a loop into an SVG or PNG file. Raises Refusal when that cannot be."""
    draw(loop_past(desk, name, days=days), file)


def loop_past(desk: Desk, name: str | None = None, *, days: int = 365) -> LoopPast:
    """The tests and feeds of a loop over so many days, undone entries left out."""
    holding = desk.record.snapshot(living_only=True)
    loop = loop_named(holding, name)
    today = today_in(desk, holding.houses[loop.house])
    voided = desk.record.voided()
    tests: dict[str, list[tuple[date, float]]] = {}
    feeds: dict[date, float] = {}
    for entry in desk.record.journal():
        if entry.id in voided or not 0 <= (today - entry.happened).days <= days:
            continue
        match entry.act:
            case Tested(loop=of, values=values) if of == loop.name:
                for key, value in values.items():
                    tests.setdefault(key, []).append((entry.happened, value))
            case Fed(loop=of, grams=float() | int() as grams) if of == loop.name:
                feeds[entry.happened] = feeds.get(entry.happened, 0.0) + grams
    scene = scene_on(desk, holding, today)
    limits = limits_for(scene, loop)
    return LoopPast(
        name=loop.name,
        units=holding.houses[loop.house].units,
        tests={key: sorted(points) for key, points in tests.items()},
        feeds=dict(sorted(feeds.items())),
        ranges={key: range_of(limits, kind) for key, kind in WORDS.items()},
    )
