"""Renewals of media spread over the weeks, by the time the grower has for them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from cropplan.holding.task import Subject
from cropplan.schedule.call import Call
from cropplan.schedule.levelling import Piece, levelled, monday
from cropplan.schedule.media import media_calls
from cropplan.schedule.scene import Scene

#: Minutes of work on media that fit in a week, unless the grower says otherwise: six buckets.
#: Common practice, no source.
USUAL_MINUTES = 120.0


def spread_media_calls(scene: Scene) -> Iterator[Call]:
    """The renewals of all places, none past its hard maximum and no week over the limit.

    A place in a gap keeps to the gap: it opens on the day it is due. One without a gap before its
    hard maximum is drawn forward. Suspected disease and work that is late wait for nobody.
    """
    by_house: dict[str, list[Call]] = defaultdict(list)
    for call in media_calls(scene):
        by_house[call.house].append(call)
    for house, calls in by_house.items():
        limit = scene.holding.houses[house].media_minutes or USUAL_MINUTES
        fixed = [call for call in calls if not _movable(scene, call)]
        taken: dict[date, float] = defaultdict(float)
        for call in fixed:
            taken[monday(max(call.window.due, scene.today))] += call.duty.minutes_each
        movable = [_piece(scene, call) for call in calls if _movable(scene, call)]
        days = levelled(movable, limit, taken)
        wanted = {piece.name: piece.wants for piece in movable}
        for call in calls:
            yield _on(call, days.get(call.subject), wanted.get(call.subject))


def _movable(scene: Scene, call: Call) -> bool:
    place = scene.holding.places[call.subject.code]
    return place.disease_on is None and call.window.latest >= scene.today


def _piece(scene: Scene, call: Call) -> Piece[Subject]:
    window, today = call.window, scene.today
    wants = min(max(window.due, today), window.latest)
    crowded = window.due >= window.latest
    opens = max(today, min(window.earliest, wants)) if crowded or _is_empty(scene, call) else wants
    return Piece(
        name=call.subject,
        opens=opens,
        wants=wants,
        closes=window.latest,
        minutes=call.duty.minutes_each * call.plants,
    )


def _is_empty(scene: Scene, call: Call) -> bool:
    return not scene.holding.standing_in(call.subject.code)


def _on(call: Call, day: date | None, wanted: date | None) -> Call:
    """The call on its week's day; what stays in the week it was wanted in stays as it was."""
    window = call.window
    if day is None or wanted is None or monday(day) == monday(wanted):
        return call
    word = "brought forward" if day < window.due else "later"
    why = f"{word}, so that not all fall in one week; {window.why}"
    moved = replace(window, due=day, earliest=min(window.earliest, day), why=why)
    return replace(call, window=moved)
