"""What the last tests, top-ups and failures ask for: at once today, again tomorrow."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, timedelta
from typing import Final

from cropplan.catalogue.model import Duty
from cropplan.holding.handle import plain
from cropplan.holding.holding import Turn
from cropplan.holding.house import Units
from cropplan.holding.loop import Loop, LoopState
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import TEST_AGAIN, turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.findings import LoopTests, finding_text, judged_tests, reading_text
from cropplan.schedule.scene import Scene
from cropplan.schedule.topping import unusual_top_up
from cropplan.schedule.wording import day_text
from cropplan.water.readings import Finding, Key, Side
from cropplan.water.solids import mineralised_between

ACT_ON_TEST: Final = "act-on-test"
LOOK_FOR_LEAK: Final = "look-for-leak"
SETTLE_VESSEL: Final = "settle-vessel"

#: What to do first, and what not, by what the test found. Common practice, no source; slow
#: correction of pH after FAO Technical Paper 589, 7.3.
_FIRST = {
    (Key.AMMONIA, Side.ABOVE): (
        "Stop feeding {thing}, look for dead fish, aerate",
        "do not raise the pH, nor clean the filter, today",
    ),
    (Key.NITRITE, Side.ABOVE): (
        "Stop feeding {thing}, look for dead fish, aerate",
        "do not clean the filter today",
    ),
    (Key.OXYGEN, Side.BELOW): (
        "More air into {thing} at once, stop feeding",
        "do not feed, stir up solids or add warm water",
    ),
    (Key.TEMPERATURE, Side.ABOVE): (
        "Shade {thing}, more air, stop feeding",
        "no ice and no sudden cold water",
    ),
    (Key.TEMPERATURE, Side.BELOW): (
        "See to the heat of {thing}, stop feeding",
        "warm it slowly",
    ),
    (Key.PH, Side.ABOVE): (
        "Look at the fish of {thing}, lower its pH slowly",
        "no more than 0.3 in 12 hours",
    ),
    (Key.PH, Side.BELOW): (
        "Look at the fish of {thing}, raise its pH slowly",
        "no more than 0.3 in 12 hours; never while ammonia is high",
    ),
}


#: The window of a call, and its words where they differ from the duty's.
_Made = tuple[Window, str | None]


def water_calls(scene: Scene, loop: Loop) -> Iterator[Call]:
    """The work that a loop's tests, top-ups, vessel and failures ask for."""
    duties = scene.catalogue.duties
    tests = judged_tests(scene, loop)
    makers: Mapping[str, Callable[[Turn], _Made | None]] = {
        ACT_ON_TEST: lambda turn: _at_once(scene, loop, tests, turn),
        TEST_AGAIN: lambda turn: _again(scene, loop, tests, turn),
        LOOK_FOR_LEAK: lambda turn: _leak(scene, loop, turn),
        SETTLE_VESSEL: lambda turn: _vessel(scene, loop, turn),
    }
    for name, make in makers.items():
        duty = duties.get(name)
        if duty is None:
            continue
        turn = turn_of(scene.holding, name, subject(SubjectKind.LOOP, loop.name))
        made = make(turn)
        if made is not None:
            window, job = made
            yield _call(duty, loop, turn, window, job)


def must_not_feed(scene: Scene, loop: Loop) -> str | None:
    """Why the fish are not to be fed today; None when nothing speaks against it."""
    tests = judged_tests(scene, loop)
    for finding in () if tests is None else tests.urgent:
        if finding.key is not Key.PH:
            units = scene.holding.houses[loop.house].units
            return finding_text(finding, units)
    return None


def failed_lately(scene: Scene, loop: Loop) -> date | None:
    """The day the house failed, while its water was not yet tested for ammonia since."""
    house = scene.holding.houses[loop.house]
    if house.failed_on is None or loop.state is not LoopState.STOCKED:
        return None
    test = scene.holding.tests.get((loop.name, "ammonia"))
    tested = test is not None and test.day >= house.failed_on
    return None if tested else house.failed_on


def _at_once(scene: Scene, loop: Loop, tests: LoopTests | None, turn: Turn) -> _Made | None:
    """The first thing to do about the worst reading, until it is ticked or tested anew."""
    if tests is None or not tests.urgent:
        return None
    worst = tests.urgent[0]
    found = tests.found_on(worst)
    if turn.answered is not None and turn.answered >= found:
        return None
    key = Key.AMMONIA if worst.key is Key.UN_IONISED else worst.key
    first, not_so = _FIRST[key, worst.side]
    units = scene.holding.houses[loop.house].units
    why = f"{_told(worst, tests, units)} on {day_text(found, scene.today)}; {not_so}"
    rest = [finding_text(f, units) for f in tests.urgent[1:] if f.key is not Key.AMMONIA]
    if rest:
        why = f"{why}; also {', '.join(rest)}"
    window = Window(due=found, earliest=found, latest=max(found, scene.today), why=why)
    return window, first.replace("{thing}", loop.name)


def _told(finding: Finding, tests: LoopTests, units: Units) -> str:
    """The finding; for ammonia with the computed un-ionised part and what it was computed from."""
    if finding.key is not Key.UN_IONISED:
        told = finding_text(finding, units)
        if finding.key is Key.AMMONIA:
            told += _un_ionised_text(tests)
        return told
    read = tests.readings
    return (
        f"{finding_text(finding, units)}: ammonia {read[Key.AMMONIA]:g} mg/L at "
        f"pH {read[Key.PH]:g} and {reading_text(Key.TEMPERATURE, read[Key.TEMPERATURE], units)}"
    )


def _un_ionised_text(tests: LoopTests) -> str:
    if tests.judgement.un_ionised is None:
        return "; test pH and temperature too, to know the un-ionised part"
    return f", un-ionised {tests.judgement.un_ionised:.3f} mg/L"


def _again(scene: Scene, loop: Loop, tests: LoopTests | None, turn: Turn) -> _Made | None:
    """The extra test on the morrow of a reading out of range, and after a failure."""
    failed = failed_lately(scene, loop)
    urgent = () if tests is None else tests.urgent
    if tests is not None and urgent:
        units = scene.holding.houses[loop.house].units
        found = max(tests.found_on(finding) for finding in urgent)
        day = found + timedelta(days=1)
        told = ", ".join(finding_text(f, units) for f in urgent)
        why = f"{told} on {day_text(found, scene.today)}; the routine test keeps its own day"
    elif failed is not None:
        what = scene.holding.houses[loop.house].failed
        day = failed
        cause = "" if what is None else f"{what.value} failed on "
        why = f"{cause}{day_text(failed, scene.today)}: ammonia and oxygen before feeding as usual"
    else:
        return None
    if turn.answered is not None and turn.skip_why is not None and turn.answered >= day:
        day = turn.answered + timedelta(days=1)
    return Window(due=day, earliest=day, latest=day, why=why), None


def _leak(scene: Scene, loop: Loop, turn: Turn) -> _Made | None:
    found = unusual_top_up(scene, loop)
    if found is None or (turn.answered is not None and turn.answered >= found.day):
        return None
    latest = max(found.day + timedelta(days=1), scene.today)
    return Window(due=found.day, earliest=found.day, latest=latest, why=found.words), None


def _vessel(scene: Scene, loop: Loop, turn: Turn) -> _Made | None:
    """Settling and returning what mineralised, counted from the last solids put in."""
    figure = scene.catalogue.waters.get("loop.any", {}).get("mineralising")
    filled = loop.vessel_filled
    if filled is None or figure is None:
        return None
    if turn.last_done is not None and turn.last_done > filled:
        return None
    low, high = round(figure.least), round(figure.most)
    soonest, latest = mineralised_between(filled, low_days=low, high_days=high)
    due = filled + timedelta(days=round(figure.typical))
    if turn.answered is not None and turn.answered > filled:
        due = max(due, turn.answered + timedelta(days=1))
    why = (
        f"solids went in on {day_text(filled, scene.today)}, {low} to {high} days under strong air"
    )
    return Window(due=due, earliest=soonest, latest=max(latest, due), why=why), None


def _call(duty: Duty, loop: Loop, turn: Turn, window: Window, job: str | None) -> Call:
    return Call(
        duty=duty,
        subject=turn.subject,
        turn=turn.number,
        window=window,
        house=loop.house,
        places=(),
        thing=loop.name,
        thing_code=plain(loop.name),
        named=loop.name,
        job=job,
    )
