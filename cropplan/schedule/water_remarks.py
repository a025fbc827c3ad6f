"""What to know of the water before the walk: waits, feed against plants, readings to watch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cropplan.holding.loop import Loop, LoopState
from cropplan.schedule.balance import balance_now, balance_of
from cropplan.schedule.findings import finding_text, judged_tests
from cropplan.schedule.holds import banner
from cropplan.schedule.news import to_be_said, told_before
from cropplan.schedule.scene import Scene
from cropplan.schedule.topping import last_top_up, unusual_top_up
from cropplan.schedule.wording import day_text
from cropplan.water.feed import Balance, Verdict
from cropplan.water.level import LevelQuestion

#: Readings older than this are history, not something to watch. [d] Common practice, no source.
_WATCHED_FOR = 14
#: Feed this share beyond what the plants want is worth a remark; less is on the loop's sheet.
#: Common practice, no source.
_WORTH_SAYING = 0.25


def water_remarks(scene: Scene, house: str) -> Iterator[str]:
    """Remarks on the loops of a house, most pressing first."""
    loops = [loop for loop in scene.holding.loops.values() if loop.house == house]
    for loop in loops:
        told = banner(loop, scene.today)
        if told is not None:
            yield told
    for loop in loops:
        yield from _top_up(scene, loop)
        yield from _balance(scene, loop)
        yield from _to_watch(scene, loop)


def _top_up(scene: Scene, loop: Loop) -> Iterator[str]:
    leak = unusual_top_up(scene, loop)
    if leak is not None:
        yield f"is there a leak in {loop.name}? {leak.words}"
        return
    last = last_top_up(scene, loop)
    short = last is not None and last.judged.question is LevelQuestion.SHORT
    if last is not None and short and last.judged.from_own_record:
        yield f"was all water for {loop.name} written down? {last.words}"


def _balance(scene: Scene, loop: Loop) -> Iterator[str]:
    verdict = _far_out(balance_now(scene, loop))
    if verdict is None:
        return
    before = told_before(scene)
    told = _far_out(balance_now(replace(scene, today=before), loop)) is verdict
    stands = balance_of(scene, loop) if to_be_said(scene, before if told else scene.today) else None
    if stands is not None:
        units = scene.holding.houses[loop.house].units
        yield f"feed of {loop.name} {stands.words(units, scene.today)}"


def _far_out(now: Balance | None) -> Verdict | None:
    """Whether feed is far above or below what the plants want; None when it is about right."""
    if now is None or now.verdict is Verdict.IN_BALANCE:
        return None
    bound = now.feed - now.difference
    return now.verdict if abs(now.difference) > _WORTH_SAYING * bound else None


def _to_watch(scene: Scene, loop: Loop) -> Iterator[str]:
    tests = judged_tests(scene, loop)
    if tests is None or loop.state is LoopState.FALLOW:
        return
    units = scene.holding.houses[loop.house].units
    for finding in tests.to_watch:
        found = tests.found_on(finding)
        if (scene.today - found).days <= _WATCHED_FOR:
            told = finding_text(finding, units)
            yield f"watch the water of {loop.name}: {told} on {day_text(found, scene.today)}"
