"""Media renewal: the age belongs to the place, the work to the gap between crops."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from cropplan.catalogue.model import Duty, Figure, Medium, Trigger
from cropplan.holding.holding import Turn
from cropplan.holding.place import Place, PlaceKind
from cropplan.holding.planting import RAISING, Stage
from cropplan.holding.span import Basis
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.interval import ASKED_AGAIN, after_skip
from cropplan.schedule.planned import open_strikes, planned_end
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text, length_text

#: A place found empty is renewed at once when its medium has had this share of its life, rather
#: than planted again and renewed under the next crop. Common practice, no source.
WORTH_RENEWING = 0.75


def media_calls(scene: Scene) -> Iterator[Call]:
    """The renewal of every place in use whose medium ages or is under suspicion of disease."""
    for duty in scene.catalogue.duties.values():
        if duty.trigger is not Trigger.MEDIUM:
            continue
        for place in scene.holding.places.values():
            medium = scene.catalogue.media.get(place.medium or "")
            if medium is None or place.retired_on is not None:
                continue
            turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLACE, place.code))
            window = _renewal(scene, place, medium, turn)
            if window is not None:
                yield _call(duty, place, medium, turn, window)


def _call(duty: Duty, place: Place, medium: Medium, turn: Turn, window: Window) -> Call:
    return Call(
        duty=duty,
        subject=turn.subject,
        turn=turn.number,
        window=window,
        house=place.house,
        places=(place.code,),
        thing=medium.id,
        thing_code=medium.id,
        named=medium.name.lower(),
        cautions=medium.cautions,
    )


def _renewal(scene: Scene, place: Place, medium: Medium, turn: Turn) -> Window | None:
    if place.disease_on is not None:
        return Window(
            due=place.disease_on,
            earliest=place.disease_on,
            latest=place.disease_on + timedelta(days=1),
            why=f"a diseased crop stood there on {day_text(place.disease_on, scene.today)}; "
            "renew or disinfect before planting again",
        )
    life = medium.values.get("life")
    if life is None or place.filled is None:
        return None
    # A medium that was looked at and found good begins its time anew.
    since = max(place.filled, turn.last_done or place.filled)
    window = _in_the_gap(scene, place, since, life, medium.values.get("hard_maximum") or life)
    if turn.answered is not None and turn.answered <= since:
        return window
    return after_skip(window, turn, ASKED_AGAIN)


def _in_the_gap(scene: Scene, place: Place, since: date, life: Figure, limit: Figure) -> Window:
    """The renewal kept for a gap between crops, never past the hard maximum."""
    soonest = since + timedelta(days=round(min(life.least, life.typical * WORTH_RENEWING)))
    hard = since + timedelta(days=round(limit.most))
    age = f"filled {day_text(since, scene.today)}, lasts about {length_text(life.typical)}"
    if not scene.holding.standing_in(place.code):
        usual = since + timedelta(days=round(life.typical))
        due = max(soonest, min(scene.today, usual))
        return Window(due=due, earliest=soonest, latest=hard, why=f"{age}; the place is empty")
    free = next((day for day in _gaps(scene, place) if soonest <= day <= hard), None)
    if free is None:
        why = f"{age}; no gap known before the hard limit, {day_text(hard, scene.today)}"
        return Window(due=hard, earliest=soonest, latest=hard, why=why)
    return Window(
        due=min(max(free, scene.today), hard),
        earliest=soonest,
        latest=hard,
        why=f"{age}; kept for the gap when the crop ends",
        basis=Basis.PREDICTED,
    )


def _gaps(scene: Scene, place: Place) -> list[date]:
    """The days on which a place falls free, as far as is known: its crop's end, then the plan's."""
    free = _free_from(scene, place)
    if free is None:
        return []
    later = [
        strike.last_pick + timedelta(days=1)
        for strike, _ in open_strikes(scene)
        if place.code in strike.places
    ]
    return [free, *sorted(later)]


def _free_from(scene: Scene, place: Place) -> date | None:
    """The day on which the last of what stands in a place leaves it; None when that is unknown."""
    leave = []
    for planting in scene.holding.standing_in(place.code):
        raised = planting.stage in RAISING and place.kind in {PlaceKind.TRAY, PlaceKind.POT}
        leaves_at = Stage.SET_OUT if raised else Stage.SPENT
        planned = None if raised else planned_end(scene, planting)
        day = planned or scene.timelines[planting.tag].likely(leaves_at)
        if day is None:
            return None
        leave.append(day)
    return max(leave)
