"""Media renewal: the age belongs to the place, the work to the gap between crops."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from cropplan.catalogue.model import Duty, Figure, Trigger
from cropplan.holding.place import Place
from cropplan.holding.planting import Stage
from cropplan.holding.span import Basis
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import span_text

#: A place found empty is renewed at once when its medium has had this share of its life, rather
#: than planted again and renewed under the next crop. Common practice, no source.
WORTH_RENEWING = 0.75


def media_calls(scene: Scene) -> Iterator[Call]:
    """The renewal of every place in use whose medium ages or is under suspicion of disease."""
    for duty in scene.catalogue.duties.values():
        if duty.trigger is not Trigger.MEDIUM:
            continue
        for place in scene.holding.places.values():
            if place.medium is None or place.retired_on is not None:
                continue
            window = _renewal(scene, place)
            medium = scene.catalogue.media.get(place.medium)
            if window is None or medium is None:
                continue
            turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLACE, place.code))
            yield _call(duty, place, medium.name, turn.number, window)


def _call(duty: Duty, place: Place, medium: str, turn: int, window: Window) -> Call:
    return Call(
        duty=duty,
        subject=subject(SubjectKind.PLACE, place.code),
        turn=turn,
        window=window,
        house=place.house,
        places=(place.code,),
        thing=place.medium or "",
        thing_code=place.medium or "",
        named=medium,
    )


def _renewal(scene: Scene, place: Place) -> Window | None:
    today = scene.today
    if place.disease_on is not None:
        return Window(
            due=today,
            earliest=place.disease_on,
            latest=place.disease_on + timedelta(days=1),
            why=f"a diseased crop was pulled on {span_text(place.disease_on, place.disease_on)}; "
            "renew or disinfect before planting again",
        )
    medium = scene.catalogue.media.get(place.medium or "")
    life = None if medium is None else medium.values.get("life")
    if life is None or place.filled is None:
        return None
    return _in_the_gap(scene, place, place.filled, life)


def _in_the_gap(scene: Scene, place: Place, filled: date, life: Figure) -> Window:
    """The renewal kept for a gap between crops, never past the hard maximum."""
    soonest = filled + timedelta(days=round(min(life.least, life.typical * WORTH_RENEWING)))
    usual = filled + timedelta(days=round(life.typical))
    hard = filled + timedelta(days=round(life.most))
    age = f"filled {filled}, lasts about {life.typical / 30.4:.0f} months"
    standing = scene.holding.standing_in(place.code)
    if not standing:
        due = max(soonest, min(scene.today, usual))
        return Window(due=due, earliest=soonest, latest=hard, why=f"{age}; the place is empty")
    ends = [scene.timelines[p.tag].dates.get(Stage.SPENT) for p in standing]
    free = max((end.likely for end in ends if end is not None), default=None)
    if free is not None and soonest <= free <= hard:
        free = max(free, scene.today)
        why = f"{age}; kept for the gap when the crop ends"
        return Window(
            due=min(free, hard), earliest=soonest, latest=hard, why=why, basis=Basis.PREDICTED
        )
    why = f"{age}; no gap before the hard limit, {span_text(hard, hard)} {hard.year}"
    return Window(due=hard, earliest=soonest, latest=hard, why=why)
