"""A duty of the grower's own, apart from the acts, so that looking loads none of those."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cropplan.holding.task import Keeps, Part, Subject


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnDuty:
    """A duty of the grower's own.

    id : its name in task keys. code : its handle, which no other duty has.
    every_days : floating interval; rule : RRULE text of fixed days. One of the two is given.
    begins : first day it may fall due.
    """

    id: str
    code: str
    text: str
    subject: Subject
    begins: date
    every_days: int | None = None
    rule: str | None = None
    keeps: Keeps = Keeps.STAYS
    part: Part = Part.ANY
    minutes: float = 5.0
