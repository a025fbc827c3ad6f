"""Three hundred tasks, edits on both sides, and a sync killed a hundred times on the way.

Radicale on loopback; the sync is a process of its own, killed with SIGKILL at a random moment, with
the phone ticking before and meanwhile. In the end no tick is lost, none is doubled, no UID stands
twice, and both sides show the same. Timings are printed (`pytest -s`), and nothing is asserted of
them.
"""

from __future__ import annotations

import os
import random
import signal
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from cropplan.cli.root import run
from cropplan.desk import answers, keeping, syncing
from cropplan.desk.answers import Answer
from cropplan.desk.desk import Desk
from cropplan.desk.sync_list import PASSWORD_VARIABLE
from cropplan.desk.sync_picture import picture
from cropplan.holding.entry import Done
from cropplan.record.audit import check
from cropplan.record.store import open_record
from tests.builders import bare_house
from tests.clients.sync.house import Clock, chores, standing_entries
from tests.clients.sync.phone import LEGAL_WAYS, Phone, Task, is_done, value
from tests.clients.sync.server import PASSWORD, Server
from tests.clients.sync.terminal import Terminal, connect

KILLS = 100
LAMPS = 285  # with the house's own work, three hundred tasks
#: By the rest of their number: whose they are to edit. What both tick must still be one.
PHONES, DESKS, BOTH = (0, 1, 2), (3,), (4,)


@dataclass(slots=True)
class Story:
    """What was done to each lamp, by number, and how it must end."""

    phone: Phone
    desk: Callable[[], Desk]
    chance: random.Random
    paths: dict[int, str]
    ticked: set[int] = field(default_factory=set)
    ever: set[int] = field(default_factory=set)
    dismissed: set[int] = field(default_factory=set)
    tally: Counter[str] = field(default_factory=Counter)

    def lamp(self, whose: tuple[int, ...], *, ticked: bool) -> int | None:
        """One of those lamps that is, or is not, ticked."""
        found = [
            n
            for n in self.paths
            if n % 5 in whose and (n in self.ticked) == ticked and n not in self.dismissed
        ]
        return self.chance.choice(found) if found else None

    def on_the_phone(self, number: int | None, act: Callable[[Task], int]) -> bool:
        """Do something to a task as the server has it now; whether it was done."""
        if number is None:
            return False
        task = self.phone.read(self.paths[number])
        return task is not None and act(task) in {200, 201, 204}

    def phone_ticks(self, whose: tuple[int, ...]) -> None:
        """A tick, in one of the ways there are."""
        number = self.lamp(whose, ticked=False)
        way = self.chance.choice(LEGAL_WAYS)
        at = f"20260305T06{self.chance.randrange(60):02d}{self.chance.randrange(60):02d}Z"
        if self.on_the_phone(number, lambda task: self.phone.tick(task, way, at=at)):
            assert number is not None
            self.ticked.add(number)
            self.ever.add(number)
            self.tally["ticks on the phone"] += 1

    def phone_unticks(self) -> None:
        """A tick of the phone's own is taken back."""
        number = self.lamp(PHONES, ticked=True)
        if self.on_the_phone(number, self.phone.untick):
            assert number is not None
            self.ticked.discard(number)
            self.tally["ticks taken back there"] += 1

    def phone_dismisses(self) -> None:
        """A task is removed without a tick; one un-ticked before may look like one cleared away."""
        number = self.lamp(PHONES, ticked=False)
        if number in self.ever:
            return
        if self.on_the_phone(number, self.phone.remove):
            assert number is not None
            self.dismissed.add(number)
            self.tally["dismissed there"] += 1

    def phone_adds(self) -> None:
        """A property of the phone's own."""

        def add(task: Task) -> int:
            text = task.text.replace("X-PHONE:1\r\n", "")
            return self.phone.put(task, text.replace("END:VTODO", "X-PHONE:1\r\nEND:VTODO"))

        self.on_the_phone(self.lamp(DESKS, ticked=False), add)

    def desk_ticks(self, whose: tuple[int, ...]) -> None:
        """At the terminal."""
        number = self.lamp(whose, ticked=False)
        if number is not None:
            self._at_the_desk(lambda desk: answers.done(desk, Answer(handles=(f"o{number}",))))
            self.ticked.add(number)
            self.tally["ticks at the desk"] += 1

    def both_tick(self) -> None:
        """The same turn on both sides before either knows of the other."""
        number = self.lamp(BOTH, ticked=False)
        if number is not None and self.on_the_phone(number, self.phone.tick):
            self._at_the_desk(lambda desk: answers.done(desk, Answer(handles=(f"o{number}",))))
            self.ticked.add(number)
            self.tally["ticked on both sides"] += 1

    def desk_undoes(self) -> None:
        """A tick of the desk's own is taken back."""
        number = self.lamp(DESKS, ticked=True)
        if number is None:
            return

        def undo(desk: Desk) -> None:
            entry = next(
                entry
                for entry in standing_entries(desk)
                if isinstance(entry.act, Done) and entry.act.duty == f"own-{number}"
            )
            keeping.undo(desk, entry.id)

        self._at_the_desk(undo)
        self.ticked.discard(number)
        self.tally["undone at the desk"] += 1

    def desk_puts_off(self) -> None:
        """A day moves."""
        number = self.lamp(DESKS, ticked=False)
        if number is not None:
            day = Clock().now.date().replace(day=self.chance.randrange(6, 18))
            answer = Answer(handles=(f"o{number}",))
            self._at_the_desk(lambda desk: answers.put_off(desk, answer, to=day))
            self.tally["put off at the desk"] += 1

    def _at_the_desk(self, act: Callable[[Desk], object]) -> None:
        desk = self.desk()
        try:
            act(desk)
        finally:
            desk.record.close()

    def edits(self) -> None:
        """A few of them, on both sides."""
        self.phone_ticks(PHONES)
        for share, edit in (
            (0.5, lambda: self.phone_ticks(PHONES)),
            (0.3, self.phone_unticks),
            (0.1, self.phone_dismisses),
            (0.3, self.phone_adds),
            (0.4, lambda: self.desk_ticks(DESKS)),
            (0.3, self.both_tick),
            (0.2, self.desk_undoes),
            (0.3, self.desk_puts_off),
        ):
            if self.chance.random() < share:
                edit()


def sync_for(record: Path, seconds: float | None, meanwhile: Callable[[], None]) -> bool:
    """Run a sync in a process of its own, killed after so many seconds; whether it was killed."""
    child = os.fork()
    if child == 0:
        code = 1
        try:
            null = os.open(os.devnull, os.O_WRONLY)
            os.dup2(null, 1)
            os.dup2(null, 2)
            code = run(["calendar", "sync", "--record", str(record)], clock=Clock())
        finally:
            # Whatever happens, a child must never go on as a second test runner.
            os._exit(code)
    meanwhile()
    if seconds is not None:
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    killed = os.WIFSIGNALED(status)
    assert killed or os.waitstatus_to_exitcode(status) == 0
    return killed


@pytest.fixture
def terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Terminal:
    """A house with three hundred tasks."""
    monkeypatch.setenv(PASSWORD_VARIABLE, PASSWORD)
    path = tmp_path / "house.db"
    with open_record(path, create=True) as record:
        record.append([*bare_house(), *chores(LAMPS)])
    return Terminal(record=path, clock=Clock(), capture=capsys)


def test_a_sync_killed_a_hundred_times_loses_no_tick_and_doubles_none(
    terminal: Terminal, server: Server, capsys: pytest.CaptureFixture[str]
) -> None:
    """Issue: 300 tasks, random edits on both sides, killed at random points 100 times."""
    began = time.perf_counter()
    phone = connect(terminal, server, "Three hundred")
    first = time.perf_counter() - began
    paths = {
        int(task.summary.removeprefix("Wipe lamp ")): task.path
        for task in phone.tasks()
        if task.summary.startswith("Wipe lamp ")
    }
    assert len(paths) == LAMPS
    chance = random.Random(20260305)  # noqa: S311 - edits, not secrets
    story = Story(phone=phone, desk=terminal.desk, chance=chance, paths=paths)

    began = time.perf_counter()
    assert not sync_for(terminal.record, None, lambda: None)
    idle = time.perf_counter() - began
    runs = killed = killed_in_writing = 0
    span = 2 * idle
    while killed < KILLS:
        runs += 1
        assert runs <= 4 * KILLS, "too few runs are killed before their end"
        story.edits()
        before = _state(terminal, phone)
        life = chance.uniform(0.0, span)
        dead = sync_for(terminal.record, life, lambda: story.phone_ticks(PHONES))
        # Lives grow until about one run in four reaches its end, on a quick machine or a slow one.
        span *= 1.03 if dead else 0.91
        killed += dead
        killed_in_writing += dead and _state(terminal, phone) != before
    began = time.perf_counter()
    last = terminal.sync()
    final = time.perf_counter() - began

    _both_sides_agree(terminal, story)
    assert {one["handle"] for one in last["questions"]} == {f"o{n}" for n in story.dismissed}
    assert terminal.sync()["sent"] == 0
    # A story that killed every run before it wrote would show nothing.
    assert killed_in_writing >= KILLS / 5
    with capsys.disabled():
        print(
            f"\n300 tasks: first sync {first:.1f} s, idle {idle:.2f} s, last {final:.2f} s; "
            f"{runs} runs, {killed} killed before their end, {killed_in_writing} of them after "
            f"they had written; {dict(story.tally)}"
        )


def _state(terminal: Terminal, phone: Phone) -> tuple[int, int]:
    """What a run changes: entries, and what is known of the list."""
    with open_record(terminal.record) as record:
        rows = record.connection.execute("SELECT * FROM synced_task ORDER BY uid").fetchall()
        return record.revision, hash(tuple(rows))


def _both_sides_agree(terminal: Terminal, story: Story) -> None:
    desk = terminal.desk()
    try:
        assert check(desk.record) == []
        written = Counter(
            entry.act.duty for entry in standing_entries(desk) if isinstance(entry.act, Done)
        )
        lamps = {n: written[f"own-{n}"] for n in story.paths}
        assert {n for n, times in lamps.items() if times > 1} == set(), "doubled"
        done = {n for n, times in lamps.items() if times}
        assert story.ticked - done == set(), "lost"
        assert done - story.ticked == set(), "written though nobody ticked it, or taken back"
        wanted = picture(desk, syncing.DAYS_AHEAD).wanted
    finally:
        desk.record.close()
    tasks = story.phone.tasks()
    uids = [task.uid for task in tasks]
    assert len(uids) == len(set(uids)), "a UID stands twice"
    dismissed = {story.paths[n].rpartition("/")[2].removesuffix(".ics") for n in story.dismissed}
    shown_open = {task.uid for task in tasks if not is_done(task.text)}
    assert shown_open == wanted.keys() - dismissed
    assert {value(task.text, "X-PHONE") for task in tasks} == {None, "1"}
