"""An invented grower who keeps a house by its rounds: late, forgetful, sometimes wrong or away.

The grower knows the house only as a person would: through the desk's questions, through what can
be seen on the plants (`truth`), and never through the database. Every act is one of the desk's.
What the grower had to do unasked is counted, because work that nobody asked for is work that the
rounds have missed.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import partial
from random import Random
from zoneinfo import ZoneInfo

from cropplan.catalogue.model import Habit
from cropplan.desk import answers, beginnings, keeping, look, plantings, upkeep
from cropplan.desk.answers import Answer
from cropplan.desk.desk import Desk, Outcome, write
from cropplan.holding.entry import TemperaturesRead
from cropplan.holding.house import DayTemperature, House
from cropplan.holding.place import Care, PlaceKind
from cropplan.holding.planting import RAISING, Origin, Planting, Stage
from cropplan.holding.task import State
from cropplan.problems import Refusal
from cropplan.record.store import Record
from cropplan.schedule.lengths import bearing_stage
from cropplan.schedule.rounds import Line, Rounds
from tests.story.truth import Truth

ONE_DAY = timedelta(days=1)


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
    writes_late : does it, and writes it the next day. slips : writes a wrong thing and undoes it.
    notices : sees unasked what a plant shows. weighs : weighs a pick instead of ticking it.
    """

    forgets: float = 0.05
    never_writes: float = 0.03
    writes_late: float = 0.06
    slips: float = 0.01
    notices: float = 0.05
    weighs: float = 0.3


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """How many plants of a crop are wanted, and the letter of the places it is at home in."""

    crop: str
    count: int
    home: str


@dataclass(slots=True, kw_only=True)
class Tales:
    """What is worth telling of the years: refusals met, and what had to be done unasked.

    refused : words of each refusal. unasked : what was noticed or begun without a line for it.
    """

    refused: list[tuple[date, str]] = field(default_factory=list)
    unasked: list[tuple[date, str]] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)


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
        ahead: int = 3,
    ) -> None:
        self.clock = Clock(house.zone)
        self.desk = Desk(record=record, clock=self.clock)
        self.tales = Tales()
        self._house, self._truth = house, truth
        self._habits = habits or Habits()
        self._away, self._people = away, people
        self._wants = {want.crop: want for want in wants}
        self._ahead = ahead
        self._chance = Random(seed)  # noqa: S311 - a story, no secret
        self._owed: list[tuple[date, Callable[..., Outcome]]] = []
        self._owed_ticks: list[tuple[date, str]] = []
        self._ticks: list[Answer] = []
        self._today = date.min
        self.standing: dict[str, Planting] = {}
        self._room: dict[str, int] = {}
        self._kinds: dict[str, PlaceKind] = {}
        self.media: dict[str, str | None] = {}

    def day(self, today: date) -> Rounds:
        """Live one day; returns the rounds as read in the morning."""
        self._today = today
        self.clock.dawn(today)
        if any(away.holds(today) for away in self._away):
            return self._read()
        self._pack(today)
        self._come_home(today)
        self._write_what_is_owed()
        self._tell_of_the_cold(today)
        rounds = self._read()
        self._look_round()
        self._read_the_logger(today)
        self._ticks = []
        for line in rounds.lines:
            if line.state is not State.COMING and self._chance.random() > self._habits.forgets:
                self._answer(line)
        if self._ticks:
            for ticked in self._gathered(self._ticks):
                self._do(partial(answers.done, self._by(), ticked))
        if self._chance.random() < self._habits.slips:
            self._slip()
        return rounds

    # --- the morning ------------------------------------------------------------------------

    def _read(self) -> Rounds:
        return look.rounds(self.desk, ahead=self._ahead).rounds[0]

    def _look_round(self) -> None:
        """See what stands where, and what has befallen it."""
        self.standing, self._room = {}, {}
        for standing in look.places(self.desk):
            place = standing.place
            living = [p for p in standing.plantings if p.stage is not Stage.SPENT]
            free = place.retired_on is None and place.disease_on is None
            taken = sum(p.count for p in living)
            self._room[place.code] = place.holds - taken if free else 0
            self._kinds[place.code], self.media[place.code] = place.kind, place.medium
            self.standing |= {p.tag: p for p in standing.plantings}
        for planting in list(self.standing.values()):
            self._truth.meet(planting, self._today)
            self._see_what_befell(planting)
            self._notice(planting)

    def _see_what_befell(self, planting: Planting) -> None:
        cold = self._truth.chilled(planting, self._today)
        if cold:
            self._write(plantings.lost, planting.tag, cold, why="cold")
            del self.standing[planting.tag]
            self.tales.counts["lost to cold"] += cold
            return
        if planting.stage in RAISING:
            return
        why = self._truth.mishap(planting, self._today)
        if why == "disease" and planting.count == 1:
            self._write(plantings.pull, planting.tag, why=why)
        elif why is not None:
            self._write(plantings.lost, planting.tag, 1, why=why)
        if why is not None:
            self.tales.counts[why] += 1
            del self.standing[planting.tag]

    def _notice(self, planting: Planting) -> None:
        """What a grower sees in passing though no line asked for it."""
        if planting.tag not in self.standing or self._chance.random() > self._habits.notices:
            return
        bearing = bearing_stage(self._truth.crop(planting.crop))
        watched = {
            Stage.SET_OUT: (Stage.FLOWERING, bearing),
            Stage.FLOWERING: (bearing,),
            Stage.FRUITING: (Stage.SPENT,),
            Stage.PICKING: (Stage.SPENT,),
        }
        for stage in watched.get(planting.stage, ()):
            if self._truth.shows(planting, stage, self._today) and stage not in planting.seen:
                self._write(plantings.seen, planting.tag, stage)
                self._unasked(f"saw {planting.crop} {stage.value}")
                return

    def _tell_of_the_cold(self, today: date) -> None:
        """A morning after the heater was out is written as a setback."""
        low, before = (self._truth.weather(day).warmth.low for day in (today, today - ONE_DAY))
        if low < self._house.night_c - 6 <= before:
            told = {"why": "heater out", "low_c": round(low, 1)}
            self._do(partial(upkeep.set_back, self.desk, 2, **told))
            self.tales.counts["heater out"] += 1

    def _read_the_logger(self, today: date) -> None:
        """Once a month the thermometer's memory is read out."""
        if today.day != 1:
            return
        days = [today - n * ONE_DAY for n in range((today - ONE_DAY).day, 0, -1)]
        readings = []
        for day in days:
            warmth = self._truth.weather(day).warmth
            low, high = round(warmth.low, 1), round(warmth.high, 1)
            readings.append(DayTemperature(house=self._house.name, day=day, low_c=low, high_c=high))
        write(self.desk, today, [TemperaturesRead(readings=tuple(readings))])
        self.clock.later()

    # --- answering lines --------------------------------------------------------------------

    def _answer(self, line: Line) -> None:
        ways: dict[str, Callable[[Line], None]] = {
            "check-roots": self._look_for_roots,
            "check-seedlings": self._look_for_roots,
            "set-out": self._set_out,
            "first-flower": partial(self._look_for, Stage.FLOWERING),
            "first-fruit": partial(self._look_for, Stage.FRUITING),
            "first-cut": partial(self._look_for, Stage.PICKING),
            "pick": self._pick,
            "strike": self._strike,
            "pull": self._pull,
            "renew-medium": self._renew,
            "pollinate": self._pollinate,
            "fish": self._feed,
            "test-water": self._test,
            "look-ahead": self._look_ahead,
            "judge-age": partial(self._look_for, Stage.SPENT),
        }
        ways.get(line.duty, self._tick)(line)

    def _tick(self, line: Line, only: Sequence[str] = ()) -> None:
        if len(only) == len(line.subjects):
            only = ()
        draw = self._chance.random()
        if draw < self._habits.never_writes:
            return
        if draw < self._habits.never_writes + self._habits.writes_late:
            self._owed_ticks.append((self._today, line.handle))
            return
        self._ticks.append(Answer(handles=(line.handle,), only=tuple(only)))

    @staticmethod
    def _gathered(ticks: Sequence[Answer]) -> list[Answer]:
        """As few commands as a person would type: one for all lines ticked whole."""
        whole = [handle for tick in ticks if not tick.only for handle in tick.handles]
        rest = [tick for tick in ticks if tick.only]
        return [*([Answer(handles=tuple(whole))] if whole else []), *rest]

    def _look_for_roots(self, line: Line) -> None:
        stage = Stage.ROOTED if line.duty == "check-roots" else Stage.EMERGED
        for planting in self._plantings(line):
            dead = self._truth.failed(planting, self._today)
            rooted = min(self._truth.rooted(planting, self._today), planting.count - dead)
            if dead:
                why = self._chance.choice(("rot", "dried out", "never rooted"))
                self._write(plantings.lost, planting.tag, dead, why=why)
            if rooted > planting.rooted:
                self._write(plantings.seen, planting.tag, stage, count=rooted)
            elif dead < planting.count:
                self._tick(line, only=(planting.tag,))

    def _look_for(self, stage: Stage, line: Line) -> None:
        seen = [p for p in self._plantings(line) if self._truth.shows(p, stage, self._today)]
        for planting in seen:
            self._write(plantings.seen, planting.tag, stage)
        unseen = [p.tag for p in self._plantings(line) if p not in seen]
        if unseen:
            self._tick(line, only=unseen)

    def _pick(self, line: Line) -> None:
        ticked = []
        for planting in self._plantings(line):
            crop = self._truth.crop(planting.crop)
            amount = self._truth.pick(planting, self._today)
            if crop.habit is Habit.HEAD:
                heads = min(planting.count, max(1, round(amount)))
                if amount:
                    self._write(plantings.pick, planting.tag, amount=float(heads))
            elif self._truth.shows(planting, Stage.SPENT, self._today):
                self._write(plantings.seen, planting.tag, Stage.SPENT)
            elif not amount:
                only = Answer(handles=(line.handle,), only=(planting.tag,))
                why = "nothing ripe"
                self._do(partial(answers.skip, self._by(), only, why=why, not_needed=True))
            elif self._chance.random() < self._habits.weighs:
                whole = crop.pick_unit != "kg"
                weighed = float(max(1, round(amount))) if whole else round(amount, 2)
                self._write(plantings.pick, planting.tag, amount=weighed)
            else:
                ticked.append(planting.tag)
        if ticked:
            self._tick(line, only=ticked)

    def _pollinate(self, line: Line) -> None:
        dull = self._truth.weather(self._today).dli < 8
        if dull and self._chance.random() < 0.25:
            answer = Answer(handles=(line.handle,))
            self._do(partial(answers.skip, self._by(), answer, why="too damp"))
        else:
            self._tick(line)

    def _strike(self, line: Line) -> None:
        wanted = int(next(iter(re.findall(r"\d+", line.job)), "1"))
        mothers = [p for p in self._plantings(line) if p.stage not in RAISING]
        if not mothers or self._chance.random() < 0.4:  # not every day is a day for cuttings
            return
        self._begin(mothers[0].crop, wanted, line.job, parent=mothers[0].tag)

    def _begin(self, crop: str, wanted: int, job: str, *, parent: str | None) -> None:
        trays = [c for c, room in self._room.items() if self._kinds[c] is PlaceKind.TRAY and room]
        if not trays:
            self.tales.counts["no tray free"] += 1
            return
        tray = max(trays, key=lambda code: self._room[code])
        count = min(wanted, self._room[tray])
        self._room[tray] -= count
        if job.startswith("Sow"):
            self._write(beginnings.sow, crop, count, place=tray)
        elif parent is None:
            self._write(beginnings.bring_in, crop, count, places=[tray])
        else:
            self._write(beginnings.strike, crop, count, parent=parent, place=tray)

    def _set_out(self, line: Line) -> None:
        for planting in self._plantings(line):
            ready = planting.count if planting.stage is Stage.BOUGHT_IN else planting.rooted
            home = self._wants[planting.crop].home
            free = [c for c, room in self._room.items() if room > 0 and c.startswith(home)]
            chosen: list[str] = []
            while free and sum(self._room[c] for c in chosen) < ready:
                chosen.append(free.pop(0))
            count = min(ready, sum(self._room[c] for c in chosen))
            if count:
                chosen = chosen[:count]
                self._write(plantings.set_out, planting.tag, places=chosen, count=count)
                for code in chosen:
                    self._room[code] = 0
            elif line.state is State.LATE and self._chance.random() < 0.15:
                self._write(plantings.lost, planting.tag, planting.count, why="given away")
                self.tales.counts[f"{planting.crop} given away"] += planting.count

    def _pull(self, line: Line) -> None:
        waiting = {p.crop for p in self.standing.values() if p.rooted and p.stage in RAISING}
        for planting in self._plantings(line):
            spent = self._truth.shows(planting, Stage.SPENT, self._today)
            if spent or planting.crop in waiting:
                self._write(plantings.pull, planting.tag, why="spent" if spent else "tired")
            else:
                answer = Answer(handles=(line.handle,), only=(planting.tag,))
                to = self._today + timedelta(days=10)
                self._do(partial(answers.put_off, self._by(), answer, to=to))

    def _renew(self, line: Line) -> None:
        taken = {p.place for p in self.standing.values()}
        for code in line.places:
            if code in taken or self._chance.random() < 0.4:
                continue
            if self._chance.random() < 0.2:
                self._write(upkeep.tend, [code], Care.DISINFECT)
            else:
                self._tick(line, only=(code,))

    def _feed(self, line: Line) -> None:
        loop = line.subjects[0].code
        if self._chance.random() < 0.15:
            grams = float(self._chance.randrange(100, 300, 10))
            self._write(upkeep.feed, loop, grams)
        else:
            self._tick(line)

    def _test(self, line: Line) -> None:
        values = {
            "ph": round(self._chance.gauss(6.9, 0.15), 1),
            "ammonia": self._chance.choice((0.0, 0.0, 0.25, 0.25, 0.5)),
            "nitrite": self._chance.choice((0.0, 0.0, 0.0, 0.25)),
            "nitrate": float(self._chance.randrange(20, 90, 10)),
        }
        self._write(upkeep.write_test, line.subjects[0].code, values)

    def _look_ahead(self, line: Line) -> None:
        """A month ahead: what is too few of a crop is begun, though no line has asked for it."""
        self._tick(line)
        for want in self._wants.values():
            plants = [p for p in self.standing.values() if p.crop == want.crop]
            coming = sum(p.count for p in plants if p.stage is not Stage.SPENT)
            lacking = want.count - coming
            if lacking > 0:
                mothers = [p for p in plants if p.stage not in RAISING and p.barred_why is None]
                mother = mothers[0].tag if mothers else None
                self._begin(want.crop, lacking, self._way_of(want.crop), parent=mother)
                self._unasked(f"began {want.crop} for empty places")

    def _way_of(self, crop: str) -> str:
        return "Sow" if self._truth.crop(crop).ways[0] is Origin.SEED else "Strike"

    # --- away, late and wrong ---------------------------------------------------------------

    def _pack(self, today: date) -> None:
        from cropplan.desk.premises import go_away

        for away in self._away:
            if today == away.first - timedelta(days=away.told_before):
                self._do(partial(go_away, self.desk, away.first, away.last))

    def _come_home(self, today: date) -> None:
        """The neighbour's sheet is copied in: daily work every day, solids every third."""
        for away in self._away:
            if today != away.last + ONE_DAY or away.neighbour is None:
                continue
            desk = replace(self.desk, by=away.neighbour)
            lines = [line for line in self._read().lines if line.survival]
            days = [away.first + n * ONE_DAY for n in range((today - away.first).days)]
            daily = tuple(line.handle for line in lines if line.duty != "drain")
            self._do(partial(answers.done_on_days, desk, Answer(handles=daily), days))
            for line in lines:
                if line.duty == "drain":
                    drains = Answer(handles=(line.handle,))
                    self._do(partial(answers.done_on_days, desk, drains, days[2::3]))

    def _write_what_is_owed(self) -> None:
        """Yesterday's work that was done and not written."""
        owed, self._owed = self._owed, []
        for day, act in owed:
            self._do(partial(act, on=day))
        by_day: dict[date, list[str]] = defaultdict(list)
        for day, handle in self._owed_ticks:
            by_day[day].append(handle)
        self._owed_ticks = []
        for day, handles in by_day.items():
            together = [Answer(handles=tuple(dict.fromkeys(handles)))]
            if not self._do(partial(answers.done, self._by(), together[0], on=day)):
                # One of them is no longer open; the others are typed again.
                for handle in together[0].handles if len(together[0].handles) > 1 else ():
                    self._do(partial(answers.done, self._by(), Answer(handles=(handle,)), on=day))

    def _slip(self) -> None:
        """A wrong plant is written as pulled, and that is undone at once."""
        if self.standing:
            tag = self._chance.choice(sorted(self.standing))
            if self._do(partial(plantings.pull, self._by(), tag)):
                self._do(partial(keeping.undo, self.desk))
                self.tales.counts["undone"] += 1

    # --- writing ----------------------------------------------------------------------------

    def _plantings(self, line: Line) -> list[Planting]:
        tags = [about.code for about in line.subjects]
        return [self.standing[tag] for tag in tags if tag in self.standing]

    def _write(self, act: Callable[..., Outcome], *told: object, **more: object) -> None:
        """Do a thing now, and write it now or the next morning."""
        call = partial(act, self._by(), *told, **more)
        if self._chance.random() < self._habits.writes_late:
            self._owed.append((self._today, call))
        else:
            self._do(call)

    def _do(self, call: Callable[[], Outcome]) -> bool:
        try:
            call()
        except Refusal as refusal:
            self.tales.refused.append((self._today, str(refusal)))
            return False
        finally:
            self.clock.later()
        return True

    def _by(self) -> Desk:
        if not self._people or self._chance.random() < 0.6:
            return self.desk
        return replace(self.desk, by=self._chance.choice(list(self._people)))

    def _unasked(self, what: str) -> None:
        self.tales.unasked.append((self._today, what))
