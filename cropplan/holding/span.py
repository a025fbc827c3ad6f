"""A date and how it is known: seen in the journal, predicted with a span, or planned."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum


class Basis(Enum):
    """How a date is known. Seen beats predicted; predicted beats a bare catalogue figure."""

    SEEN = "seen"
    PREDICTED = "predicted"
    PLANNED = "planned"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dated:
    """A day with the window it may fall in.

    likely : the day to act on.
    earliest, latest : an 80 % span for what is predicted; equal to `likely` for what was seen.
    basis : how the day is known.
    clamped : True when the model was used outside its measured range.
    """

    likely: date
    earliest: date
    latest: date
    basis: Basis
    clamped: bool = False

    def shifted(self, days: int) -> Dated:
        """The same window, moved by whole days."""
        by = timedelta(days=days)
        return Dated(
            likely=self.likely + by,
            earliest=self.earliest + by,
            latest=self.latest + by,
            basis=self.basis,
            clamped=self.clamped,
        )

    def not_before(self, day: date) -> Dated:
        """The same window without the days before `day`, for what has not come by then."""
        return Dated(
            likely=max(self.likely, day),
            earliest=max(self.earliest, day),
            latest=max(self.latest, day),
            basis=self.basis,
            clamped=self.clamped,
        )


def seen_on(day: date, give: int = 0) -> Dated:
    """A day from the journal; `give` is the ± days of an approximate one ("about March")."""
    by = timedelta(days=give)
    return Dated(likely=day, earliest=day - by, latest=day + by, basis=Basis.SEEN)
