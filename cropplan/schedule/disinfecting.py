"""Places without a medium from which a diseased crop was pulled: cleaned before they are used."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from cropplan.catalogue.model import Duty, Trigger
from cropplan.holding.holding import Turn
from cropplan.holding.place import Place, PlaceKind
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.interval import ASKED_AGAIN, after_skip
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text

_CALLED = {PlaceKind.HOLE: "raft hole"}


def disinfect_calls(scene: Scene) -> Iterator[Call]:
    """Every suspected place that has no medium to renew; one with a medium is renewed instead."""
    for duty in scene.catalogue.duties.values():
        if duty.trigger is not Trigger.DISEASE:
            continue
        for place in scene.holding.places.values():
            suspected = place.disease_on
            if suspected is None or place.medium is not None or place.retired_on is not None:
                continue
            turn = turn_of(scene.holding, duty.id, subject(SubjectKind.PLACE, place.code))
            found_clean = turn.last_done is not None and turn.last_done >= suspected
            # What still stands there is looked over; the place is cleaned once it is empty.
            if not found_clean and not scene.holding.standing_in(place.code):
                yield _call(duty, place, suspected, turn, scene.today)


def _call(duty: Duty, place: Place, suspected: date, turn: Turn, today: date) -> Call:
    window = Window(
        due=suspected,
        earliest=suspected,
        latest=suspected + timedelta(days=1),
        why=f"a diseased crop stood there on {day_text(suspected, today)}; "
        "clean and disinfect before planting again",
    )
    if turn.answered is not None and turn.answered >= suspected:
        window = after_skip(window, turn, ASKED_AGAIN)
    called = _CALLED.get(place.kind, place.kind.value)
    return Call(
        duty=duty,
        subject=turn.subject,
        turn=turn.number,
        window=window,
        house=place.house,
        places=(place.code,),
        thing=place.kind.value,
        thing_code=place.kind.value,
        named=called,
    )
