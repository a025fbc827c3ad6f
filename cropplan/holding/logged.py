"""The log of the water: what was fed, drained and added, by day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import Enum


class LoggedKind(Enum):
    """What was done with the water or its fish."""

    FED = "fed"
    DRAINED = "drained"
    TOPPED_UP = "topped-up"


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """One amount given to or taken from a loop.

    entry : the journal entry that tells of it.
    amount : feed [g], or water drained or added. [L]
    """

    entry: int
    loop: str
    kind: LoggedKind
    day: date
    amount: float
