"""What a command works with: the record it opens when first needed, the clock, how to show."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from cropplan.cli.show import Json, Shown, Words

if TYPE_CHECKING:
    from cropplan.desk.desk import Desk, Outcome
    from cropplan.holding.house import House, Units

RECORD_VARIABLE = "CROPPLAN_RECORD"


@dataclass(slots=True, kw_only=True)
class Face:
    """One command's company. It opens the record only when a command asks for the desk.

    clock : the moment now, with its time zone. record : as named; None for the usual place.
    by : who does it. out : words or JSON, chosen once by `--json`.
    """

    clock: Callable[[], datetime]
    record: Path | None = None
    by: str | None = None
    out: Words | Json = field(default_factory=Words)
    _desk: Desk | None = None

    @property
    def place(self) -> Path:
        """Where the record is: as named, as CROPPLAN_RECORD says, or the user's data folder."""
        named = self.record or os.environ.get(RECORD_VARIABLE)
        if named:
            return Path(named)
        from platformdirs import user_data_path  # Only where no record is named.

        return user_data_path("cropplan", appauthor=False) / "record.db"

    @property
    def own_figures(self) -> Path:
        """The grower's own catalogue figures, beside the record, whether there is one or not."""
        from cropplan.desk.desk import own_figures_of

        return own_figures_of(self.place)

    @property
    def desk(self) -> Desk:
        """The desk, with the record open. A newcomer at a terminal is first led by questions."""
        if self._desk is None:
            if self.at_terminal and not self.place.exists():
                from cropplan.cli.newcomer import begin_by_questions

                begin_by_questions(self)
            from cropplan.desk.desk import open_desk

            self._desk = open_desk(self.place, clock=self.clock, by=self.by)
        return self._desk

    def begin(self, house: House) -> Outcome:
        """Put a house in, making the record where there is none."""
        from cropplan.desk.premises import begin_record, new_house

        if self._desk is not None or self.place.exists():
            return new_house(self.desk, house)
        self._desk, outcome = begin_record(self.place, house, clock=self.clock, by=self.by)
        return outcome

    @property
    def at_terminal(self) -> bool:
        """Whether somebody can be asked."""
        return sys.stdin.isatty() and sys.stdout.isatty()

    def today(self) -> date:
        """Today in the first house of the record."""
        from cropplan.desk.desk import today_in

        return today_in(self.desk, self.house(None))

    def house(self, name: str | None) -> House:
        """The house of that name, or the first one."""
        from cropplan.desk.desk import first_house, house_called

        holding = self.desk.record.snapshot(living_only=True)
        return first_house(holding) if name is None else house_called(holding, name)

    def only_house(self, name: str | None) -> House:
        """The house of that name, or the only one there is. Raises Refusal."""
        from cropplan.desk.desk import house_called

        return house_called(self.desk.record.snapshot(living_only=True), name)

    def units(self) -> Units:
        """The units that bare numbers are in."""
        return self.house(None).units

    def show(self, shown: Shown) -> None:
        """Print what a command has to show."""
        self.out.show(shown)

    def tell(self, outcome: Outcome) -> None:
        """Print what an act came to."""
        plain = {"said": list(outcome.said), "entries": list(outcome.entries)}
        self.out.show(Shown(words=lambda: outcome.said, plain=lambda: plain))

    def close(self) -> None:
        """Let go of the record."""
        if self._desk is not None:
            self._desk.record.close()
            self._desk = None
