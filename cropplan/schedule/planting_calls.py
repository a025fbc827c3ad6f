"""What a planting asks for: work that comes round while in a stage, and stages to look for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from cropplan.catalogue.model import Crop, Duty, Trigger
from cropplan.holding.holding import Turn
from cropplan.holding.planting import BEARING, Planting, Stage
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import PICK, turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.interval import Interval, interval_of, lapsed, next_turn
from cropplan.schedule.scene import Scene
from cropplan.schedule.watch import watch_window

STRIP_FLOWERS = "strip-flowers"
JUDGE_AGE = "judge-age"


def planting_calls(scene: Scene, planting: Planting) -> Iterator[Call]:
    """The open turns of all interval and watch duties with one living planting."""
    crop = scene.catalogue.crops[planting.crop]
    for duty in scene.catalogue.duties.values():
        if duty.stages and planting.stage not in duty.stages:
            continue
        if not concerns(scene, duty, planting, crop):
            continue
        turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, planting.tag))
        if duty.trigger is Trigger.INTERVAL:
            interval = interval_for(scene, duty, crop)
            if interval is not None:
                yield _interval_call(scene, duty, planting, crop, turn, interval)
        elif duty.trigger is Trigger.WATCH and duty.awaits is not None:
            window = watch_window(scene, duty, duty.awaits, planting, turn)
            if window is not None:
                yield call_for(scene, duty, planting, crop, turn, window)


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
        name=crop.name.lower(),
        cautions=crop.cautions if _touches_the_crop(duty) else (),
        plants=planting.count if plants is None else plants,
        every=every,
        job=job,
    )


def concerns(scene: Scene, duty: Duty, planting: Planting, crop: Crop) -> bool:
    """Whether a duty has to do with a planting at all, in whatever stage it is."""
    if duty.subject is not SubjectKind.PLANTING:
        return False
    if duty.origins and planting.way not in duty.origins:
        return False
    if duty.habits and crop.habit not in duty.habits:
        return False
    if duty.pollinations:
        pollinated = crop.pollination in duty.pollinations and not planting.by_insects
        return pollinated and not _stripping(scene, planting, crop)
    if duty.id == STRIP_FLOWERS:
        return _stripping(scene, planting, crop)
    if duty.id == JUDGE_AGE:
        return age_unknown(planting)
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


def interval_for(scene: Scene, duty: Duty, crop: Crop) -> Interval | None:
    """How often a duty comes round with a crop; None when the crop has no figure for it."""
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
    """The first day of the duty's stages, since the planting last rested, if somebody wrote it."""
    if not duty.stages:
        return planting.started
    since, back = planting.since, date.min
    entered = [day for stage, day in planting.seen.items() if stage in duty.stages]
    if since is not None:
        entered.append(since)
        rests = {Stage.RESTING, Stage.SPENT} - duty.stages
        rested = (planting.seen.get(stage, date.min) for stage in rests)
        back = max((day for day in rested if day <= since), default=date.min)
    return min((day for day in entered if day >= back), default=None)


def _not_before(window: Window, began: date | None) -> Window:
    """A condition that began again after a rest does not make its old arrears due."""
    if began is None or window.latest >= began:
        return window
    return replace(window, due=began, earliest=min(window.earliest, began), latest=began)


def _touches_the_crop(duty: Duty) -> bool:
    """Whether the crop's own cautions, such as for what is eaten raw, go with the work."""
    first_cut = duty.awaits is Stage.PICKING
    return duty.id == PICK or first_cut or duty.trigger is Trigger.REPLACE
