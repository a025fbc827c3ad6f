"""How an answer closes a turn: done restarts the interval, skipped does not."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from cropplan.holding.holding import Holding, Turn
from cropplan.holding.task import Subject

#: Duties of the catalogue that an act of its own answers. The catalogue's check holds it to these.
PICK = "pick"
FISH = "fish"
DRAIN = "drain"
TEST_WATER = "test-water"
TEST_AGAIN = "test-again"
WEIGH_FISH = "weigh-fish"
RENEW = "renew-medium"
FLUSH = "flush-medium"
DISINFECT = "disinfect"
CHECK_ROOTS = "check-roots"
CHECK_SEEDLINGS = "check-seedlings"


def turn_of(holding: Holding, duty: str, about: Subject) -> Turn:
    """The open turn of a duty with a subject; the first one when nothing was ever answered."""
    return holding.turns.get((duty, about)) or Turn(duty=duty, subject=about)


def done(
    holding: Holding, duty: str, about: Iterable[Subject], day: date, by: str | None
) -> Holding:
    """The holding after the duty was done, or found not needed, on `day` with each subject.

    The same work entered twice for one day, or for a day before it was last done, is history and
    closes no further turn. Work entered late, from before a skip, moves the day from which the
    interval runs; the turn it belonged to was closed by the skip.
    """
    turns = dict(holding.turns)
    for one in about:
        turn = turn_of(holding, duty, one)
        if turn.last_done is not None and day <= turn.last_done:
            continue
        worked = replace(turn, last_done=day, last_by=by)
        if turn.answered is None or turn.answered <= day:
            worked = replace(
                worked,
                number=turn.number + 1,
                answered=day,
                skip_why=None,
                put_off_to=None,
                skips=0,
            )
        turns[duty, one] = worked
    return replace(holding, turns=turns)


def skipped(holding: Holding, duty: str, about: Iterable[Subject], day: date, why: str) -> Holding:
    """The holding after a turn was skipped on `day`.

    `last_done` stays where it was, so that the wear goes on counting. A turn answered on that day,
    or since, is not skipped too.
    """
    turns = dict(holding.turns)
    for one in about:
        turn = turn_of(holding, duty, one)
        if turn.answered is not None and day <= turn.answered:
            continue
        turns[duty, one] = replace(
            turn,
            number=turn.number + 1,
            answered=day,
            skip_why=why,
            put_off_to=None,
            skips=turn.skips + 1,
        )
    return replace(holding, turns=turns)


def put_off(holding: Holding, duty: str, about: Iterable[Subject], to: date) -> Holding:
    """The holding with the open turn put off to a later day; the turn stays the same."""
    turns = dict(holding.turns)
    for one in about:
        turns[duty, one] = replace(turn_of(holding, duty, one), put_off_to=to)
    return replace(holding, turns=turns)
