"""What a calendar shows of a day's work, and what it was last told about it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """One all-day line for a calendar.

    key : text of the task key that gives it its identity; it stays when the day moves.
    day : the day to do it.
    summary : one line. text : what, where, why, the span and the cautions, in plain lines.
    kinds : words to sort by, such as "pollinating" or "cuttings".
    tentative : True while the day is predicted and not yet sure.
    """

    key: str
    day: date
    summary: str
    text: str
    kinds: tuple[str, ...]
    tentative: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """What calendars have been told of one notice.

    uid : never changes. sequence : revisions of the day or the certainty, never lowered.
    created, stamp : first told, and last told something new. [UTC]
    digest : of everything shown, so that a change is noticed.
    day, tentative : as last told; a change of either raises the sequence.
    """

    key: str
    uid: str
    sequence: int
    created: datetime
    stamp: datetime
    digest: str
    day: date
    tentative: bool
