"""Spreading work over weeks: no week over a limit where that can be helped, nothing too late.

Each piece of work may fall in any week from `opens` to `closes`; `wants` is when it suits best.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Generic, TypeVar

Name = TypeVar("Name", bound=Hashable)

_WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece(Generic[Name]):
    """One piece of work.

    opens, wants, closes : the first day it may be done, the best, and the last; in that order.
    minutes : of work. [min]
    """

    name: Name
    opens: date
    wants: date
    closes: date
    minutes: float


def levelled(
    pieces: Sequence[Piece[Name]], limit: float, taken: Mapping[date, float] | None = None
) -> dict[Name, date]:
    """A day for each piece: never after it closes, nor before it opens.

    limit : work that fits in a week; a week may hold one piece even if that is longer. [min]
    taken : minutes of other work, by the Monday of the week.
    Work is first laid as late as it may be, the week's room going to what opens last, which fits
    all of it wherever equal pieces can fit at all; then each piece, the soonest wanted first, is
    drawn towards the day it is wanted on as far as there is room. What fits nowhere is laid on
    the day it is wanted: late media harm more than a long week.
    """
    load: dict[date, float] = defaultdict(float, taken or {})
    weeks, left_over = _latest(pieces, limit, load)
    for piece in sorted(pieces, key=lambda p: (p.wants, p.closes)):
        if piece in left_over:
            continue
        wanted = monday(piece.wants)
        while wanted < weeks[piece.name]:
            if _fits(load[wanted], piece, limit):
                load[weeks[piece.name]] -= piece.minutes
                load[wanted] += piece.minutes
                weeks[piece.name] = wanted
                break
            wanted += _WEEK
    days = {
        piece.name: _day(piece, weeks[piece.name]) for piece in pieces if piece not in left_over
    }
    return days | {piece.name: piece.wants for piece in left_over}


def monday(day: date) -> date:
    """The Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def _latest(
    pieces: Sequence[Piece[Name]], limit: float, load: dict[date, float]
) -> tuple[dict[Name, date], list[Piece[Name]]]:
    """The week of each piece, as late as may be, and the pieces that fit into none."""
    weeks: dict[Name, date] = {}
    waiting = sorted(pieces, key=lambda p: p.closes)
    open_now: list[Piece[Name]] = []
    left_over: list[Piece[Name]] = []
    week = monday(waiting[-1].closes) if waiting else date.min
    while waiting or open_now:
        while waiting and monday(waiting[-1].closes) >= week:
            open_now.append(waiting.pop())
        for piece in sorted(open_now, key=_opens_last, reverse=True):
            if _fits(load[week], piece, limit):
                load[week] += piece.minutes
                weeks[piece.name] = week
                open_now.remove(piece)
        left_over += [piece for piece in open_now if monday(piece.opens) >= week]
        open_now = [piece for piece in open_now if monday(piece.opens) < week]
        if not open_now and waiting:
            week = monday(waiting[-1].closes)
        else:
            week -= _WEEK
    for piece in left_over:
        load[monday(piece.wants)] += piece.minutes
    return weeks, left_over


def _opens_last(piece: Piece[Name]) -> tuple[date, date]:
    return monday(piece.opens), piece.wants


def _fits(load: float, piece: Piece[Name], limit: float) -> bool:
    return load <= 0 or load + piece.minutes <= limit + 1e-9


def _day(piece: Piece[Name], week: date) -> date:
    """The day of a week nearest the wanted one, within what is open."""
    best = min(max(piece.wants, week), week + timedelta(days=6))
    return min(max(best, piece.opens), piece.closes)


def over_limit(days: Iterable[tuple[date, float]], limit: float) -> list[date]:
    """The Mondays of the weeks that hold more than the limit and more than one piece."""
    load: dict[date, list[float]] = defaultdict(list)
    for day, minutes in days:
        load[monday(day)].append(minutes)
    return sorted(week for week, each in load.items() if len(each) > 1 and sum(each) > limit + 1e-9)
