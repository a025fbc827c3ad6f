"""A grower, a phone and a rude server: whatever happens in whatever order, no tick is lost.

After every run, cut off or not: no work is written twice. After every calm run: each tick that
stands on the phone is in the journal, the phone shows what the rounds show, and a further run has
nothing to do.
"""

from __future__ import annotations

import random
import re
import shutil
import tempfile
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from uuid import UUID

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from cropplan.desk import answers, keeping, syncing
from cropplan.desk.answers import Answer
from cropplan.desk.desk import Desk
from cropplan.desk.sync_picture import picture
from cropplan.desk.ticked import key_from
from cropplan.holding.entry import Done, HouseSet
from cropplan.holding.holding import Holding
from cropplan.holding.replay import apply
from cropplan.holding.synced import Mark, TaskList
from cropplan.holding.task import TaskKey
from cropplan.holding.turns import turn_of
from cropplan.problems import Refusal
from cropplan.record import synced
from cropplan.record.audit import check
from cropplan.record.store import open_record
from cropplan.sync.memory import MemoryList
from cropplan.sync.storage import Resource
from tests.builders import HOUSE, START, on
from tests.clients.sync.house import Clock, chores, standing_entries
from tests.clients.sync.phone import WAYS, is_done, ticked, unticked, value
from tests.clients.sync.rude import Cut, Fuse, RudeList, cut_off

LAMPS = 6
HANDLES = st.integers(1, LAMPS).map(lambda n: f"o{n}")
CHANCES = st.integers(0, 2**32)
SHARES = st.sampled_from([0.0, 0.0, 0.1, 0.4])
#: One and the same, for a life that is lived again must be lived alike.
NAMESPACE = UUID("5d0c2f0e-93c6-4d0b-8d4c-6c0b3f9f1a77")
FOREIGN = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//phone//EN\r\nBEGIN:VTODO\r\nUID:milk-1\r\n"
    "DTSTAMP:20260305T070000Z\r\nSUMMARY:milk\r\nSTATUS:COMPLETED\r\nEND:VTODO\r\nEND:VCALENDAR\r\n"
)


@dataclass(frozen=True, slots=True)
class Tick:
    """A tick that stands on the phone and must come into the journal: of which turns, which day.

    The day is None where the phone does not say, and is then that of the run that reads it.
    """

    keys: tuple[str, ...]
    day: date | None


class PhoneAndRounds(RuleBasedStateMachine):
    """One house whose lamps are wiped every four days; they often meet."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.clock = Clock()
        self.list = MemoryList()
        self.list.create("/memory/milk.ics", FOREIGN.encode())
        self.waiting: dict[str, Tick] = {}
        self.calm_at: int | None = None
        with open_record(self.folder / "r.db", create=True, namespace=NAMESPACE) as record:
            record.append([*on(START, HouseSet(house=HOUSE)), *chores(LAMPS, every_days=4)])
            synced.choose(record, TaskList(address="memory:", user="ivy", name="Work"))
        self.desk = self._opened()

    def _opened(self) -> Desk:
        record = open_record(self.folder / "r.db")
        # What is tried here is a process cut off, not a disk: what was committed stays.
        record.connection.execute("PRAGMA synchronous = OFF")
        return Desk(record=record, clock=self.clock)

    def teardown(self) -> None:
        """The record's own audit is the judge at the end of every life."""
        assert check(self.desk.record) == []
        self.desk.record.close()
        shutil.rmtree(self.folder)

    # The phone ------------------------------------------------------------------------------

    def _ours(self) -> list[Resource]:
        every = self.list.read(sorted(self.list.look(None).etags))
        return [one for one in every if b"X-CROPPLAN-KEY" in one.content]

    def _one(self, data: st.DataObject, *, done: bool) -> Resource | None:
        found = [one for one in self._ours() if is_done(one.content.decode()) == done]
        return data.draw(st.sampled_from(found)) if found else None

    def _write(self, one: Resource, text: str) -> None:
        assert one.etag is not None
        self.list.replace(one.path, text.encode(), one.etag)

    @rule(data=st.data(), way=st.sampled_from(list(WAYS)))
    def the_phone_ticks(self, data: st.DataObject, way: str) -> None:
        """In any of the ways there are; each tick has a moment of its own."""
        one = self._one(data, done=False)
        if one is not None:
            self._tick(one, way)

    def _tick(self, one: Resource, way: str) -> None:
        self.clock.now += timedelta(seconds=1)
        text = ticked(one.content.decode(), way, at=f"{self.clock.now:%Y%m%dT%H%M%SZ}")
        self._write(one, text)
        keys = tuple(re.findall(r"X-CROPPLAN-KEY:(.*?)\r\n", re.sub("\r\n[ \t]", "", text)))
        says_a_day = "COMPLETED:2" in text or "COMPLETED;" in text
        day = self.clock.now.date() if says_a_day else None
        self.waiting[value(text, "UID") or ""] = Tick(keys, day)

    @rule(data=st.data())
    def the_phone_unticks(self, data: st.DataObject) -> None:
        """What it ticked, or what was done at the desk."""
        one = self._one(data, done=True)
        if one is not None:
            self._write(one, unticked(one.content.decode()))
            self.waiting.pop(value(one.content.decode(), "UID") or "", None)

    @rule(data=st.data(), done=st.booleans())
    def the_phone_removes(self, data: st.DataObject, done: bool) -> None:
        """A tick that goes with it was taken back by whoever removed it."""
        one = self._one(data, done=done)
        if one is not None:
            assert one.etag is not None
            self.list.remove(one.path, one.etag)
            self.waiting.pop(value(one.content.decode(), "UID") or "", None)

    @rule(data=st.data(), done=st.booleans())
    def the_phone_renames(self, data: st.DataObject, done: bool) -> None:
        """Some clients copy and delete."""
        one = self._one(data, done=done)
        if one is not None:
            assert one.etag is not None
            self.list.remove(one.path, one.etag)
            number = data.draw(st.integers(0, 10**9))
            if not self.list.read([f"/memory/moved-{number}.ics"]):
                self.list.create(f"/memory/moved-{number}.ics", one.content)

    # The desk -------------------------------------------------------------------------------

    @rule(handle=HANDLES)
    def the_desk_ticks(self, handle: str) -> None:
        """At the terminal."""
        answers.done(self.desk, Answer(handles=(handle,)))

    @rule(handle=HANDLES)
    def the_desk_skips(self, handle: str) -> None:
        """The turn is passed over."""
        answers.skip(self.desk, Answer(handles=(handle,)), why="no cloth")

    @rule(handle=HANDLES, days=st.integers(1, 3))
    def the_desk_puts_off(self, handle: str, days: int) -> None:
        """The day moves, the identity stays."""
        to = self.clock.now.date() + timedelta(days=days)
        # Refused where the next turn would be due before that day; nothing changes then.
        with suppress(Refusal):
            answers.put_off(self.desk, Answer(handles=(handle,)), to=to)

    @rule()
    def the_desk_undoes(self) -> None:
        """The last of what still stands, whoever wrote it."""
        if isinstance(standing_entries(self.desk)[-1].act, Done):
            keeping.undo(self.desk)

    @rule(days=st.integers(1, 5))
    def days_pass(self, days: int) -> None:
        """Work falls due again."""
        self.clock.days_later(days)

    # Runs -----------------------------------------------------------------------------------

    def _rude(
        self, chance: int, share: float, **manners: bool | Fuse | Callable[[str], None]
    ) -> RudeList:
        return RudeList(
            inner=self.list,
            chance=random.Random(chance),  # noqa: S311 - manners, not secrets
            lost_etags=share,
            odd_etags=share,
            forgets=share,
            fails=share,
            **manners,  # type: ignore[arg-type]
        )

    @rule(chance=CHANCES, share=SHARES, read_only=st.booleans())
    def a_run_against_a_rude_server(self, chance: int, share: float, read_only: bool) -> None:
        """Whatever it does, what was read is kept."""
        rude = self._rude(chance, share, read_only=read_only)
        syncing.sync(self.desk, rude, meant=True)
        self._delivered()

    @rule(chance=CHANCES, way=st.sampled_from(list(WAYS)))
    def a_run_with_the_phone_at_work(self, chance: int, way: str) -> None:
        """What is about to be written is ticked first, as often as not."""
        dice = random.Random(chance)  # noqa: S311 - manners, not secrets

        def meddle(path: str) -> None:
            if dice.random() < 0.5:
                for one in self.list.read([path]):
                    if not is_done(one.content.decode()):
                        self._tick(one, way)

        syncing.sync(self.desk, self._rude(chance, 0.0, meddle=meddle), meant=True)
        self._delivered()

    @rule()
    def the_server_forgets(self) -> None:
        """Its account of changes begins anew."""
        token = self.list.look(None).token
        assert token is not None
        self.list.forgets_before = int(token) + 1

    @rule(chance=CHANCES, share=SHARES, burns=st.integers(0, 40))
    def a_run_that_is_cut_off(self, chance: int, share: float, burns: int) -> None:
        """At any point, between any two things that are kept or sent."""
        fuse = Fuse(burns)
        try:
            with cut_off(fuse):
                syncing.sync(self.desk, self._rude(chance, share, fuse=fuse), meant=True)
        except Cut:
            self.desk.record.close()
            self.desk = self._opened()
        self._delivered()

    @rule()
    def a_calm_run(self) -> None:
        """All is settled by it, and stays so."""
        report = syncing.sync(self.desk, self.list, meant=True)
        assert (report.stopped, report.faults) == (None, {})
        self._delivered()
        assert self.waiting == {}, "a tick was lost"
        self._shows_what_the_rounds_show()
        again = syncing.sync(self.desk, self.list, meant=True)
        assert (again.sent, again.changed, again.removed, again.said) == (0, 0, 0, [])

    def _delivered(self) -> None:
        """Ticks whose work is in the journal no longer wait, whatever becomes of it later.

        It is there when the turn was closed by doing it, or when it was done on that day or since.
        """
        if not self.waiting:
            return
        days: dict[tuple[str, str], list[date]] = {}
        closed_by_doing: set[TaskKey] = set()
        holding = Holding()
        for entry in standing_entries(self.desk):
            before, holding = holding, apply(holding, entry)
            if isinstance(entry.act, Done):
                for about in entry.act.subjects:
                    days.setdefault((entry.act.duty, str(about)), []).append(entry.happened)
                    number = turn_of(before, entry.act.duty, about).number
                    if turn_of(holding, entry.act.duty, about).number > number:
                        closed_by_doing.add(TaskKey(entry.act.duty, about, number))
        for uid, tick in list(self.waiting.items()):
            since = tick.day or date.min
            if all(
                key in closed_by_doing
                or any(day >= since for day in days.get((key.duty, str(key.subject)), ()))
                for key in map(key_from, tick.keys)
            ):
                del self.waiting[uid]

    def _shows_what_the_rounds_show(self) -> None:
        wanted = picture(self.desk, syncing.DAYS_AHEAD).wanted
        there = {value(one.content.decode(), "UID"): one for one in self._ours()}
        shown_open = {uid for uid, one in there.items() if not is_done(one.content.decode())}
        asked = {
            task.uid
            for task in synced.read(self.desk.record).values()
            if task.mark in {Mark.GONE, Mark.CANCELLED} or task.question
        }
        assert shown_open == wanted.keys() - asked

    @invariant()
    def no_work_is_written_twice(self) -> None:
        """Of what stands, each entry of a duty is of a later day than the one before it."""
        last: dict[tuple[str, str], date] = {}
        for entry in standing_entries(self.desk):
            if isinstance(entry.act, Done):
                for about in entry.act.subjects:
                    key = entry.act.duty, str(about)
                    assert key not in last or last[key] < entry.happened, f"{key} twice"
                    last[key] = entry.happened

    @invariant()
    def no_uid_stands_twice(self) -> None:
        """One task, one resource; and what is not ours is as it was."""
        uids = [value(one.content.decode(), "UID") for one in self._ours()]
        assert len(uids) == len(set(uids))
        (milk,) = self.list.read(["/memory/milk.ics"])
        assert milk.content == FOREIGN.encode()


TestPhoneAndRounds = PhoneAndRounds.TestCase
TestPhoneAndRounds.settings = settings(
    max_examples=60,
    stateful_step_count=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
