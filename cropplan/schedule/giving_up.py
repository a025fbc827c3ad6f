"""Cuttings that wait too long: the chance that they still root, and when to strike again instead.

Not every cutting roots, and one long past its time is either slow or dead; the longer it waits, the
likelier dead (`growth.rooting.will_still_root`).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from cropplan.catalogue.model import Crop, Duty, Trigger
from cropplan.growth.rooting import GIVE_UP_BELOW, give_up_at, will_still_root
from cropplan.growth.stages import catalogue_spread, finish, progress
from cropplan.holding.planting import CLONAL, Planting, Stage
from cropplan.holding.span import Basis
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.interval import ASKED_AGAIN, after_skip
from cropplan.schedule.lengths import pace_for
from cropplan.schedule.planting_calls import call_for
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import days_text

#: No crop's cuttings all root; a share given as 1 is held to this. Common practice, no source.
_MOST = 0.98
#: Days after the day of giving up until the tray is taken as forgotten. Common practice, no source.
_GRACE = 7


def giving_up_calls(scene: Scene, planting: Planting) -> Iterator[Call]:
    """The question whether to go on waiting for a tray of cuttings, once its day has come."""
    crop = scene.catalogue.crops[planting.crop]
    for duty in scene.catalogue.duties.values():
        if duty.trigger is not Trigger.GIVE_UP or planting.stage not in duty.stages:
            continue
        turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, planting.tag))
        window = _window(scene, duty, crop, planting)
        if window is not None and turn.last_done is None:
            window = after_skip(window, turn, ASKED_AGAIN)
            plants = planting.count - planting.rooted
            yield call_for(scene, duty, planting, crop, turn, window, plants=plants)


def share_to_come(scene: Scene, crop: Crop, planting: Planting) -> float:
    """The share of a planting's unrooted plants that will still root or come up. [-]"""
    success = _success(scene, crop, planting)
    key = f"{planting.way.value}_days_to_root"
    if planting.started is None or key not in crop.values or planting.way not in CLONAL:
        return success
    pace = pace_for(crop, key)
    spread = scene.lessons.spreads.get((crop.id, key)) or catalogue_spread(pace)
    waited = progress(pace, planting.started, scene.today, scene.weather_for(planting))
    return will_still_root(success, spread.still_waiting(waited))


def _window(scene: Scene, duty: Duty, crop: Crop, planting: Planting) -> Window | None:
    key = f"{planting.way.value}_days_to_root"
    start = planting.seen.get(Stage.STRUCK)
    if start is None or planting.started_give or planting.rooted == planting.count:
        return None
    success = min(_MOST, _success(scene, crop, planting))
    if key not in crop.values or success <= GIVE_UP_BELOW:
        return None
    pace = pace_for(crop, key)
    spread = scene.lessons.spreads.get((crop.id, key)) or catalogue_spread(pace)
    day = finish(pace, start, scene.weather_for(planting), give_up_at(success, spread))
    if day is None or day > scene.today:
        return None
    chance = share_to_come(scene, crop, planting)
    why = f"struck {days_text((scene.today - start).days)} ago; {chance:.0%} chance left of rooting"
    return Window(
        due=day,
        earliest=day,
        latest=day + timedelta(days=max(_GRACE, duty.again)),
        why=why,
        basis=Basis.PREDICTED,
    )


def _success(scene: Scene, crop: Crop, planting: Planting) -> float:
    key = f"{planting.way.value}_success"
    believed = scene.lessons.successes.get((crop.id, key))
    if believed is not None:
        return believed.mean
    figure = crop.values.get(key)
    return 1.0 if figure is None else min(1.0, figure.typical)
