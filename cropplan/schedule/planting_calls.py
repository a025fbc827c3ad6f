"""What a planting asks for: work that comes round while in a stage, and stages to look for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from cropplan.catalogue.model import Crop, Duty, Trigger
from cropplan.growth.stages import finish
from cropplan.holding.holding import Turn
from cropplan.holding.planting import BEARING, Planting, Stage
from cropplan.holding.span import Basis
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.interval import Interval, interval_of, lapsed, next_turn
from cropplan.schedule.lengths import pace_for
from cropplan.schedule.scene import Scene
from cropplan.schedule.timeline import Timeline
from cropplan.schedule.wording import days_text, span_text

STRIP_FLOWERS = "strip-flowers"
JUDGE_AGE = "judge-age"


def planting_calls(scene: Scene, planting: Planting) -> Iterator[Call]:
    """The open turns of all interval and watch duties with one living planting."""
    crop = scene.catalogue.crops[planting.crop]
    for duty in scene.catalogue.duties.values():
        if duty.subject is not SubjectKind.PLANTING or not _suits(scene, duty, planting, crop):
            continue
        turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, planting.tag))
        if duty.trigger is Trigger.INTERVAL:
            interval = _interval(scene, duty, crop)
            if interval is not None:
                yield _interval_call(scene, duty, planting, crop, turn, interval)
        elif duty.trigger is Trigger.WATCH:
            window = _watch(scene, duty, planting, turn)
            if window is not None:
                yield call_for(scene, duty, planting, crop, turn, window, every=duty.again)


def call_for(
    scene: Scene,
    duty: Duty,
    planting: Planting,
    crop: Crop,
    turn: Turn,
    window: Window,
    *,
    every: int | None = None,
    plants: int | None = None,
    job: str | None = None,
) -> Call:
    """A call about one planting, standing where it stands."""
    return Call(
        duty=duty,
        subject=turn.subject,
        turn=turn.number,
        window=window,
        house=scene.holding.places[planting.place].house,
        places=(planting.place,),
        thing=crop.id,
        thing_code=crop.tag,
        named=crop.plural,
        plants=planting.count if plants is None else plants,
        every=every,
        job=job,
    )


def _suits(scene: Scene, duty: Duty, planting: Planting, crop: Crop) -> bool:
    if duty.stages and planting.stage not in duty.stages:
        return False
    if duty.origins and planting.way not in duty.origins:
        return False
    if duty.habits and crop.habit not in duty.habits:
        return False
    if duty.pollinations:
        pollinated = crop.pollination in duty.pollinations
        if not pollinated or planting.by_insects or _stripping(scene, planting, crop):
            return False
    if duty.id == STRIP_FLOWERS:
        return _stripping(scene, planting, crop)
    if duty.id == JUDGE_AGE:
        return planting.stage in BEARING and age_unknown(planting)
    return True


def age_unknown(planting: Planting) -> bool:
    """Whether nobody wrote when the planting began to bear, so that its end cannot be reckoned."""
    return not (BEARING & set(planting.seen))


def _stripping(scene: Scene, planting: Planting, crop: Crop) -> bool:
    figure = crop.values.get("strip_flowers_for")
    set_out = planting.seen.get(Stage.SET_OUT)
    if figure is None or set_out is None:
        return False
    return (scene.today - set_out).days < figure.typical


def _interval(scene: Scene, duty: Duty, crop: Crop) -> Interval | None:
    figure = duty.every if duty.every_key is None else crop.values.get(duty.every_key)
    if figure is None:
        return None
    return interval_of(figure, scene.holding.settings.get(duty.id))


def _interval_call(
    scene: Scene, duty: Duty, planting: Planting, crop: Crop, turn: Turn, interval: Interval
) -> Call:
    began = _condition_began(duty, planting)
    window = next_turn(turn, interval, began=began, first_after=duty.first_after, today=scene.today)
    window = _not_before(window, began)
    window = lapsed(window, duty.keeps, scene.today)
    return call_for(scene, duty, planting, crop, turn, window, every=interval.typical)


def _condition_began(duty: Duty, planting: Planting) -> date | None:
    """The first day the planting was in one of the duty's stages, when somebody wrote it."""
    if not duty.stages:
        return planting.started
    entered = [day for stage, day in planting.seen.items() if stage in duty.stages]
    if planting.stage in duty.stages and planting.since is not None:
        entered.append(planting.since)
    return min(entered, default=None)


def _not_before(window: Window, began: date | None) -> Window:
    """A condition that began again after a rest does not make its old arrears due."""
    if began is None or window.latest >= began:
        return window
    return replace(window, due=began, earliest=min(window.earliest, began), latest=began)


def _watch(scene: Scene, duty: Duty, planting: Planting, turn: Turn) -> Window | None:
    """When to look for the stage a duty waits for; None once it has been seen or is unforeseeable.

    First on the likely day, then every so often until it is seen. Plants whose beginning nobody
    wrote are looked at now. A stage seen on part of a planting is still looked for on the rest.
    """
    awaits = duty.awaits
    if awaits is None or not _still_awaited(planting, awaits):
        return None
    timeline: Timeline = scene.timelines[planting.tag]
    guess = timeline.first_guess.get(awaits)
    looked = turn.answered
    if guess is None:
        if planting.started is not None and looked is None:
            return None
        day = scene.today if looked is None else looked + timedelta(days=duty.again)
        return Window(due=day, earliest=day, latest=day, why="age not known", basis=Basis.PREDICTED)
    span = span_text(guess.earliest, guess.latest)
    due, earliest, latest = guess.likely, guess.earliest, guess.latest
    why = f"expected {span}{moved_text(scene, planting, awaits)}"
    if awaits is Stage.SET_OUT:
        hold = scene.catalogue.crops[planting.crop].values.get("days_can_hold")
        latest = guess.likely + timedelta(days=round(hold.typical) if hold else duty.again)
        why = f"fit to set out {span}, can wait until {span_text(latest, latest)}"
    if looked is not None and looked >= earliest:
        due = max(due, looked + timedelta(days=duty.again))
        latest = max(latest, due)
        why = f"looked {days_text((scene.today - looked).days)} ago; {why}"
    elif due < scene.today and awaits is not Stage.SET_OUT:
        late = (scene.today - due).days
        why = f"{why}, {days_text(late)} past the likely day"
    return Window(due=due, earliest=earliest, latest=latest, why=why, basis=Basis.PREDICTED)


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


def _still_awaited(planting: Planting, stage: Stage) -> bool:
    if stage in {Stage.ROOTED, Stage.EMERGED} and stage in planting.seen:
        return planting.rooted < planting.count and planting.stage is stage
    return stage not in planting.seen
