"""Watches: when to look for a stage that has not been seen, and until when to go on looking."""

from __future__ import annotations

from datetime import timedelta

from cropplan.catalogue.model import Duty
from cropplan.growth.stages import finish
from cropplan.holding.holding import Turn
from cropplan.holding.planting import SPROUTED, Planting, Stage
from cropplan.holding.span import Basis
from cropplan.schedule.call import Window
from cropplan.schedule.lengths import pace_for
from cropplan.schedule.planned import planned_places
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import ago_text, days_text, list_text, span_text


def watch_window(
    scene: Scene, duty: Duty, awaits: Stage, planting: Planting, turn: Turn
) -> Window | None:
    """When to look for the stage a duty waits for; None once all of the planting has shown it.

    First on the likely day, then every so often until it is seen. What cannot be foreseen, for
    nobody wrote when the plants began, is looked for from now on.
    """
    if not still_awaited(planting, awaits):
        return None
    guess = scene.timelines[planting.tag].first_guess.get(awaits)
    looked = turn.answered
    if guess is None:
        since = looked or planting.since
        day = scene.today if since is None else since + timedelta(days=duty.again)
        part = f"{planting.rooted} of {planting.count} {awaits.value} so far"
        why = part if planting.stage is awaits else "no day to count from"
        why = _with_look(scene, turn, why)
        return Window(due=day, earliest=day, latest=day, why=why, basis=Basis.PREDICTED)
    span = span_text(guess.earliest, guess.latest)
    due, earliest, latest = guess.likely, guess.earliest, guess.latest
    why = f"expected {span}{moved_text(scene, planting, awaits)}"
    if awaits is Stage.SET_OUT:
        hold = scene.catalogue.crops[planting.crop].values.get("days_can_hold")
        latest = guess.likely + timedelta(days=round(hold.typical) if hold else duty.again)
        why = f"fit to set out {span}, can wait until {span_text(latest, latest)}"
        places = planned_places(scene, planting)
        why += f"; season plan: to {list_text(places, most=8)}" if places else ""
    if looked is not None and looked >= earliest:
        due = max(due, looked + timedelta(days=duty.again))
        latest = max(latest, due)
    elif due < scene.today and awaits is not Stage.SET_OUT:
        why = f"{why}, {days_text((scene.today - due).days)} past the likely day"
    why = _with_look(scene, turn, why)
    return Window(due=due, earliest=earliest, latest=latest, why=why, basis=Basis.PREDICTED)


def still_awaited(planting: Planting, stage: Stage) -> bool:
    """Whether a stage has yet to be seen, on the planting or on some of its plants."""
    if planting.stage is stage and stage in SPROUTED:
        return planting.rooted < planting.count
    return stage not in planting.seen


def moved_text(scene: Scene, planting: Planting, stage: Stage) -> str:
    """How far readings and setbacks moved a stage from where usual weather would have put it."""
    house = scene.holding.places[planting.place].house
    counted = scene.timelines[planting.tag].counted.get(stage)
    usual = scene.usual.get(house)
    if counted is None or usual is None:
        return ""
    begin, key = counted
    pace = pace_for(scene.catalogue.crops[planting.crop], key)
    taught = scene.lessons.spreads.get((planting.crop, key))
    ratio = 1.0 if taught is None else taught.median
    here = finish(pace, begin, scene.weather_for(planting), ratio)
    there = finish(pace, begin, usual, ratio)
    if here is None or there is None or here == there:
        return ""
    lost = [
        s
        for s in scene.holding.setbacks
        if s.house == house and s.crop in {None, planting.crop} and begin <= s.day < here
    ]
    cause = f"after {lost[-1].why}" if lost else "by the temperatures read"
    word = "later" if here > there else "earlier"
    return f", {days_text(abs((here - there).days))} {word} {cause}"


def _with_look(scene: Scene, turn: Turn, why: str) -> str:
    if turn.answered is None:
        return why
    return f"looked {ago_text((scene.today - turn.answered).days)}; {why}"
