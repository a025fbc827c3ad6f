"""How a grower writes things down: at once, the next morning, in a word too many, or never."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import partial
from random import Random
from zoneinfo import ZoneInfo

from cropplan.desk import answers
from cropplan.desk.answers import Answer
from cropplan.desk.desk import Desk, Outcome
from cropplan.problems import Refusal
from cropplan.schedule.rounds import Line

ONE_DAY = timedelta(days=1)
DAILY_LOOKS = frozenset({"pumps", "heat", "mist-cuttings"})


class Clock:
    """The time in the house, which moves on by a minute with each thing written."""

    def __init__(self, zone: str) -> None:
        self._zone = ZoneInfo(zone)
        self._now = datetime(2000, 1, 1, tzinfo=self._zone)

    def __call__(self) -> datetime:
        """The moment now."""
        return self._now

    def dawn(self, day: date) -> None:
        """Begin a day."""
        self._now = datetime.combine(day, time(7), tzinfo=self._zone)

    def later(self) -> None:
        """A minute goes by."""
        self._now += timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How careful the grower is: chances for each line of a day, or each day.

    forgets : leaves a line undone. never_writes : does it, and never writes it.
    looks_unwritten : the same for a daily look, which few growers write each time.
    writes_late : does it, and writes it the next day. slips : writes a wrong thing and undoes it.
    notices : sees unasked what a plant shows. weighs : weighs a pick instead of ticking it.
    """

    forgets: float = 0.05
    never_writes: float = 0.03
    looks_unwritten: float = 0.3
    writes_late: float = 0.06
    slips: float = 0.01
    notices: float = 0.05
    weighs: float = 0.3


@dataclass(slots=True, kw_only=True)
class Tales:
    """What is worth telling of the years: refusals met, and what had to be done unasked.

    refused : words of each refusal. unasked : what was noticed or begun without a line for it.
    """

    refused: list[tuple[date, str]] = field(default_factory=list)
    unasked: list[tuple[date, str]] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)


class Hands:
    """Does the desk's acts for the grower, and remembers what is still to be written."""

    def __init__(
        self, desk: Desk, clock: Clock, *, chance: Random, habits: Habits, people: Sequence[str]
    ) -> None:
        self.desk, self.clock, self.chance, self.habits = desk, clock, chance, habits
        self.tales = Tales()
        self.today = date.min
        self._people = people
        self._owed: list[tuple[date, Callable[..., Outcome]]] = []
        self._owed_ticks: list[tuple[date, str]] = []
        self._ticks: list[Answer] = []

    def write(self, act: Callable[..., Outcome], *told: object, **more: object) -> None:
        """Do a thing now, and write it now or the next morning."""
        call = partial(act, self.by(), *told, **more)
        if self.chance.random() < self.habits.writes_late:
            self._owed.append((self.today, call))
        else:
            self.do(call)

    def tick(self, line: Line, only: Sequence[str] = ()) -> None:
        """Do a line, and tick it at the end of the walk, the next morning or never.

        only : tags or places, when not all of the line was done.
        """
        if len(only) == len(line.subjects):
            only = ()
        daily = line.duty in DAILY_LOOKS
        unwritten = self.habits.looks_unwritten if daily else self.habits.never_writes
        draw = self.chance.random()
        if draw < unwritten:
            return
        if draw < unwritten + self.habits.writes_late:
            self._owed_ticks.append((self.today, line.handle))
            return
        self._ticks.append(Answer(handles=(line.handle,), only=tuple(only)))

    def not_needed(self, line: Line, name: str, why: str) -> None:
        """Answer one place of a line as looked at and not needed."""
        answer = Answer(handles=(line.handle,), only=(name,))
        self.do(partial(answers.skip, self.by(), answer, why=why, not_needed=True))

    def skip(self, line: Line, why: str) -> None:
        """Answer a line without doing it."""
        answer = Answer(handles=(line.handle,))
        self.do(partial(answers.skip, self.by(), answer, why=why))

    def put_off(self, line: Line, name: str, days: int) -> None:
        """Put one place of a line off."""
        answer = Answer(handles=(line.handle,), only=(name,))
        to = self.today + timedelta(days=days)
        self.do(partial(answers.put_off, self.by(), answer, to=to))

    def enter_ticks(self) -> None:
        """Type the walk's ticks: one command for all lines done whole, one for each in part."""
        whole = [handle for tick in self._ticks if not tick.only for handle in tick.handles]
        parts = [tick for tick in self._ticks if tick.only]
        self._ticks = []
        for answer in [*([Answer(handles=tuple(whole))] if whole else []), *parts]:
            self.do(partial(answers.done, self.by(), answer))

    def write_what_is_owed(self) -> None:
        """Write yesterday's work that was done and not written."""
        owed, self._owed = self._owed, []
        for day, act in owed:
            self.do(partial(act, on=day))
        by_day: dict[date, list[str]] = defaultdict(list)
        for day, handle in self._owed_ticks:
            by_day[day].append(handle)
        self._owed_ticks = []
        for day, handles in by_day.items():
            together = tuple(dict.fromkeys(handles))
            done = self.do(partial(answers.done, self.by(), Answer(handles=together), on=day))
            if not done and len(together) > 1:
                # One of them is no longer open; the others are typed again.
                for handle in together:
                    self.do(partial(answers.done, self.by(), Answer(handles=(handle,)), on=day))

    def do(self, call: Callable[[], Outcome]) -> bool:
        """Do an act of the desk; a refusal is kept to be told of."""
        try:
            call()
        except Refusal as refusal:
            self.tales.refused.append((self.today, str(refusal)))
            return False
        finally:
            self.clock.later()
        return True

    def by(self) -> Desk:
        """The desk, under the name of whoever writes this time."""
        if not self._people or self.chance.random() < 0.6:
            return self.desk
        return replace(self.desk, by=self.chance.choice(list(self._people)))

    def unasked(self, what: str) -> None:
        """Keep what was done though no line asked for it: the rounds have missed it."""
        self.tales.unasked.append((self.today, what))
