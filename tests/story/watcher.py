"""Looks over the grower's shoulder each day and notes whatever must never happen.

Each rule is stated again here, from the journal and the catalogue's figures, and not asked of the
schedule. What was looked at is counted, so that a rule that was never put to the test is no proof.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from cropplan.catalogue.model import Duty, Trigger
from cropplan.desk import calendar, keeping, look
from cropplan.holding import entry as acts
from cropplan.holding.place import Care
from cropplan.holding.planting import Stage
from cropplan.holding.task import Keeps, Rank, State, Subject, SubjectKind, TaskKey, subject
from cropplan.schedule.rounds import Line, Rounds
from tests.calendar_octets.octets import feed_findings, findings_between
from tests.story.grower import Away, Grower
from tests.story.moving_in import crop_of

#: Two months of calendar are enough to see each kind of turn move. [d]
DAYS_AHEAD = 60
#: What must go on every day while the grower is away.
EVERY_DAY = ("fish", "pumps", "heat")


_ON_WATER = {acts.Fed: "fish", acts.Drained: "drain", acts.Tested: "test-water"}


class Watcher:
    """Keeps, by rule, what was broken and how often it was looked at."""

    def __init__(self, grower: Grower, duties: dict[str, Duty], away: list[Away]) -> None:
        self.broken: dict[str, list[str]] = defaultdict(list)
        self.looked: Counter[str] = Counter()
        self._grower, self._duties, self._away = grower, duties, away
        self._revision = 0
        self._done: dict[tuple[str, Subject], dict[int, date]] = defaultdict(dict)
        self._turns: dict[tuple[str, Subject], int] = {}
        self._meanings: dict[str, tuple[str, str]] = {}
        self._since: dict[Subject, date] = {}
        self._uids: dict[str, tuple[str, int]] = {}
        self._calendar: bytes | None = None

    def day(self, today: date, rounds: Rounds) -> None:
        """Look at one day's rounds, as read in the morning, and at what was written after."""
        self._one_open_task(today, rounds)
        self._handles(today, rounds)
        self._fish_first(today, rounds)
        self._beginnings(today, rounds)
        self._lapsing(today, rounds)
        self._not_too_soon(today, rounds)
        self._absence(today, rounds)
        for planting in self._grower.sight.standing.values():
            self._hold("every plant is accounted for", planting.tallies, f"{today} {planting.tag}")
        self._read_on()

    def month(self, today: date) -> None:
        """Check the record, and what calendars are told."""
        desk = self._grower.desk
        for problem in keeping.check(desk):
            self.broken["the record passes its check"].append(f"{today} {problem}")
        self.looked["the record passes its check"] += 1
        for planting in look.plantings(desk, all_of_them=True):
            self._hold("every plant is accounted for", planting.tallies, f"{today} {planting.tag}")
        content = calendar.build(desk, days=DAYS_AHEAD).content
        found = feed_findings(content)
        if self._calendar is not None:
            found += findings_between(self._calendar, content)
        self._calendar = content
        self._hold("calendars are sound", not found, f"{today} {found[:3]}")
        for key, told in desk.record.published().items():
            uid, sequence = self._uids.get(key, (told.uid, told.sequence))
            kept = uid == told.uid and sequence <= told.sequence
            self._hold("a notice keeps its name", kept, f"{today} {key}")
            self._uids[key] = (told.uid, told.sequence)
        names = Counter(uid for uid, _ in self._uids.values())
        twins = [uid for uid, times in names.items() if times > 1]
        self._hold("a notice keeps its name", not twins, f"{today} {twins[:3]}")

    def _hold(self, rule: str, kept: bool, what: str) -> None:
        self.looked[rule] += 1
        if not kept:
            self.broken[rule].append(what)

    # --- rules of a day ---------------------------------------------------------------------

    def _one_open_task(self, today: date, rounds: Rounds) -> None:
        open_ones = Counter((key.duty, key.subject) for _, key in _tasks(rounds))
        twice = [pair for pair, times in open_ones.items() if times > 1]
        self._hold("one open task a duty and subject", not twice, f"{today} {twice}")

    def _handles(self, today: date, rounds: Rounds) -> None:
        rule = "a handle has one meaning"
        shown = Counter(line.handle for line in _now(rounds))
        twice = [handle for handle, times in shown.items() if times > 1]
        self._hold(rule, not twice, f"{today} {twice}")
        for line in rounds.lines:
            things = {self._thing(about) for about in line.subjects}
            for thing in things - {None}:
                meant = self._meanings.setdefault(line.handle, (line.duty, str(thing)))
                self._hold(rule, meant == (line.duty, thing), f"{today} {line.handle} {thing}")
        others = Counter(self._meanings.values())
        twins = [meaning for meaning, times in others.items() if times > 1]
        self._hold(rule, not twins, f"{today} two handles for {twins}")

    def _fish_first(self, today: date, rounds: Rounds) -> None:
        """Plants above the last line that fish or their water cannot do without, late or not."""
        asked = _now(rounds)
        vital = [n for n, line in enumerate(asked) if line.survival and line.rank <= Rank.WATER]
        above = [line.handle for line in asked[: max(vital)] if line.rank > Rank.WATER]
        self._hold("fish come before plants", not above, f"{today} {above}")

    def _thing(self, about: Subject) -> str | None:
        if about.kind is SubjectKind.PLANTING:
            planting = self._grower.sight.standing.get(about.code)
            return None if planting is None else planting.crop
        return self._grower.sight.media.get(about.code, about.code)

    def _beginnings(self, today: date, rounds: Rounds) -> None:
        for line in rounds.lines:
            born = [self._since.get(about) for about in line.subjects]
            known = [day for day in born if day is not None]
            if known:
                kept = line.due >= min(known)
                self._hold(
                    "nothing is due before its subject was there",
                    kept,
                    f"{today} {line.handle} due {line.due}, there since {min(known)}",
                )

    def _lapsing(self, today: date, rounds: Rounds) -> None:
        for line in rounds.lines:
            duty = self._duties.get(line.duty)
            if duty is not None and duty.keeps is Keeps.LAPSES:
                kept = line.state is not State.LATE and line.due >= today
                self._hold("what lapses is never in arrears", kept, f"{today} {line.handle}")

    def _not_too_soon(self, today: date, rounds: Rounds) -> None:
        for line, key in _tasks(rounds):
            pair = key.duty, key.subject
            turn = self._turns.get(pair, 0)
            self._hold(
                "a turn that was answered stays answered", key.turn >= turn, f"{today} {key}"
            )
            self._turns[pair] = max(turn, key.turn)
            last = max(self._done[pair].values(), default=None)
            least = self._least_days(key)
            if line.state is State.COMING or last is None or least is None or self._leaving(today):
                continue
            kept = today >= last + timedelta(days=least)
            self._hold("done work does not come back too soon", kept, f"{today} {key} done {last}")

    def _least_days(self, key: TaskKey) -> int | None:
        """The soonest that a turn may follow the one before, by the catalogue's figures."""
        duty = self._duties.get(key.duty)
        if duty is None or duty.trigger is not Trigger.INTERVAL:
            return None
        figure = duty.every
        if duty.every_key is not None:
            planting = self._grower.sight.standing.get(key.subject.code)
            if planting is None:
                return None
            figure = crop_of(planting.crop).values[duty.every_key]
        return None if figure is None else max(1, round(figure.least))

    def _leaving(self, today: date) -> bool:
        """Whether work may be brought forward for a time away that has been told."""
        return any(
            away.first - timedelta(days=away.told_before) <= today < away.first
            for away in self._away
        )

    def _absence(self, today: date, rounds: Rounds) -> None:
        away = next((away for away in self._away if away.holds(today)), None)
        if away is None:
            return
        present = {line.duty for line in _now(rounds)}
        lacking = set(EVERY_DAY) - present
        self._hold("what must go on is asked while away", not lacking, f"{today} {lacking}")
        for line in _now(rounds):
            told = f"{today} {line.handle}"
            self._hold("nothing else is asked while away", line.survival, told)

    # --- what was written -------------------------------------------------------------------

    def _read_on(self) -> None:
        record = self._grower.desk.record
        new = record.journal(last=max(1, record.revision - self._revision))
        self._revision = record.revision
        for entry in new:
            for pair in _answered(entry.act):
                self._done[pair][entry.id] = entry.happened
            match entry.act:
                case acts.Voided(entry=number):
                    self._forget(number)
                case acts.Began(tag=tag, started=started):
                    about = subject(SubjectKind.PLANTING, tag)
                    self._since[about] = min(started or entry.happened, entry.happened)
                case acts.SetOut(parts=parts, tag=tag):
                    batch = subject(SubjectKind.PLANTING, tag)
                    for part in parts:
                        about = subject(SubjectKind.PLANTING, part.tag)
                        self._since.setdefault(about, self._since[batch])
                case acts.HouseSet(house=house):
                    self._since[subject(SubjectKind.HOUSE, house.name)] = entry.happened
                case acts.LoopSet(loop=loop):
                    self._since.setdefault(subject(SubjectKind.LOOP, loop.name), entry.happened)

    def _forget(self, number: int) -> None:
        for pair, entries in self._done.items():
            if entries.pop(number, None) is not None:
                self._turns.pop(pair, None)


def _tasks(rounds: Rounds) -> Iterator[tuple[Line, TaskKey]]:
    for line in rounds.lines:
        for key in line.keys:
            yield line, key


def _now(rounds: Rounds) -> list[Line]:
    return [line for line in rounds.lines if line.state is not State.COMING]


def _answered(act: acts.Act) -> list[tuple[str, Subject]]:
    """The duties, with their subjects, that an act answers as done."""
    match act:
        case acts.Done(duty=duty, subjects=subjects):
            return [(duty, about) for about in subjects]
        case acts.Picked(tag=tag):
            return [("pick", subject(SubjectKind.PLANTING, tag))]
        case acts.Tested(loop=loop, again=True):
            return [("test-again", subject(SubjectKind.LOOP, loop))]
        case acts.Fed() | acts.Drained() | acts.Tested():
            return [(_ON_WATER[type(act)], subject(SubjectKind.LOOP, act.loop))]
        case acts.Tended(places=places, care=Care.CHANGE):
            return [("renew-medium", subject(SubjectKind.PLACE, place)) for place in places]
        case acts.Seen(tag=tag, stage=Stage.ROOTED):
            return [("check-roots", subject(SubjectKind.PLANTING, tag))]
        case acts.Seen(tag=tag, stage=Stage.EMERGED):
            return [("check-seedlings", subject(SubjectKind.PLANTING, tag))]
    return []
