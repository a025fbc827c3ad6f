"""An invented grower who keeps a house by its rounds: late, forgetful, sometimes wrong or away.

The grower knows the house only as a person would: through the desk's questions, through what can
be seen on the plants (`truth`), and never through the database. Every act is one of the desk's.
What the grower had to do unasked is counted, because work that nobody asked for is work that the
rounds have missed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial
from random import Random

from cropplan.desk import answers, keeping, look, morning, plantings, premises, upkeep
from cropplan.desk.answers import Answer
from cropplan.desk.desk import Desk, write
from cropplan.holding.entry import TemperaturesRead
from cropplan.holding.house import DayTemperature, House
from cropplan.holding.planting import RAISING, Planting, Stage
from cropplan.holding.task import State
from cropplan.record.store import Record
from cropplan.schedule.lengths import bearing_stage
from cropplan.schedule.rounds import Rounds
from tests.story.hands import ONE_DAY, Clock, Habits, Hands
from tests.story.truth import Truth
from tests.story.walk import Sight, Walk, Want

#: So far under the night set point the heater must have been out. [K]
HEATER_OUT_K = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stocking:
    """How many fish a loop holds from a day on, and their mean weight. [g]"""

    on: date
    loop: str
    fish: int
    weight_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Away:
    """A time away; `neighbour` feeds the fish meanwhile and leaves a sheet, or nobody does."""

    first: date
    last: date
    neighbour: str | None = None
    told_before: int = 14

    def holds(self, day: date) -> bool:
        """Whether a day falls within it."""
        return self.first <= day <= self.last


class Grower:
    """Keeps one house, day by day."""

    def __init__(
        self,
        record: Record,
        house: House,
        truth: Truth,
        *,
        seed: int,
        habits: Habits | None = None,
        away: Sequence[Away] = (),
        wants: Sequence[Want] = (),
        people: Sequence[str] = (),
        stockings: Sequence[Stocking] = (),
        ahead: int = 3,
    ) -> None:
        self.clock = Clock(house.zone)
        self.desk = Desk(record=record, clock=self.clock)
        self.sight = Sight()
        self._house, self._truth, self._away, self._wants = house, truth, away, wants
        self._ahead, self._stockings = ahead, stockings
        self._chance = Random(seed)  # noqa: S311 - a story, no secret
        self._hands = Hands(
            self.desk,
            self.clock,
            chance=self._chance,
            habits=habits or Habits(),
            people=people,
        )
        self.tales = self._hands.tales
        self._first: date | None = None

    def day(self, today: date) -> Rounds:
        """Live one day; returns the rounds as read in the morning."""
        self._hands.today = today
        self._first = self._first or today
        self.clock.dawn(today)
        if any(away.holds(today) for away in self._away):
            return self._read()
        self._pack(today)
        self._come_home(today)
        self._hands.write_what_is_owed()
        self._tell_of_the_cold(today)
        self._stock(today)
        rounds = self._read()
        self._look_round(today)
        self._read_the_logger(today)
        walk = Walk(self._hands, self._truth, self._wants, self.sight)
        for line in rounds.lines:
            forgotten = self._chance.random() < self._hands.habits.forgets
            if line.state is not State.COMING and not forgotten:
                walk.answer(line)
        self._hands.enter_ticks()
        if self._chance.random() < self._hands.habits.slips:
            self._slip()
        return rounds

    def _read(self) -> Rounds:
        return morning.rounds(self.desk, ahead=self._ahead).rounds[0]

    # --- what can be seen ---------------------------------------------------------------------

    def _look_round(self, today: date) -> None:
        """See what stands where, and what has befallen it."""
        stocked = {told.loop: told.fish for told in self._stockings if told.on <= today}
        self.sight = sight = Sight(fish=stocked)
        for standing in look.places(self.desk):
            place = standing.place
            taken = sum(p.count for p in standing.plantings if p.stage is not Stage.SPENT)
            free = place.retired_on is None and place.disease_on is None
            sight.room[place.code] = place.holds - taken if free else 0
            sight.kinds[place.code], sight.media[place.code] = place.kind, place.medium
            sight.standing |= {p.tag: p for p in standing.plantings}
        for planting in list(sight.standing.values()):
            self._truth.meet(planting, today)
            if not self._befell(planting, today):
                self._notice(planting, today)

    def _befell(self, planting: Planting, today: date) -> bool:
        """Whether something has befallen a planting, which is written at once or owed."""
        cold = self._truth.chilled(planting, today)
        why = None if planting.stage in RAISING else self._truth.mishap(planting, today)
        if cold:
            self._hands.write(plantings.lost, planting.tag, cold, why="cold")
            self.tales.counts["lost to cold"] += cold
        elif why == "disease" and planting.count == 1:
            self._hands.write(plantings.pull, planting.tag, why=why)
        elif why is not None:
            self._hands.write(plantings.lost, planting.tag, 1, why=why)
        else:
            return False
        del self.sight.standing[planting.tag]
        if why is not None:
            self.tales.counts[why] += 1
        return True

    def _notice(self, planting: Planting, today: date) -> None:
        """What a grower sees in passing though no line asked for it."""
        if self._chance.random() > self._hands.habits.notices:
            return
        bearing = bearing_stage(self._truth.crop(planting.crop))
        watched = {
            Stage.SET_OUT: (Stage.FLOWERING, bearing),
            Stage.FLOWERING: (bearing,),
            Stage.FRUITING: (Stage.SPENT,),
            Stage.PICKING: (Stage.SPENT,),
        }
        for stage in watched.get(planting.stage, ()):
            if self._truth.shows(planting, stage, today) and stage not in planting.seen:
                self._hands.write(plantings.seen, planting.tag, stage)
                self._hands.unasked(f"saw {planting.crop} {stage.value}")
                return

    def _tell_of_the_cold(self, today: date) -> None:
        """A morning after the heater was out is written as a setback."""
        low, before = (self._truth.weather(day).warmth.low for day in (today, today - ONE_DAY))
        if low < self._house.night_c - HEATER_OUT_K <= before:
            tell = partial(upkeep.set_back, self.desk, 2, why="heater out", low_c=round(low, 1))
            self._hands.do(tell)
            self.tales.counts["heater out"] += 1

    def _stock(self, today: date) -> None:
        """Fish are taken out for the kitchen, or young ones put in."""
        for told in self._stockings:
            if told.on == today and today != self._first:
                fish = partial(premises.set_loop, fish=told.fish, weight_g=told.weight_g)
                self._hands.do(partial(fish, self.desk, told.loop))

    def _read_the_logger(self, today: date) -> None:
        """Once a month the thermometer's memory is read out."""
        if today.day != 1 or today == self._first:
            return
        days = [today - n * ONE_DAY for n in range((today - ONE_DAY).day, 0, -1)]
        readings = []
        for day in days:
            warmth = self._truth.weather(day).warmth
            low, high = round(warmth.low, 1), round(warmth.high, 1)
            readings.append(DayTemperature(house=self._house.name, day=day, low_c=low, high_c=high))
        write(self.desk, today, [TemperaturesRead(readings=tuple(readings))])
        self.clock.later()

    # --- away and wrong -----------------------------------------------------------------------

    def _pack(self, today: date) -> None:
        for away in self._away:
            if today == away.first - timedelta(days=away.told_before):
                self._hands.do(partial(premises.go_away, self.desk, away.first, away.last))

    def _come_home(self, today: date) -> None:
        """The neighbour's sheet is copied in: daily work every day, solids every third."""
        for away in self._away:
            if today != away.last + ONE_DAY or away.neighbour is None:
                continue
            desk = replace(self.desk, by=away.neighbour)
            lines = [line for line in self._read().lines if line.survival]
            days = [away.first + n * ONE_DAY for n in range((today - away.first).days)]
            daily = tuple(line.handle for line in lines if line.duty != "drain")
            self._hands.do(partial(answers.done_on_days, desk, Answer(handles=daily), days))
            for line in lines:
                if line.duty == "drain":
                    drains = Answer(handles=(line.handle,))
                    self._hands.do(partial(answers.done_on_days, desk, drains, days[2::3]))

    def _slip(self) -> None:
        """A wrong plant is written as pulled, and that is undone at once."""
        if self.sight.standing:
            tag = self._chance.choice(sorted(self.sight.standing))
            if self._hands.do(partial(plantings.pull, self._hands.by(), tag)):
                self._hands.do(partial(keeping.undo, self.desk))
                self.tales.counts["undone"] += 1
