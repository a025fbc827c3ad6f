"""The relay: striking the next plants in time, topping and pulling the old ones.

A cutting date is counted back from the wanted first pick, which is the day the old plant's last
one is near, through the stage lengths of that time of year.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from cropplan.catalogue.model import Catalogue, Crop, Duty, Trigger
from cropplan.growth.rooting import how_many_to_strike, how_many_to_strike_believing
from cropplan.growth.stages import Weather, start_for
from cropplan.holding.planting import BEARING, CLONAL, RAISING, Origin, Planting, Stage
from cropplan.holding.span import Basis, Dated
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.lengths import pace_for, steps_from
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.planting_calls import call_for
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import plants_text, span_text

#: Days to spare for losses and slow rooting when a cutting date is counted back. Memory of general
#: growers' practice; the grower's own interval for the duty replaces it.
SLACK = 7
#: A strike may be done so long before its date, for shoots come when plants are pruned. [d]
#: Common practice, no source.
OPENS_BEFORE = 7
#: How sure to be that enough of what is struck will root. Common practice, no source.
CERTAINTY = 0.9

_VERBS = {
    Origin.CUTTING: "Strike {n} {crop}",
    Origin.RUNNER: "Peg {n} runners of {crop}",
    Origin.DIVISION: "Divide {n} {crop}",
    Origin.SLIP: "Strike {n} slips of {crop}",
    Origin.LAYER: "Layer {n} {crop}",
    Origin.SEED: "Sow {n} {crop}",
    Origin.BOUGHT_IN: "Order {n} {crop}",
}


def begin_by(
    crop: Crop, way: Origin, pick: date, weather: Weather, lessons: Lessons
) -> date | None:
    """The last day to begin so that the likely first pick falls on `pick`, without slack.

    None when the catalogue lacks a stage on the way, or it would take longer than three years.
    """
    day: date | None = pick
    for _, end, key in reversed(steps_from(crop, way)):
        if end is Stage.SPENT:
            continue
        if day is None:
            return None
        taught = lessons.spreads.get((crop.id, key))
        ratio = 1.0 if taught is None else taught.median
        day = start_for(pace_for(crop, key), day, weather, ratio)
    return day


def usual_way(crop: Crop) -> Origin:
    """How the crop is usually begun here: the first way that the catalogue names."""
    return crop.ways[0]


def to_begin(crop: Crop, way: Origin, wanted: int, lessons: Lessons) -> int:
    """How many to strike or sow so that `wanted` plants come of it, with `CERTAINTY`.

    By the house's own successes and failures once it has any, by the catalogue's share before.
    """
    key = f"{way.value}_success"
    believed = lessons.successes.get((crop.id, key))
    if believed is not None:
        return how_many_to_strike_believing(wanted, believed, CERTAINTY)
    success = crop.values.get(key)
    if success is None:
        return wanted
    return how_many_to_strike(wanted, min(1.0, success.typical), CERTAINTY)


def relay_calls(scene: Scene, house: str) -> Iterator[Call]:
    """Strikes that keep the picking going, tops and pulls, for the plantings of one house."""
    weather = scene.weathers[house]
    by_crop: dict[str, list[Planting]] = defaultdict(list)
    for planting in scene.holding.plantings.values():
        if planting.alive and scene.holding.places[planting.place].house == house:
            by_crop[planting.crop].append(planting)
    for crop_id, plantings in by_crop.items():
        crop = scene.catalogue.crops[crop_id]
        for duty in _duties(scene.catalogue, Trigger.REPLACE, crop):
            yield from _strikes(scene, duty, crop, plantings, weather)
        for planting in plantings:
            for duty in _duties(scene.catalogue, Trigger.TOP, crop):
                yield from _once(scene, duty, crop, planting, _top(scene, crop, planting))
            for duty in _duties(scene.catalogue, Trigger.PULL, crop):
                yield from _once(scene, duty, crop, planting, _pull(scene, plantings, planting))


def _duties(catalogue: Catalogue, trigger: Trigger, crop: Crop) -> list[Duty]:
    return [
        duty
        for duty in catalogue.duties.values()
        if duty.trigger is trigger and (not duty.habits or crop.habit in duty.habits)
    ]


def _strikes(
    scene: Scene, duty: Duty, crop: Crop, plantings: Sequence[Planting], weather: Weather
) -> Iterator[Call]:
    way = usual_way(crop)
    coming = _successors(crop, plantings)
    for planting, ends in _by_end(scene, plantings):
        if coming >= planting.count:
            coming -= planting.count
            continue
        needed, coming = planting.count - coming, 0
        turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, planting.tag))
        if turn.number > 1:
            continue
        overlap = crop.values.get("overlap")
        first_pick = ends.likely - timedelta(days=round(overlap.typical) if overlap else 0)
        last = begin_by(crop, way, first_pick, weather, scene.lessons)
        if last is None:
            continue
        slack = scene.holding.settings.get(duty.id)
        spare = SLACK if slack is None or slack.every_days is None else slack.every_days
        due = last - timedelta(days=spare)
        window = Window(
            due=due,
            earliest=due - timedelta(days=OPENS_BEFORE),
            latest=last,
            why=f"{planting.tag} tires about {span_text(ends.earliest, ends.latest)}; "
            f"first pick wanted {span_text(first_pick, first_pick)}",
            basis=Basis.PREDICTED,
        )
        count = to_begin(crop, way, needed, scene.lessons)
        job = _VERBS[way].replace("{crop}", crop.plural)
        yield call_for(scene, duty, planting, crop, turn, window, plants=count, job=job)


def _successors(crop: Crop, plantings: Sequence[Planting]) -> int:
    """Plants on the way to bearing; of those not yet rooted, as many as are likely to."""
    total = 0.0
    for planting in plantings:
        if planting.stage in {Stage.STRUCK, Stage.SOWN}:
            success = crop.values.get(f"{planting.way.value}_success")
            total += planting.count * (success.typical if success else 1.0)
        elif planting.stage in RAISING or planting.stage in {Stage.SET_OUT, Stage.FLOWERING}:
            total += planting.count
    return round(total)


def _by_end(scene: Scene, plantings: Sequence[Planting]) -> list[tuple[Planting, Dated]]:
    """Bearing plantings with the end of their picking, the first to tire first."""
    ends = [
        (planting, scene.timelines[planting.tag].dates[Stage.SPENT])
        for planting in plantings
        if planting.stage in BEARING | {Stage.SPENT, Stage.RESTING}
        and Stage.SPENT in scene.timelines[planting.tag].dates
    ]
    return sorted(ends, key=lambda pair: (pair[1].likely, pair[0].tag))


def _once(
    scene: Scene, duty: Duty, crop: Crop, planting: Planting, window: Window | None
) -> Iterator[Call]:
    turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, planting.tag))
    if window is not None and turn.number == 1:
        yield call_for(scene, duty, planting, crop, turn, window)


def _top(scene: Scene, crop: Crop, planting: Planting) -> Window | None:
    figure = crop.values.get("top_before_end")
    ends = scene.timelines[planting.tag].dates.get(Stage.SPENT)
    standing = BEARING | {Stage.FLOWERING, Stage.SET_OUT}
    if figure is None or ends is None or planting.stage not in standing:
        return None
    due = ends.likely - timedelta(days=round(figure.typical))
    return Window(
        due=due,
        earliest=ends.likely - timedelta(days=round(figure.most)),
        latest=ends.likely - timedelta(days=round(figure.least)),
        why=f"picking ends about {span_text(ends.earliest, ends.latest)}; "
        f"the last fruit needs {figure.typical:.0f} days",
        basis=Basis.PREDICTED,
    )


def _pull(scene: Scene, plantings: Sequence[Planting], planting: Planting) -> Window | None:
    ends = scene.timelines[planting.tag].dates.get(Stage.SPENT)
    if ends is None or planting.stage not in BEARING | {Stage.SPENT}:
        return None
    why = f"tired about {span_text(ends.earliest, ends.latest)}"
    if ends.basis is Basis.SEEN:
        why = f"seen spent on {span_text(ends.likely, ends.likely)}"
    if is_last_of_clone(planting, plantings):
        why += f"; the last of its clone ({plants_text(planting.count)}): take cuttings first"
    return Window(
        due=ends.likely, earliest=ends.earliest, latest=ends.latest, why=why, basis=ends.basis
    )


def is_last_of_clone(planting: Planting, plantings: Sequence[Planting]) -> bool:
    """Whether no other living planting carries the clone; only clonal crops are asked about."""
    clonal = planting.way in CLONAL or planting.generation > 0
    return clonal and not any(
        other.clone == planting.clone and other.tag != planting.tag and other.alive
        for other in plantings
    )
