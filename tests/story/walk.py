"""The walk round the house: what a grower does about each line of the rounds."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial

from cropplan.catalogue.model import Habit
from cropplan.desk import beginnings, goals, plantings, premises, season, upkeep, water
from cropplan.holding.place import Care, PlaceKind
from cropplan.holding.planting import RAISING, Origin, Planting, Stage
from cropplan.holding.task import State, SubjectKind
from cropplan.schedule.rounds import Line
from tests.story.hands import Hands
from tests.story.truth import Truth

#: Chances, all invented: a day is not one for cuttings; a bucket waits another day; the old
#: medium is cleaned instead of changed; a fish feed is weighed; it is too damp to pollinate.
NO_CUTTINGS, NOT_TODAY, CLEANED, FEED_WEIGHED, TOO_DAMP = 0.4, 0.4, 0.2, 0.15, 0.25
#: A late tray without a place is given away, on average, after about a week.
GIVEN_AWAY = 0.15
DULL_MOL = 8.0
#: Fish weighed at a time, and the day's feed for their weight.
DOZEN, RATION = 12, 0.012


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """How many plants of a crop are wanted, and the letter of the places it is at home in."""

    crop: str
    count: int
    home: str


@dataclass(slots=True, kw_only=True)
class Sight:
    """What the grower sees on a morning.

    standing : living plantings by tag. room : plants that each place still takes.
    kinds, media : of places, by code. fish : how many each loop holds, by its name.
    """

    standing: dict[str, Planting] = field(default_factory=dict)
    room: dict[str, int] = field(default_factory=dict)
    kinds: dict[str, PlaceKind] = field(default_factory=dict)
    media: dict[str, str | None] = field(default_factory=dict)
    fish: Mapping[str, int] = field(default_factory=dict)


class Walk:
    """One morning's walk."""

    def __init__(self, hands: Hands, truth: Truth, wants: Sequence[Want], sight: Sight) -> None:
        self._hands, self._truth, self._sight = hands, truth, sight
        self._chance, self._today = hands.chance, hands.today
        self._wants = {want.crop: want for want in wants}

    def answer(self, line: Line) -> None:
        """Do what a line asks, as far as it can be done, and write it or tick it."""
        ways: dict[str, Callable[[Line], None]] = {
            "check-roots": self._look_for_roots,
            "check-seedlings": self._look_for_roots,
            "set-out": self._set_out,
            "first-flower": partial(self._look_for, Stage.FLOWERING),
            "first-fruit": partial(self._look_for, Stage.FRUITING),
            "first-cut": partial(self._look_for, Stage.PICKING),
            "judge-age": partial(self._look_for, Stage.SPENT),
            "pick": self._pick,
            "strike": self._strike,
            "pull": self._pull,
            "renew-medium": self._renew,
            "pollinate": self._pollinate,
            "fish": self._feed,
            "test-water": self._test,
            "test-again": self._test,
            "weigh-fish": self._weigh,
            "look-ahead": self._look_ahead,
        }
        ways.get(line.duty, self._hands.tick)(line)

    def _plantings(self, line: Line) -> list[Planting]:
        standing = self._sight.standing
        return [standing[about.code] for about in line.subjects if about.code in standing]

    def _look_for_roots(self, line: Line) -> None:
        stage = Stage.ROOTED if line.duty == "check-roots" else Stage.EMERGED
        for planting in self._plantings(line):
            dead = self._truth.failed(planting, self._today)
            rooted = min(self._truth.rooted(planting, self._today), planting.count - dead)
            if dead:
                why = self._chance.choice(("rot", "dried out", "never rooted"))
                self._hands.write(plantings.lost, planting.tag, dead, why=why)
            if rooted > planting.rooted:
                self._hands.write(plantings.seen, planting.tag, stage, count=rooted)
            elif dead < planting.count:
                self._hands.tick(line, only=(planting.tag,))

    def _look_for(self, stage: Stage, line: Line) -> None:
        looked_at = self._plantings(line)
        seen = [p for p in looked_at if self._truth.shows(p, stage, self._today)]
        for planting in seen:
            self._hands.write(plantings.seen, planting.tag, stage)
        unseen = [p.tag for p in looked_at if p not in seen]
        if unseen:
            self._hands.tick(line, only=unseen)

    def _pick(self, line: Line) -> None:
        ticked = []
        for planting in self._plantings(line):
            crop = self._truth.crop(planting.crop)
            amount = self._truth.pick(planting, self._today)
            weighed = _as_told(amount, crop.pick_unit)
            if self._truth.shows(planting, Stage.SPENT, self._today):
                self._hands.write(plantings.seen, planting.tag, Stage.SPENT)
            elif not amount:
                self._hands.not_needed(line, planting.tag, "nothing ripe")
            elif crop.habit is Habit.HEAD:
                heads = min(weighed, float(planting.count))
                self._hands.write(plantings.pick, planting.tag, amount=heads)
            elif self._chance.random() < self._hands.habits.weighs:
                self._hands.write(plantings.pick, planting.tag, amount=weighed)
            else:
                ticked.append(planting.tag)
        if ticked:
            self._hands.tick(line, only=ticked)

    def _pollinate(self, line: Line) -> None:
        dull = self._truth.weather(self._today).dli < DULL_MOL
        if dull and self._chance.random() < TOO_DAMP:
            self._hands.skip(line, "too damp")
        else:
            self._hands.tick(line)

    def _strike(self, line: Line) -> None:
        wanted = int(next(iter(re.findall(r"\d+", line.job)), "1"))
        planned = [int(a.code) for a in line.subjects if a.kind is SubjectKind.PLAN]
        if planned:
            self._begin_as_planned(planned)
            return
        letters = {about.code.rstrip("0123456789") for about in line.subjects}
        alike = [
            p for tag, p in self._sight.standing.items() if tag.rstrip("0123456789") in letters
        ]
        named = [*self._plantings(line), *(p for p in alike if p.barred_why is None)]
        mothers = [p for p in named if p.stage not in RAISING]
        if self._chance.random() < NO_CUTTINGS:
            return
        if not mothers:
            crops = [crop for crop in self._wants if self._truth.crop(crop).tag in letters]
            for crop in crops:
                self._begin(crop, wanted, "Sow", parent=None)  # nothing is left to take from
            return
        mother = mothers[0]
        cap = self._truth.crop(mother.crop).values.get("generations")
        if cap is not None and mother.generation >= cap.typical:
            self._begin(mother.crop, wanted, "Sow", parent=None)  # fresh stock
        else:
            self._begin(mother.crop, wanted, line.job, parent=mother.tag)

    def _begin_as_planned(self, numbers: Sequence[int]) -> None:
        """Strike or sow what the season plan asks for, from the plants it names or others."""
        if self._chance.random() < NO_CUTTINGS:
            return
        plan, _, _ = season.plan_in_force(self._hands.desk)
        standing = self._sight.standing
        for strike in plan.strikes:
            if strike.number not in numbers:
                continue
            fit = [
                p.tag
                for p in standing.values()
                if p.crop == strike.crop and p.stage not in RAISING and p.barred_why is None
            ]
            mother = next((tag for tag in [*strike.mothers, *fit] if tag in standing), None)
            match strike.way:
                case Origin.SEED:
                    self._begin(strike.crop, strike.count, "Sow", parent=mother)
                case Origin.BOUGHT_IN:
                    self._begin(strike.crop, strike.count, "Order", parent=None)
                case _ if mother is not None:
                    self._begin(strike.crop, strike.count, "Strike", parent=mother)

    def _begin(self, crop: str, wanted: int, job: str, *, parent: str | None) -> None:
        room, kinds = self._sight.room, self._sight.kinds
        trays = [code for code, left in room.items() if kinds[code] is PlaceKind.TRAY and left > 0]
        if not trays:
            self._hands.tales.counts["no tray free"] += 1
            return
        tray = max(trays, key=lambda code: room[code])
        count = min(wanted, room[tray])
        room[tray] -= count
        from_seed = Origin.SEED in self._truth.crop(crop).ways
        if job.startswith("Sow") and from_seed:
            self._hands.write(beginnings.sow, crop, count, place=tray)
        elif parent is None:
            self._hands.write(beginnings.bring_in, crop, count, places=[tray])
        else:
            self._hands.write(beginnings.strike, crop, count, parent=parent, place=tray)

    def _set_out(self, line: Line) -> None:
        room = self._sight.room
        for planting in self._plantings(line):
            ready = planting.count if planting.stage is Stage.BOUGHT_IN else planting.rooted
            free = self._free_for(planting, line)
            chosen: list[str] = []
            while free and sum(room[code] for code in chosen) < ready:
                chosen.append(free.pop(0))
            count = min(ready, sum(room[code] for code in chosen))
            if count:
                chosen = chosen[:count]
                self._hands.write(plantings.set_out, planting.tag, places=chosen, count=count)
                room.update(dict.fromkeys(chosen, 0))
            elif line.state is State.LATE and self._chance.random() < GIVEN_AWAY:
                self._hands.write(plantings.lost, planting.tag, planting.count, why="given away")
                self._hands.tales.counts[f"{planting.crop} given away"] += planting.count

    def _free_for(self, planting: Planting, line: Line) -> list[str]:
        """Places with room: those the season plan names, or the crop's home where it is mute."""
        room, told = self._sight.room, line.why.partition("season plan: to ")[2]
        named = [code for code in re.findall(r"[A-Z]+\d+", told) if room.get(code, 0) > 0]
        if named or (told and line.state is not State.LATE):
            return named
        home = self._wants[planting.crop].home
        return [code for code, left in room.items() if left > 0 and code.startswith(home)]

    def _pull(self, line: Line) -> None:
        standing = self._sight.standing.values()
        waiting = {p.crop for p in standing if p.rooted and p.stage in RAISING}
        for planting in self._plantings(line):
            spent = self._truth.shows(planting, Stage.SPENT, self._today)
            if spent or planting.crop in waiting:
                why = "spent" if spent else "tired"
                self._hands.write(plantings.pull, planting.tag, why=why)
            else:
                self._hands.put_off(line, planting.tag, 10)

    def _renew(self, line: Line) -> None:
        taken = {planting.place for planting in self._sight.standing.values()}
        for code in line.places:
            if code in taken:
                self._hands.put_off(line, code, 14)
            elif self._chance.random() < NOT_TODAY:
                continue
            elif self._chance.random() < CLEANED:
                self._hands.write(upkeep.tend, [code], Care.DISINFECT)
            else:
                self._hands.tick(line, only=(code,))

    def _feed(self, line: Line) -> None:
        if self._chance.random() < FEED_WEIGHED:
            name = line.subjects[0].code
            ration = self._sight.fish[name] * self._truth.fish_weight(self._today) * RATION
            grams = float(round(ration * self._chance.uniform(0.7, 1.1), -1))
            self._hands.write(upkeep.feed, name, grams)
        else:
            self._hands.tick(line)

    def _test(self, line: Line) -> None:
        values = {
            "ph": round(self._chance.gauss(6.8, 0.15), 1),
            "ammonia": self._chance.choice((0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.25, 0.5)),
            "nitrite": self._chance.choice((0.0, 0.0, 0.0, 0.0, 0.0, 0.25)),
            "nitrate": float(self._chance.randrange(20, 90, 10)),
        }
        self._hands.write(water.write_test, line.subjects[0].code, values)

    def _weigh(self, line: Line) -> None:
        """A dozen fish are weighed; the ration follows them."""
        name = line.subjects[0].code
        mean = round(self._truth.fish_weight(self._today) * self._chance.gauss(1, 0.03))
        self._hands.write(water.weigh, name, DOZEN, float(mean))
        ration = round(self._sight.fish[name] * mean * RATION, -1)
        self._hands.write(premises.set_loop, name, feed_g=float(ration))

    def _look_ahead(self, line: Line) -> None:
        """A month ahead: what is too few of a crop is begun, though no line has asked for it.

        What is aimed at is left to the season plan.
        """
        self._hands.tick(line)
        aimed = {row.goal.crop for row in goals.goals(self._hands.desk)}
        for want in self._wants.values():
            if want.crop in aimed:
                continue
            plants = [p for p in self._sight.standing.values() if p.crop == want.crop]
            lacking = want.count - sum(p.count for p in plants if p.stage is not Stage.SPENT)
            if lacking > 0:
                mothers = [p for p in plants if p.stage not in RAISING and p.barred_why is None]
                mother = mothers[0].tag if mothers else None
                seeded = self._truth.crop(want.crop).ways[0] is Origin.SEED
                self._begin(want.crop, lacking, "Sow" if seeded else "Strike", parent=mother)
                self._hands.unasked(f"began {want.crop} for empty places")


def _as_told(amount: float, unit: str) -> float:
    """An amount as a grower puts it: kilograms to ten grams, half bunches, whole pieces."""
    match unit:
        case "kg":
            return round(amount, 2)
        case "bunches":
            return max(0.5, round(2 * amount) / 2)
        case _:
            return float(max(1, round(amount)))
