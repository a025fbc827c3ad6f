"""All that is held at one moment: houses, loops, places, plantings, duties and their turns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from cropplan.holding.house import Absence, House, Setback
from cropplan.holding.loop import Loop
from cropplan.holding.own_duty import OwnDuty
from cropplan.holding.place import Place
from cropplan.holding.planting import Planting
from cropplan.holding.season import Goal, SeasonPlan
from cropplan.holding.task import Subject


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """Where one duty stands with one subject.

    number : the open turn, from 1. It rises when a turn is done, skipped or not needed.
    last_done : the day it was last really done (or found not needed); the interval runs from it.
    last_by : who did it. answered : the day the last turn was closed in any way.
    skip_why : why the last turn was skipped; None when it was done.
    put_off_to : the day the open turn was put off to.
    skips : turns skipped in a row.
    """

    duty: str
    subject: Subject
    number: int = 1
    last_done: date | None = None
    last_by: str | None = None
    answered: date | None = None
    skip_why: str | None = None
    put_off_to: date | None = None
    skips: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class DutySetting:
    """The grower's own word on a catalogue duty: another interval, or not wanted."""

    duty: str
    every_days: int | None = None
    stopped: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LastTest:
    """The latest value of one water test of a loop."""

    loop: str
    key: str
    value: float
    day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """Everything held, by code. `apply` returns a new one; nothing here is ever changed in place.

    plantings may leave out those that ended, when only living work is asked for.
    last_entry : the last day anything was entered as happening; None for an empty record.
    """

    houses: Mapping[str, House] = field(default_factory=dict)
    loops: Mapping[str, Loop] = field(default_factory=dict)
    places: Mapping[str, Place] = field(default_factory=dict)
    plantings: Mapping[str, Planting] = field(default_factory=dict)
    own_duties: Mapping[str, OwnDuty] = field(default_factory=dict)
    settings: Mapping[str, DutySetting] = field(default_factory=dict)
    turns: Mapping[tuple[str, Subject], Turn] = field(default_factory=dict)
    absences: tuple[Absence, ...] = ()
    setbacks: tuple[Setback, ...] = ()
    goals: Mapping[str, Goal] = field(default_factory=dict)
    plan: SeasonPlan | None = None
    tests: Mapping[tuple[str, str], LastTest] = field(default_factory=dict)
    last_entry: date | None = None

    def standing_in(self, place: str) -> list[Planting]:
        """The living plantings that stand in a place."""
        return [p for p in self.plantings.values() if p.place == place and p.alive]
