"""A call for work: what a duty asks of one subject, before absences and put-offs are applied."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from cropplan.catalogue.model import Duty
from cropplan.holding.span import Basis
from cropplan.holding.task import Subject


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """When a turn falls due.

    due : the day to do it. earliest, latest : doing it within them does the job.
    why : the reason, in the house's words.
    basis : seen when it counts from the journal, predicted when it hangs on a predicted stage.
    """

    due: date
    earliest: date
    latest: date
    why: str
    basis: Basis = Basis.SEEN

    def on(self, day: date, why: str) -> Window:
        """The window of a turn like this one that falls due on another day."""
        by = day - self.due
        return replace(self, due=day, earliest=self.earliest + by, latest=self.latest + by, why=why)


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One open turn of one duty with one subject.

    thing : what the job is about: crop id, medium id, loop or house name.
    thing_code : the end of the handle: the crop's tag letters, the medium, the loop.
    named : what the job's words call it: the crop's plural, the medium's name.
    name : the same in the singular, for a crop.
    plants : how many plants or things it concerns, for the minutes.
    every : days between turns, for the turns that follow; None for work done once.
    job : the words of the work where they differ from the duty's. cautions : besides the duty's.
    """

    duty: Duty
    subject: Subject
    turn: int
    window: Window
    house: str
    places: tuple[str, ...]
    thing: str
    thing_code: str
    named: str
    name: str = ""
    plants: int = 1
    every: int | None = None
    job: str | None = None
    cautions: tuple[str, ...] = ()
