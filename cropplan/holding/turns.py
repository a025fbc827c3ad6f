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
RENEW = "renew-medium"
FLUSH = "flush-medium"
CHECK_ROOTS = "check-roots"
CHECK_SEEDLINGS = "check-seedlings"


def turn_of(holding: Holding, duty: str, about: Subject) -> Turn:
    """The open turn of a duty with a subject; the first one when nothing was ever answered."""
    return holding.turns.get((duty, about)) or Turn(duty=duty, subject=about)


def done(
    holding: Holding, duty: str, about: Iterable[Subject], day: date, by: str | None
) -> Holding:
    """The holding after the duty was done on `day` with each subject.

    The same work entered twice for one day, or for a day before it was last done, is history and
    closes no further turn.
    """
    turns = dict(holding.turns)
    for one in about:
        turn = turns.get((duty, one)) or Turn(duty=duty, subject=one)
        if turn.last_done is not None and day <= turn.last_done:
            continue
        turns[duty, one] = replace(
            turn,
            number=turn.number + 1,
            last_done=day,
            last_by=by,
            answered=_later(turn.answered, day),
            skip_why=None,
            put_off_to=None,
            skips=0,
        )
    return replace(holding, turns=turns)


def skipped(
    holding: Holding, duty: str, about: Iterable[Subject], day: date, why: str, *, not_needed: bool
) -> Holding:
    """The holding after a turn was skipped, or found not needed, on `day`.

    What was looked at and found not needed restarts the interval as if done; a skip leaves
    `last_done` where it was, so that the wear goes on counting.
    """
    turns = dict(holding.turns)
    for one in about:
        turn = turns.get((duty, one)) or Turn(duty=duty, subject=one)
        if turn.answered == day and turn.skip_why == why:
            continue
        turns[duty, one] = replace(
            turn,
            number=turn.number + 1,
            last_done=_later(turn.last_done, day) if not_needed else turn.last_done,
            answered=_later(turn.answered, day),
            skip_why=why,
            put_off_to=None,
            skips=0 if not_needed else turn.skips + 1,
        )
    return replace(holding, turns=turns)


def put_off(holding: Holding, duty: str, about: Iterable[Subject], to: date) -> Holding:
    """The holding with the open turn put off to a later day; the turn stays the same."""
    turns = dict(holding.turns)
    for one in about:
        turn = turns.get((duty, one)) or Turn(duty=duty, subject=one)
        turns[duty, one] = replace(turn, put_off_to=to)
    return replace(holding, turns=turns)


def _later(known: date | None, day: date) -> date:
    return day if known is None else max(known, day)
