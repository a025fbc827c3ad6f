"""Acts on the water of a loop: drain, test, weigh, top up, treat, and a house that failed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from cropplan.desk.desk import (
    Desk,
    Outcome,
    day_done,
    first_house,
    house_called,
    numbers,
    scene_on,
    today_in,
    write,
)
from cropplan.holding.entry import Drained, Tested
from cropplan.holding.holding import Holding
from cropplan.holding.house import Failing, Units
from cropplan.holding.loop import Loop
from cropplan.holding.task import State, SubjectKind, subject
from cropplan.holding.things import loop_called
from cropplan.holding.turns import TEST_AGAIN, TEST_WATER
from cropplan.holding.water_acts import ToppedUp, Treated, Weighed, WentWithout
from cropplan.problems import Misuse, Refusal, did_you_mean
from cropplan.schedule.findings import finding_text, judged_tests
from cropplan.schedule.holds import water_hold
from cropplan.schedule.measures import mass_text, volume_text
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_tasks
from cropplan.schedule.topping import last_top_up
from cropplan.schedule.wording import day_text, list_text
from cropplan.water.level import LevelQuestion
from cropplan.water.readings import POSSIBLE, Key, Severity, perhaps_meant, ph_swing
from cropplan.water.solids import bed_doses

#: What can be tested, by the word it is typed as, and its unit.
TESTS: Mapping[str, tuple[Key, str]] = {
    "ph": (Key.PH, ""),
    "ammonia": (Key.AMMONIA, "mg/L"),
    "nitrite": (Key.NITRITE, "mg/L"),
    "nitrate": (Key.NITRATE, "mg/L"),
    "temperature": (Key.TEMPERATURE, "°C"),
    "oxygen": (Key.OXYGEN, "mg/L"),
}


def drain(
    desk: Desk,
    name: str,
    *,
    litres: float | None = None,
    beds: Sequence[str] = (),
    vessel: bool = False,
    on: date | None = None,
) -> Outcome:
    """Write that the solids were drained, and where they went.

    Raises Refusal for solids of a treated loop that are meant for beds or the vessel.
    """
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    loop = loop_called(holding, name)
    if litres is not None and litres < 0:
        raise Misuse(f"a volume of {litres:g} L cannot be drained")
    hold = water_hold(loop, day)
    if hold is not None and (beds or vessel):
        raise Refusal(
            f"{hold.why}: none of its water is to be used before {hold.until}; "
            "leave --to out to write a drain that went to waste"
        )
    act = Drained(loop=name, litres=litres, beds=tuple(beds), vessel=vessel)
    _, entries = write(desk, day, [act])
    units = holding.houses[loop.house].units
    much = "" if litres is None else f" {volume_text(litres, units)}"
    said = [f"{name}: solids drained{much} on {day_text(day)}"]
    said += _where_to(holding, loop, act, units)
    return Outcome(said=tuple(said), entries=numbers(entries))


def _where_to(holding: Holding, loop: Loop, act: Drained, units: Units) -> list[str]:
    if act.vessel:
        return ["  in the vessel: strong air for 8 to 10 days from today, then settle it"]
    if not act.beds:
        return []
    said = []
    if act.litres:
        holds = {code: float(holding.places[code].holds) for code in act.beds}
        doses = bed_doses(act.litres, holds)
        told = [f"{code} {volume_text(dose, units)}" for code, dose in doses.items()]
        said.append(f"  by the plants each holds: {list_text(told, most=8)}")
    wait = holding.houses[loop.house].solids_wait_days
    said.append(
        "  never on what is eaten; "
        + (
            "no wait is set: check your authority, and 'cropplan house set --solids-wait' keeps one"
            if wait is None
            else f"picks there carry your wait of {wait} days; check your authority"
        )
    )
    return said


def write_test(
    desk: Desk, name: str, values: Mapping[str, float], *, on: date | None = None
) -> Outcome:
    """Write water tests. A reading that cannot be is asked about, not stored.

    The extra test after a reading out of range leaves the day of the routine test where it was.
    """
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    loop = loop_called(holding, name)
    for key, value in values.items():
        _refuse_unlikely(key, value)
    again = _is_extra(desk, holding, loop, day)
    after, entries = write(desk, day, [Tested(loop=name, values=dict(values), again=again)])
    spoken = ", ".join(f"{key} {value:g} {TESTS[key][1]}".strip() for key, value in values.items())
    said = [f"{name}: {spoken} on {day_text(day)}"]
    said += _swing(holding, loop, values, day)
    said += _findings(scene_on(desk, after, today_in(desk, first_house(after))), name, day)
    return Outcome(said=tuple(said), entries=numbers(entries))


def _refuse_unlikely(key: str, value: float) -> None:
    if key not in TESTS:
        near = did_you_mean(key, TESTS) or f"; write {', '.join(TESTS)}"
        raise Misuse(f"no test is called '{key}'{near}")
    kind, _ = TESTS[key]
    low, high = POSSIBLE[kind]
    if not low <= value <= high:
        guess = perhaps_meant(kind, value)
        meant = "" if guess is None else f"; was {guess:.3g} meant?"
        raise Refusal(f"{key} {value:g} cannot be ({low:g} to {high:g}){meant}")


def _is_extra(desk: Desk, holding: Holding, loop: Loop, day: date) -> bool:
    """Whether a test is the extra one asked for, on a day when the routine one is not due."""
    scene = scene_on(desk, holding, day)
    about = subject(SubjectKind.LOOP, loop.name)
    open_now = {t.key.duty: t for t in open_tasks(scene) if t.key.subject == about}
    routine = open_now.get(TEST_WATER)
    routine_due = routine is not None and routine.state is not State.COMING
    return TEST_AGAIN in open_now and not routine_due


def _swing(holding: Holding, loop: Loop, values: Mapping[str, float], day: date) -> list[str]:
    before = holding.tests.get((loop.name, "ph"))
    if before is None or before.day != day or "ph" not in values:
        return []
    if ph_swing(before.value, values["ph"], hours=12) is None:
        return []
    return [
        f"  pH {before.value:g} to {values['ph']:g} within the day: so quick a change harms fish"
    ]


def _findings(scene: Scene, name: str, day: date) -> list[str]:
    loop = scene.holding.loops[name]
    tests = judged_tests(scene, loop)
    units = scene.holding.houses[loop.house].units
    if tests is None:
        return []
    said = []
    for finding in (*tests.urgent, *tests.to_watch):
        if tests.found_on(finding) == day:
            word = "AT ONCE" if finding.severity is Severity.URGENT else "watch"
            said.append(f"  {word}: {finding_text(finding, units)}")
    if tests.urgent:
        said.append("  the rounds say what to do first; test again tomorrow")
    return said


def weigh(desk: Desk, name: str, count: int, mean_g: float, *, on: date | None = None) -> Outcome:
    """Write a weighing of some of the fish: how many, and their mean weight. [g]"""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    before = loop_called(holding, name)
    if count < 1 or mean_g <= 0:
        raise Misuse(f"{count} fish of {mean_g:g} g each cannot have been weighed")
    if before.fish is not None and count > before.fish:
        raise Refusal(f"{count} fish weighed, but {name} holds {before.fish}; 'loop set --count'")
    after, entries = write(desk, day, [Weighed(loop=name, count=count, mean_g=mean_g)])
    units = holding.houses[before.house].units
    said = [f"{name}: {count} fish weighed on {day_text(day)}, {mass_text(mean_g, units)} each"]
    now = after.loops[name]
    earlier = before.weighed_on is not None and before.weighed_on < day
    if before.weighed_on is not None and earlier and before.weight_g:
        gained = mass_text(mean_g - before.weight_g, units)
        fed = mass_text(before.fed_since_weighing_g, units)
        told = f"  {gained} each since {day_text(before.weighed_on, day)} on {fed} of feed"
        if now.fcr is not None and now.fcr != before.fcr:
            told += f": {now.fcr:.1f} of feed for 1 of growth"
        said.append(told)
    return Outcome(said=tuple(said), entries=numbers(entries))


def top_up(desk: Desk, name: str, litres: float, *, on: date | None = None) -> Outcome:
    """Write water added; an amount out of the ordinary asks about a leak."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    loop = loop_called(holding, name)
    if not 0 < litres <= loop.volume_l:
        raise Refusal(
            f"{litres:g} L added to a loop of {loop.volume_l:g} L cannot be; "
            "write such as 18L or 5gal"
        )
    after, entries = write(desk, day, [ToppedUp(loop=name, litres=litres)])
    units = holding.houses[loop.house].units
    said = [f"{name}: {volume_text(litres, units)} added on {day_text(day)}"]
    last = last_top_up(scene_on(desk, after, today_in(desk, first_house(after))), after.loops[name])
    if last is not None and last.day == day and last.judged.question is not LevelQuestion.NOTHING:
        said.append(f"  {last.judged.question.value}? {last.words}")
    return Outcome(said=tuple(said), entries=numbers(entries))


def treat(
    desk: Desk,
    name: str,
    what: str,
    *,
    no_eat_until: date | None = None,
    no_water_until: date | None = None,
    on: date | None = None,
) -> Outcome:
    """Write a treatment of fish or water, and until when nothing of it may be eaten or used."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    loop_called(holding, name)
    if not what.strip():
        raise Misuse("say what the treatment was, such as salt")
    if no_eat_until is None and no_water_until is None:
        raise Misuse(
            "say how long to wait, as the label or the vet does: --no-eat-until DATE, "
            "--no-water-until DATE or both"
        )
    for until in (no_eat_until, no_water_until):
        if until is not None and until <= day:
            raise Misuse(f"a wait until {until} is over on {day} already; give the day it ends")
    act = Treated(
        loop=name,
        what=" ".join(what.split()),
        no_eat_until=no_eat_until,
        no_water_until=no_water_until,
    )
    _, entries = write(desk, day, [act])
    said = [f"{name}: treated with {act.what} on {day_text(day)}"]
    if no_eat_until is not None:
        said.append(f"  nothing of it is to be eaten before {day_text(no_eat_until, day)}")
    if no_water_until is not None:
        said.append(f"  its water is not to be used before {day_text(no_water_until, day)}")
    return Outcome(said=tuple(said), entries=numbers(entries))


def went_without(
    desk: Desk, what: Failing, *, house: str | None = None, on: date | None = None
) -> Outcome:
    """Write that the power or the heat of a house failed; what it asks for comes by itself."""
    holding = desk.record.snapshot()
    there = house_called(holding, house)
    day = day_done(desk, holding, on)
    _, entries = write(desk, day, [WentWithout(house=there.name, what=what)])
    said = f"{there.name}: {what.value} failed on {day_text(day)}; the rounds hold what follows"
    return Outcome(said=(said,), entries=numbers(entries))
