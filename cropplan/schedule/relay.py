"""The relay: striking the next plants in time, topping and pulling the old ones.

A cutting date is counted back from the wanted first pick, which is the day the old plant's last
one is near, through the stage lengths of that time of year.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from cropplan.catalogue.model import Crop, Duty, Trigger
from cropplan.growth.rooting import how_many_to_strike, how_many_to_strike_believing
from cropplan.holding.holding import Turn
from cropplan.holding.planting import CLONAL, Origin, Planting, Stage
from cropplan.holding.span import Basis, Dated
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.backward import begin_by, first_pick
from cropplan.schedule.call import Call, Window
from cropplan.schedule.clones import is_last_of_clone, mothers_for
from cropplan.schedule.interval import ASKED_AGAIN, after_skip
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.planned import planned_crops, planned_end
from cropplan.schedule.planting_calls import call_for
from cropplan.schedule.scene import Scene
from cropplan.schedule.succession import Claim, gone_lately, open_claims
from cropplan.schedule.wording import begin_words, day_text, list_text, plants_text, span_text

#: Days to spare for losses and slow rooting when a cutting date is counted back. Memory of general
#: growers' practice; the grower's own interval for the duty replaces it.
SLACK = 7
#: A strike may be done so long before its date, for shoots come when plants are pruned. [d]
#: Common practice, no source.
OPENS_BEFORE = 7
#: How sure to be that enough of what is struck will root. Common practice, no source.
CERTAINTY = 0.9

#: A plant seen spent may stand so much longer before its place is waited for. [d]
#: Common practice, no source.
TO_CLEAR = 7
#: A lost plant is made up for within so many days before the line is late. [d]
#: Common practice, no source.
TO_MAKE_UP = 7
_OTHERWISE = {Origin.SEED: "sow", Origin.BOUGHT_IN: "buy in"}


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
    living: dict[str, list[Planting]] = defaultdict(list)
    gone: dict[str, list[Planting]] = defaultdict(list)
    for planting in scene.holding.plantings.values():
        if planting.alive and scene.holding.places[planting.place].house == house:
            living[planting.crop].append(planting)
    for planting in gone_lately(scene, house):
        gone[planting.crop].append(planting)
    left_to_plan = planned_crops(scene)
    for crop_id in dict.fromkeys((*living, *gone)):
        crop = scene.catalogue.crops.get(crop_id)
        for duty in scene.catalogue.duties.values() if crop else ():
            if crop is None or (duty.habits and crop.habit not in duty.habits):
                continue
            if duty.trigger is Trigger.REPLACE and crop_id not in left_to_plan:
                yield from _strikes(scene, duty, crop, living[crop_id], gone[crop_id])
            elif duty.trigger in {Trigger.TOP, Trigger.PULL}:
                yield from _once(scene, duty, crop, living[crop_id])


def _strikes(
    scene: Scene, duty: Duty, crop: Crop, living: Sequence[Planting], gone: Sequence[Planting]
) -> Iterator[Call]:
    way = usual_way(crop)
    for claim in open_claims(scene, duty, crop, living, gone):
        turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, claim.planting.tag))
        window = _strike_window(scene, duty, crop, claim)
        if window is None:
            continue
        window = after_skip(window, turn, ASKED_AGAIN)
        # Each line asks for what makes its own share of all that are wanted as sure as need be:
        # four together need fewer to spare than four alone.
        together = to_begin(crop, way, claim.begin_with + claim.count, scene.lessons)
        before = to_begin(crop, way, claim.begin_with, scene.lessons) if claim.begin_with else 0
        job = begin_words(way.value).replace("{name}", crop.name.lower())
        yield call_for(
            scene, duty, claim.planting, crop, turn, window, plants=together - before, job=job
        )


def _strike_window(scene: Scene, duty: Duty, crop: Crop, claim: Claim) -> Window | None:
    if claim.ends is None:
        return _at_once(scene, crop, claim)
    return _before_the_end(scene, duty, crop, claim.planting, claim.ends)


def _at_once(scene: Scene, crop: Crop, claim: Claim) -> Window:
    """A plant that went before its time is made up for as soon as can be."""
    planting, way = claim.planting, usual_way(crop)
    word = "lost" if planting.stage is Stage.LOST else "pulled"
    reason = f" ({planting.ended_why})" if planting.ended_why else ""
    why = f"{planting.tag} was {word} on {day_text(claim.on, scene.today)}{reason}, none follows it"
    told = first_pick(crop, way, scene.today, scene.weather_for(planting), scene.lessons)
    why += f"; begun today it comes {day_text(told.likely, scene.today)}" if told else ""
    if way in CLONAL:
        why += _from_which(scene, crop, planting, scene.today)
    latest = claim.on + timedelta(days=TO_MAKE_UP)
    return Window(due=claim.on, earliest=claim.on, latest=latest, why=why)


def _before_the_end(
    scene: Scene, duty: Duty, crop: Crop, planting: Planting, ends: Dated
) -> Window | None:
    way, weather = usual_way(crop), scene.weather_for(planting)
    overlap = crop.values.get("overlap")
    wanted = ends.likely - timedelta(days=round(overlap.typical) if overlap else 0)
    last = begin_by(crop, way, wanted, weather, scene.lessons)
    if last is None:
        return None
    own = scene.holding.settings.get(duty.id)
    spare = SLACK if own is None or own.every_days is None else own.every_days
    # A short-lived crop may need its successor before it was itself begun; it is asked for then.
    born = planting.started or min(planting.seen.values(), default=last)
    due = max(last - timedelta(days=spare), born)
    why = (
        f"{planting.tag} tires about {span_text(ends.earliest, ends.latest)}; "
        f"first pick wanted {span_text(wanted, wanted)}"
    )
    if last < scene.today:
        told = first_pick(crop, way, scene.today, weather, scene.lessons)
        why += f"; begun today it comes {day_text(told.likely, scene.today)}" if told else ""
    if way in CLONAL:
        why += _from_which(scene, crop, planting, max(due, scene.today))
    return Window(
        due=due,
        earliest=due - timedelta(days=OPENS_BEFORE),
        latest=max(last, due),
        why=why,
        basis=Basis.PREDICTED,
    )


def _from_which(scene: Scene, crop: Crop, planting: Planting, day: date) -> str:
    """Which plants to take from, or what else could be done when there is none."""
    living = [p for p in scene.holding.plantings.values() if p.alive]
    mothers = [p.tag for p in mothers_for(planting, crop, living, day)]
    if mothers:
        return f"; from {list_text(mothers, most=3)}"
    others = [_OTHERWISE[way] for way in crop.ways if way in _OTHERWISE]
    if planting.alive:
        others.append(f"or keep {planting.tag} on")
    return "; no plant is fit to take from" + (f": {', '.join(others)}" if others else "")


def _by_end(
    scene: Scene, duty: Duty, plantings: Sequence[Planting]
) -> list[tuple[Planting, Dated]]:
    """The plantings to be replaced with the end of their picking, the first to tire first."""
    ends = [
        (planting, scene.timelines[planting.tag].dates[Stage.SPENT])
        for planting in plantings
        if planting.stage in duty.stages and Stage.SPENT in scene.timelines[planting.tag].dates
    ]
    return sorted(ends, key=lambda pair: (pair[1].likely, pair[0].tag))


def _once(scene: Scene, duty: Duty, crop: Crop, plantings: Sequence[Planting]) -> Iterator[Call]:
    for planting, ends in _by_end(scene, duty, plantings):
        turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLANTING, planting.tag))
        if duty.trigger is Trigger.TOP:
            window = _top(crop, _as_planned(scene, planting, ends))
        else:
            window = _pull(scene, planting, ends)
        if window is not None and not _settled(turn, ends):
            window = after_skip(window, turn, ASKED_AGAIN)
            yield call_for(scene, duty, planting, crop, turn, window)


def _settled(turn: Turn, ends: Dated) -> bool:
    """Whether it was done or found not needed, and the plant was not seen spent since."""
    if turn.last_done is None:
        return False
    return ends.basis is not Basis.SEEN or ends.likely <= turn.last_done


def _top(crop: Crop, ends: Dated) -> Window | None:
    figure = crop.values.get("top_before_end")
    if figure is None:
        return None
    return Window(
        due=ends.likely - timedelta(days=round(figure.typical)),
        earliest=ends.likely - timedelta(days=round(figure.most)),
        latest=ends.likely - timedelta(days=round(figure.least)),
        why=f"picking ends about {span_text(ends.earliest, ends.latest)}; "
        f"the last fruit needs {figure.typical:.0f} days",
        basis=Basis.PREDICTED,
    )


def _as_planned(scene: Scene, planting: Planting, ends: Dated) -> Dated:
    """The end that the plan in force gives a planting, where none was seen."""
    planned = planned_end(scene, planting)
    if planned is None or ends.basis is Basis.SEEN:
        return ends
    return Dated(likely=planned, earliest=planned, latest=planned, basis=Basis.PLANNED)


def _pull(scene: Scene, planting: Planting, ends: Dated) -> Window:
    planned = planned_end(scene, planting)
    if planned is not None and ends.basis is not Basis.SEEN:
        why = f"season plan: pulled on {day_text(planned, scene.today)}"
        return Window(due=planned, earliest=planned, latest=planned, why=why, basis=Basis.PLANNED)
    why, latest = f"tired about {span_text(ends.earliest, ends.latest)}", ends.latest
    if ends.basis is Basis.SEEN:
        why = f"seen spent on {span_text(ends.likely, ends.likely)}"
        latest = ends.likely + timedelta(days=TO_CLEAR)
    living = (p for p in scene.holding.plantings.values() if p.alive)
    if is_last_of_clone(planting, living):
        why += f"; the last of its clone ({plants_text(planting.count)}): take cuttings first"
    return Window(due=ends.likely, earliest=ends.earliest, latest=latest, why=why, basis=ends.basis)
