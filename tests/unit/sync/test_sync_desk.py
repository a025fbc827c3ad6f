"""Keeping a list in step with the rounds, against a list in memory."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest

from cropplan.desk import answers, keeping, morning, plantings, syncing
from cropplan.desk import ticked as ticked_module
from cropplan.desk.answers import Answer
from cropplan.holding.entry import Entry, Fed, Pulled
from cropplan.holding.planting import Stage
from cropplan.holding.synced import Mark, TaskList
from cropplan.problems import Refusal
from cropplan.record import synced
from cropplan.record.audit import check
from cropplan.record.exchange import JOURNAL_FILE, export, import_journal
from cropplan.record.store import open_record
from cropplan.record.waiting import waiting_ticks
from cropplan.sync.memory import MemoryList
from cropplan.sync.storage import Listing, Rejected, Resource, UidTaken, Unreachable
from tests.builders import after, saw, standing, struck
from tests.clients.sync.house import (
    Clock,
    Hand,
    chores,
    desk_at,
    done_days,
    in_step,
    picks,
    standing_entries,
    tomatoes,
)
from tests.clients.sync.phone import WAYS, is_done, ticked, value
from tests.clients.sync.rude import Cut, Fuse, RudeList, cut_off

TODAY = date(2026, 3, 5)


def all_in_step(tmp_path: Path, *more: Any, clock: Clock | None = None) -> tuple[Any, Any, Hand]:
    """A desk, a list and a hand, after the first run."""
    desk = desk_at(tmp_path / "r.db", chores(12), tomatoes(), *more, clock=clock)
    storage = MemoryList()
    in_step(desk, storage)
    return desk, storage, Hand(storage=storage)


def ready_to_set_out() -> list[Entry]:
    """Four tomato cuttings with roots, waiting for their places."""
    rooted = after(0)
    return [*struck("tom8", rooted - timedelta(days=40)), *saw("tom8", Stage.ROOTED, rooted)]


def test_the_list_shows_the_rounds_and_a_second_run_changes_nothing(tmp_path: Path) -> None:
    """One task a line, due on its day, known by the UID it has in the feed."""
    desk, storage, hand = all_in_step(tmp_path)
    pick = hand.text("Pick tomatoes")
    assert value(pick, "SUMMARY") == "Pick tomatoes: B1 and B2"
    assert value(pick, "STATUS") == "NEEDS-ACTION"
    before = hand.all()
    report = in_step(desk, storage)
    assert (report.sent, report.changed, report.removed, report.said) == (0, 0, 0, [])
    assert hand.all() == before


@pytest.mark.parametrize("way", WAYS)
def test_a_tick_is_written_with_its_day_whichever_way_it_was_made(tmp_path: Path, way: str) -> None:
    """Checklist row 40. The day is the copy's own where it says one, else the day of the run."""
    desk, storage, hand = all_in_step(tmp_path)
    clock = desk.clock
    clock.days_later(2)
    hand.tick("Wipe lamp 3", way, at="20260305T221500Z")
    report = in_step(desk, storage)
    says_a_day = "only" not in way or way == "completed only"
    assert done_days(desk, "own-3") == [TODAY if says_a_day else TODAY + timedelta(days=2)]
    assert any("lamp 3" in line for line in report.said)
    assert in_step(desk, storage).said == []
    assert is_done(hand.text("Wipe lamp 3"))


def test_the_day_of_a_tick_is_the_houses_own(tmp_path: Path) -> None:
    """23:30 UTC in July is half past midnight of the next day in London."""
    clock = Clock()
    desk, storage, hand = all_in_step(tmp_path, clock=clock)
    clock.days_later(120)
    in_step(desk, storage)
    hand.tick("Wipe lamp 3", at="20260702T233000Z")
    in_step(desk, storage)
    assert done_days(desk, "own-3") == [date(2026, 7, 3)]


@pytest.mark.parametrize("at", ["20270101T120000Z", "19700101T000000Z"])
def test_a_phone_whose_clock_is_off_ticks_today(tmp_path: Path, at: str) -> None:
    """A tick cannot be still to come, nor older than the task it is on."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3", at=at)
    in_step(desk, storage)
    assert done_days(desk, "own-3") == [TODAY]


def test_a_tick_of_a_line_is_one_for_each_of_its_places(tmp_path: Path) -> None:
    """The line gathers two plants; both are picked."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Pick tomatoes")
    in_step(desk, storage)
    assert picks(desk) == [("tom1", TODAY), ("tom2", TODAY)]


def test_what_joined_the_line_after_the_phone_last_saw_it_is_not_ticked(tmp_path: Path) -> None:
    """The tick means the places that stood on the phone."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Pick tomatoes")
    answers.done(desk, Answer(handles=("pk-tom",), only=("tom1",)))
    in_step(desk, storage)
    assert picks(desk) == [("tom1", TODAY), ("tom2", TODAY)]


def test_the_same_work_ticked_on_both_sides_is_one_entry(tmp_path: Path) -> None:
    """A turn is done once, whoever says so first."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    answers.done(desk, Answer(handles=("o3",)))
    report = in_step(desk, storage)
    assert done_days(desk, "own-3") == [TODAY]
    assert report.said == []
    assert is_done(hand.text("Wipe lamp 3"))


def test_a_tick_of_a_turn_that_was_done_long_since_is_not_done_again(tmp_path: Path) -> None:
    """Two turns have passed since the phone last saw it; the journal knows how the first ended."""
    clock = Clock()
    desk, storage, hand = all_in_step(tmp_path, clock=clock)
    hand.tick("Wipe lamp 3", at="20260420T080000Z")
    for _ in range(2):
        answers.done(desk, Answer(handles=("o3",)))
        clock.days_later(40)
    in_step(desk, storage)
    assert done_days(desk, "own-3") == [TODAY, TODAY + timedelta(days=40)]


def test_a_tick_of_a_turn_that_was_skipped_is_written(tmp_path: Path) -> None:
    """A conflict never loses a tick: the work was done, whatever the desk said of it."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    answers.skip(desk, Answer(handles=("o3",)), why="no cloth")
    report = in_step(desk, storage)
    assert done_days(desk, "own-3") == [TODAY]
    assert any("own-3, north: was no longer asked" in line for line in report.said)
    assert in_step(desk, storage).said == []


def test_a_tick_of_a_turn_skipped_long_since_is_written(tmp_path: Path) -> None:
    """As before, though another turn was skipped after it."""
    clock = Clock()
    desk, storage, hand = all_in_step(tmp_path, clock=clock)
    hand.tick("Wipe lamp 3")
    for _ in range(2):
        answers.skip(desk, Answer(handles=("o3",)), why="no cloth")
        clock.days_later(40)
    in_step(desk, storage)
    assert done_days(desk, "own-3") == [TODAY]


def test_a_tick_for_a_plant_that_is_gone_is_written_as_history(tmp_path: Path) -> None:
    """It was picked before it was pulled; the pull was written first."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Pick tomatoes")
    for tag in ("tom1", "tom2"):
        desk.record.append([replace(standing_entries(desk)[-1], act=Pulled(tag=tag), id=0)])
    report = in_step(desk, storage)
    assert done_days(desk, "pick") == [TODAY, TODAY]
    assert len([line for line in report.said if "was no longer asked" in line]) == 2


def test_done_at_the_desk_is_shown_as_done_and_cleared_after_a_week(tmp_path: Path) -> None:
    """A finished task stays a while, so that a slip can be un-ticked there."""
    clock = Clock()
    desk, storage, hand = all_in_step(tmp_path, clock=clock)
    answers.done(desk, Answer(handles=("o3",)))
    assert in_step(desk, storage).changed == 1
    assert value(hand.text("Wipe lamp 3"), "COMPLETED") == "20260305T070000Z"
    clock.days_later(6)
    in_step(desk, storage)
    assert is_done(hand.text("Wipe lamp 3"))
    clock.days_later(1)
    in_step(desk, storage)
    assert "Wipe lamp 3" not in hand.names()
    assert done_days(desk, "own-3") == [TODAY]


def test_undone_at_the_desk_is_open_again_on_the_phone(tmp_path: Path) -> None:
    """Undo of a tick from the phone, and of a tick at the desk."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    answers.done(desk, Answer(handles=("o4",)))
    in_step(desk, storage)
    for entry in standing_entries(desk)[-2:]:
        keeping.undo(desk, entry.id)
    in_step(desk, storage)
    for summary in ("Wipe lamp 3", "Wipe lamp 4"):
        assert not is_done(hand.text(summary))
    assert in_step(desk, storage).changed == 0


def test_undone_at_the_desk_and_ticked_anew_on_the_phone_is_done(tmp_path: Path) -> None:
    """The later tick has another stamp; it is never lost."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    in_step(desk, storage)
    keeping.undo(desk)
    hand.tick("Wipe lamp 3", at="20260305T064500Z")
    in_step(desk, storage)
    assert done_days(desk, "own-3") == [TODAY]
    assert is_done(hand.text("Wipe lamp 3"))


def test_unticked_on_the_phone_is_undone_in_the_record(tmp_path: Path) -> None:
    """All that the tick wrote is undone, and the line is open again."""
    desk, storage, hand = all_in_step(tmp_path)
    path = hand.find("Pick tomatoes").path
    hand.tick(path)
    in_step(desk, storage)
    assert len(picks(desk)) == 2
    hand.untick(path)
    report = in_step(desk, storage)
    assert picks(desk) == []
    assert any("un-ticked on the phone, so to be done again" in line for line in report.said)
    assert not is_done(hand.text(path))
    assert check(desk.record) == []


def test_unticked_on_the_phone_but_ticked_at_the_desk_stays_done(tmp_path: Path) -> None:
    """Only what the phone wrote is the phone's to take back."""
    desk, storage, hand = all_in_step(tmp_path)
    answers.done(desk, Answer(handles=("o3",)))
    in_step(desk, storage)
    hand.untick("Wipe lamp 3")
    report = in_step(desk, storage)
    assert done_days(desk, "own-3") == [TODAY]
    (line,) = report.said
    assert line.startswith("'Wipe lamp 3' was un-ticked on the phone, but what is written")
    assert "cropplan undo ENTRY" in line
    assert is_done(hand.text("Wipe lamp 3"))


def test_an_untick_that_later_entries_build_on_is_refused_and_said(tmp_path: Path) -> None:
    """A pull cannot be undone once something else stands in the place."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    in_step(desk, storage)

    def refuse(*_: object, **__: object) -> None:
        raise Refusal("entry 40 builds on it")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cropplan.desk.ticked.write", refuse)
        hand.untick("Wipe lamp 3")
        report = in_step(desk, storage)
    assert any("stays done: entry 40 builds on it" in line for line in report.said)
    assert is_done(hand.text("Wipe lamp 3"))
    assert done_days(desk, "own-3") == [TODAY]


def test_work_that_needs_a_word_stays_as_a_question_until_it_is_given(tmp_path: Path) -> None:
    """Struck from which plant, and where? The tick waits, on the phone as ticked, and is said on
    every run; nothing is written that is not known."""
    desk, storage, hand = all_in_step(tmp_path, ready_to_set_out())
    summary = next(name for name in hand.names() if name.startswith("Set out"))
    before = desk.record.revision
    hand.tick(summary)
    for _ in range(2):
        report = in_step(desk, storage)
        (question,) = report.questions.values()
        assert question.text.startswith("ticked on the phone (Thu 5 Mar): so-tom: say where")
        assert "cropplan set-out tom8 --in PLACES" in question.text
    assert desk.record.revision == before
    assert is_done(hand.text(summary))
    assert question.text in morning.rounds(desk).rounds[0].remarks
    plantings.set_out(desk, "tom8", places=["B3", "B4", "B5", "B6"])
    assert question.text not in morning.rounds(desk).rounds[0].remarks
    report = in_step(desk, storage)
    assert report.questions == {}
    assert waiting_ticks(desk.record) == []


def test_a_waiting_tick_can_be_unticked_on_the_phone_or_brought_back(tmp_path: Path) -> None:
    """It was a slip; either side may say so."""
    desk, storage, hand = all_in_step(tmp_path, ready_to_set_out())
    summary = next(name for name in hand.names() if name.startswith("Set out"))
    hand.tick(summary)
    assert in_step(desk, storage).questions
    hand.untick(summary)
    assert in_step(desk, storage).questions == {}
    hand.tick(summary, at="20260305T063000Z")
    assert in_step(desk, storage).questions
    assert in_step(desk, storage, bring_back=["so-tom"]).questions == {}
    assert not is_done(hand.text(summary))


def test_removed_on_the_phone_is_asked_about_and_not_done(tmp_path: Path) -> None:
    """Checklist row 39. It is asked on every run, not sent again, and each answer ends it."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.remove("Wipe lamp 3")
    hand.remove("Wipe lamp 4")
    hand.remove("Wipe lamp 5")
    for _ in range(2):
        report = in_step(desk, storage)
        assert {one.handle for one in report.questions.values()} == {"o3", "o4", "o5"}
        assert report.sent == 0
    text = next(one.text for one in report.questions.values() if one.handle == "o3")
    assert text == (
        "'Wipe lamp 3' was dismissed on the phone: done, skipped or bring back? "
        "cropplan done o3 | cropplan skip o3 --why TEXT | cropplan calendar sync --bring-back o3"
    )
    assert done_days(desk, "own-3") == []
    answers.done(desk, Answer(handles=("o3",)))
    answers.skip(desk, Answer(handles=("o4",)), why="no cloth")
    assert in_step(desk, storage, bring_back=["o5"]).questions == {}
    assert not is_done(hand.text("Wipe lamp 5"))
    assert "Wipe lamp 3" not in hand.names()


def test_a_handle_that_is_not_asked_about_cannot_be_brought_back(tmp_path: Path) -> None:
    """Said before anything is done, with the handle as typed."""
    desk, storage, _ = all_in_step(tmp_path)
    with pytest.raises(Refusal, match="nothing with the handle 'o3' waits to be brought back"):
        syncing.sync(desk, storage, bring_back=["o3"])


def test_cancelled_on_the_phone_is_asked_about_as_removed_is(tmp_path: Path) -> None:
    """STATUS:CANCELLED is a way to dismiss (RFC 5545 §3.8.1.11), not to finish."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.put("Wipe lamp 3", hand.text("Wipe lamp 3").replace("NEEDS-ACTION", "CANCELLED"))
    report = in_step(desk, storage)
    assert [one.handle for one in report.questions.values()] == ["o3"]
    in_step(desk, storage, bring_back=["o3"])
    assert value(hand.text("Wipe lamp 3"), "STATUS") == "NEEDS-ACTION"


def test_finished_tasks_cleared_away_on_the_phone_are_not_asked_about(tmp_path: Path) -> None:
    """'Clear completed' is tidying, not dismissing."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    in_step(desk, storage)
    hand.remove("Wipe lamp 3")
    report = in_step(desk, storage)
    assert (report.questions, report.sent) == ({}, 0)
    assert done_days(desk, "own-3") == [TODAY]


def test_work_that_ceased_leaves_the_list(tmp_path: Path) -> None:
    """Skipped, so nothing to show; the next turn is a task of its own."""
    desk, storage, hand = all_in_step(tmp_path)
    path = hand.find("Wipe lamp 3").path
    answers.skip(desk, Answer(handles=("o3",)), why="no cloth")
    assert in_step(desk, storage).removed == 1
    assert storage.read([path]) == []


def test_a_day_that_moves_is_told_under_the_same_uid(tmp_path: Path) -> None:
    """Put off: DUE moves, SEQUENCE rises, what the phone added stays."""
    desk, storage, hand = all_in_step(tmp_path)
    text = hand.text("Wipe lamp 3")
    hand.put("Wipe lamp 3", text.replace("END:VTODO", "X-APPLE-SORT-ORDER:7\r\nEND:VTODO"))
    in_step(desk, storage)
    answers.put_off(desk, Answer(handles=("o3",)), to=date(2026, 3, 12))
    in_step(desk, storage)
    moved = hand.text("Wipe lamp 3")
    assert value(moved, "UID") == value(text, "UID")
    assert (value(text, "DUE"), value(moved, "DUE")) == ("20260305", "20260312")
    assert (value(text, "SEQUENCE"), value(moved, "SEQUENCE")) == ("0", "1")
    assert value(moved, "X-APPLE-SORT-ORDER") == "7"


def test_what_is_not_ours_in_the_list_is_left_alone(tmp_path: Path) -> None:
    """A list may be shared with the shopping."""
    desk, storage, hand = all_in_step(tmp_path)
    own = (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//phone//EN\r\nBEGIN:VTODO\r\nUID:milk-1\r\n"
        "DTSTAMP:20260305T070000Z\r\nSUMMARY:milk\r\nSTATUS:COMPLETED\r\nEND:VTODO\r\n"
        "END:VCALENDAR\r\n"
    )
    storage.create("/memory/milk.ics", own.encode())
    storage.create("/memory/odd.ics", b"not a calendar at all")
    before = desk.record.revision
    in_step(desk, storage)
    assert hand.text("milk") == own
    assert desk.record.revision == before


@dataclass(slots=True)
class Meddler:
    """A storage on which something happens just before we write."""

    inner: MemoryList
    meddle: Callable[[str], None]

    def look(self, token: str | None) -> Listing:
        """As the storage itself."""
        return self.inner.look(token)

    def read(self, paths: Iterable[str]) -> list[Resource]:
        """As the storage itself."""
        return self.inner.read(paths)

    def path_of(self, uid: str) -> str:
        """As the storage itself."""
        return self.inner.path_of(uid)

    def create(self, path: str, content: bytes) -> None:
        """Something happens first."""
        self.meddle(path)
        self.inner.create(path, content)

    def replace(self, path: str, content: bytes, etag: str) -> None:
        """Something happens first."""
        self.meddle(path)
        self.inner.replace(path, content, etag)

    def remove(self, path: str, etag: str) -> None:
        """Something happens first."""
        self.meddle(path)
        self.inner.remove(path, etag)


def once_ticking(storage: MemoryList) -> Callable[[str], None]:
    """Ticks the very task that is about to be written, once."""
    ticked_already: list[str] = []

    def meddle(path: str) -> None:
        if not ticked_already:
            ticked_already.append(path)
            (one,) = storage.read([path])
            assert one.etag is not None
            storage.replace(path, ticked(one.content.decode()).encode(), one.etag)

    return meddle


def test_a_tick_made_while_we_move_the_day_is_merged(tmp_path: Path) -> None:
    """Checklist row 39: 412, read again, and the tick is written; nothing is written over."""
    desk, storage, hand = all_in_step(tmp_path)
    answers.put_off(desk, Answer(handles=("o3",)), to=date(2026, 3, 12))
    in_step(desk, Meddler(storage, once_ticking(storage)))
    assert done_days(desk, "own-3") == [TODAY]
    assert is_done(hand.text("Wipe lamp 3"))


def test_a_tick_made_between_our_write_and_our_next_look_is_read(tmp_path: Path) -> None:
    """RFC 4791 §5.3.4: what was put is read again, for a phone may have been there."""
    desk, storage, hand = all_in_step(tmp_path)

    @dataclass(slots=True)
    class QuickPhone(Meddler):
        def replace(self, path: str, content: bytes, etag: str) -> None:
            self.inner.replace(path, content, etag)
            once(path)

    once = once_ticking(storage)
    answers.put_off(desk, Answer(handles=("o3",)), to=date(2026, 3, 12))
    in_step(desk, QuickPhone(storage, lambda _: None))
    assert done_days(desk, "own-3") == [TODAY]
    assert value(hand.text("Wipe lamp 3"), "DUE") == "20260312"


def test_a_tick_made_while_we_remove_the_task_is_written(tmp_path: Path) -> None:
    """The task was skipped at the desk; the tick that came in between is no less work done."""
    desk, storage, _ = all_in_step(tmp_path)
    answers.skip(desk, Answer(handles=("o3",)), why="no cloth")
    in_step(desk, Meddler(storage, once_ticking(storage)))
    assert done_days(desk, "own-3") == [TODAY]


def test_a_tick_of_a_line_half_skipped_is_written_once_for_each_though_cut_off(
    tmp_path: Path,
) -> None:
    """What was passed over is written first; cut off after it, the next run changes nothing."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Pick tomatoes")
    answers.skip(desk, Answer(handles=("pk-tom",), only=("tom1",)), why="not ripe")
    for burns in range(12):
        fuse = Fuse(burns)
        with suppress(Cut), cut_off(fuse):
            syncing.sync(desk, RudeList(inner=storage, chance=Random(1), fuse=fuse))  # noqa: S311
    in_step(desk, storage)
    assert done_days(desk, "pick") == [TODAY]
    assert picks(desk) == [("tom2", TODAY)]


def test_an_untick_after_half_of_it_was_undone_at_the_desk_undoes_the_rest(
    tmp_path: Path,
) -> None:
    """What was undone already is not undone again."""
    desk, storage, hand = all_in_step(tmp_path)
    path = hand.find("Pick tomatoes").path
    hand.tick(path)
    in_step(desk, storage)
    keeping.undo(desk, desk.record.revision)
    in_step(desk, storage)
    assert picks(desk) == [("tom1", TODAY)]
    hand.untick(path)
    in_step(desk, storage)
    assert picks(desk) == []


def test_two_runs_at_once_write_a_tick_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second has read the same tick, but finds it taken in the moment it would write."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    write_open = ticked_module._write_open
    others: list[syncing.Report] = []

    def overtaken(*args: Any) -> list[str]:
        if not others:
            with open_record(desk.record.path) as record:
                others.append(syncing.Report())
                others[0] = syncing.sync(replace(desk, record=record), storage)
        return write_open(*args)

    monkeypatch.setattr(ticked_module, "_write_open", overtaken)
    # What the first run wrote would be seen by any look after it, so this one looks before.
    monkeypatch.setattr(answers, "_done_already", lambda *_: False)
    report = in_step(desk, storage)
    assert others[0].said == ["o3: Wipe lamp 3, done on Thu 5 Mar"]
    assert report.said == []
    assert done_days(desk, "own-3") == [TODAY]


def test_of_two_copies_of_one_task_the_ticked_one_says_the_day(tmp_path: Path) -> None:
    """A client that copies and deletes was met in between, on a server that lets both stand."""
    clock = Clock()
    desk, storage, hand = all_in_step(tmp_path, clock=clock)
    clock.days_later(2)
    one = hand.find("Wipe lamp 3")
    way = "a day, though illegal"
    twin = ticked(one.content.decode(), way, at="20260306T080000Z").encode()

    @dataclass(slots=True)
    class Twins(Meddler):
        def look(self, token: str | None) -> Listing:
            listing = self.inner.look(token)
            return replace(listing, etags={"/memory/a-twin.ics": '"t"', **listing.etags})

        def read(self, paths: Iterable[str]) -> list[Resource]:
            asked = set(paths)
            more = [Resource(path="/memory/a-twin.ics", etag='"t"', content=twin)]
            return [*(more if "/memory/a-twin.ics" in asked else []), *self.inner.read(asked)]

    hand.put("Wipe lamp 3", one.content.decode())
    syncing.sync(desk, Twins(storage, lambda _: None))
    assert done_days(desk, "own-3") == [date(2026, 3, 6)]


def test_a_task_that_is_there_already_is_taken_over_and_not_doubled(tmp_path: Path) -> None:
    """If-None-Match: * is refused, the copy is read, and it is known again by its UID."""
    desk = desk_at(tmp_path / "r.db", chores(12))
    storage = MemoryList()
    in_step(desk, storage)
    Hand(storage=storage).tick("Wipe lamp 3")
    # As a record put back from a backup, made before anything was sent.
    synced.choose(desk.record, TaskList(address="elsewhere:", user="ivy", name="Work"))
    report = in_step(desk, storage)
    assert report.sent == 0
    assert done_days(desk, "own-3") == [TODAY]
    uids = [value(one.content.decode(), "UID") for one in Hand(storage=storage).all()]
    assert len(uids) == len(set(uids))


def test_a_record_made_again_from_its_export_knows_its_tasks(tmp_path: Path) -> None:
    """The namespace travels with the export, so the UIDs prove whose the tasks are; one whose
    turn has passed meanwhile is removed, one that was ticked is written."""
    desk, storage, hand = all_in_step(tmp_path)
    skipped = hand.find("Wipe lamp 3").path
    hand.tick("Wipe lamp 4", at="20260305T063000Z")
    answers.skip(desk, Answer(handles=("o3",)), why="no cloth")
    answers.skip(desk, Answer(handles=("o4",)), why="no cloth")
    export(desk.record.path, tmp_path / "out")
    import_journal(tmp_path / "out" / JOURNAL_FILE, tmp_path / "again.db")
    with open_record(tmp_path / "again.db") as record:
        again = replace(desk, record=record)
        synced.choose(record, TaskList(address="memory:", user="ivy", name="Work"))
        in_step(again, storage)
        assert done_days(again, "own-4") == [TODAY]
    assert storage.read([skipped]) == []


def test_a_task_found_under_another_name_is_known_by_its_uid(tmp_path: Path) -> None:
    """no-uid-conflict (RFC 4791 §5.3.2.1): somebody has moved it; it is not sent twice."""
    desk, storage, hand = all_in_step(tmp_path)
    one = hand.find("Wipe lamp 3")
    assert one.etag is not None
    storage.remove(one.path, one.etag)
    storage.create("/memory/moved.ics", one.content)
    assert in_step(desk, storage).questions == {}
    hand.tick("Wipe lamp 3")
    in_step(desk, storage)
    assert done_days(desk, "own-3") == [TODAY]


def test_a_token_that_the_server_has_forgotten_costs_a_full_reading_and_nothing_else(
    tmp_path: Path,
) -> None:
    """RFC 6578 §3.2: a bad token is answered by starting anew; a removal is seen all the same."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    hand.remove("Wipe lamp 4")
    storage.forgets_before = 10_000
    storage.forgets_before = len(hand.all()) + 50
    report = in_step(desk, storage)
    assert done_days(desk, "own-3") == [TODAY]
    assert [one.handle for one in report.questions.values()] == ["o4"]


def test_a_list_emptied_at_once_is_refused_until_it_is_meant(tmp_path: Path) -> None:
    """An accident on the server must not become a hundred questions, nor the ticks be lost."""
    desk, storage, hand = all_in_step(tmp_path)
    open_work = hand.all()
    for one in open_work:
        hand.remove(one.path)
    before = (desk.record.revision, synced.read(desk.record), synced.task_list(desk.record))
    with pytest.raises(Refusal, match=r"of \d+ tasks in 'Work' have vanished .* add --meant"):
        syncing.sync(desk, storage)
    assert (
        desk.record.revision,
        synced.read(desk.record),
        synced.task_list(desk.record),
    ) == before
    report = in_step(desk, storage, meant=True)
    assert len(report.questions) == len(open_work)


def test_a_list_that_may_not_be_changed_is_said_and_its_ticks_are_read(tmp_path: Path) -> None:
    """Read-only: what the phone says is written all the same."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    answers.done(desk, Answer(handles=("o4",)))
    storage.read_only = True
    report = syncing.sync(desk, storage)
    assert report.stopped is not None
    assert "read-only" in report.stopped
    assert done_days(desk, "own-3") == [TODAY]


def test_one_task_the_server_will_not_take_is_named_and_the_others_go(tmp_path: Path) -> None:
    """The fault says which task, where, and that it is tried again."""
    desk = desk_at(tmp_path / "r.db", chores(12))
    storage = MemoryList()
    refused: list[str] = []

    def meddle(path: str) -> None:
        if not refused or path in refused:
            refused.append(path)
            raise Rejected("the server does not take it (max resource size)")

    report = syncing.sync(desk, Meddler(storage, meddle))
    (fault,) = report.faults.values()
    assert "max resource size" in fault
    assert "tried again next time" in fault
    assert report.stopped is None
    assert len(refused) == 1
    assert in_step(desk, storage).sent == 1


def test_a_server_that_gives_no_etag_is_read_but_not_written_to_blindly(tmp_path: Path) -> None:
    """Without an ETag a tick could be written over unseen (RFC 4791 §5.3.4 demands one)."""
    desk, storage, hand = all_in_step(tmp_path)

    @dataclass(slots=True)
    class NoEtags(Meddler):
        def look(self, token: str | None) -> Listing:
            listing = self.inner.look(token)
            return replace(listing, etags=dict.fromkeys(listing.etags))

        def read(self, paths: Iterable[str]) -> list[Resource]:
            return [replace(one, etag=None) for one in self.inner.read(paths)]

    hand.tick("Wipe lamp 3")
    answers.done(desk, Answer(handles=("o4",)))
    for path in list(storage.look(None).etags):
        (one,) = storage.read([path])
        assert one.etag is not None
        storage.replace(path, one.content, one.etag)
    report = syncing.sync(desk, NoEtags(storage, lambda _: None))
    assert done_days(desk, "own-3") == [TODAY]
    (fault,) = report.faults.values()
    assert fault.startswith("'Wipe lamp 4'")
    assert "gives no ETag" in fault


def test_a_copy_that_can_no_longer_be_read_is_named_and_left_alone(tmp_path: Path) -> None:
    """Bad items are reported and skipped; the run goes on."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.put("Wipe lamp 3", "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n")
    hand.tick("Wipe lamp 4")
    for _ in range(2):
        report = syncing.sync(desk, storage)
        (fault,) = report.faults.values()
        assert fault.startswith("'Wipe lamp 3' on the server")
    assert done_days(desk, "own-4") == [TODAY]


def test_a_server_that_goes_away_half_way_leaves_all_for_the_next_run(tmp_path: Path) -> None:
    """What was sent is known as sent; the rest follows."""
    desk = desk_at(tmp_path / "r.db", chores(12))
    storage = MemoryList()
    sent: list[str] = []

    def meddle(path: str) -> None:
        if len(sent) == 5:
            raise Unreachable("dav.example cannot be reached")
        sent.append(path)

    report = syncing.sync(desk, Meddler(storage, meddle))
    assert (report.sent, report.stopped) == (5, "dav.example cannot be reached")
    marks = [task.mark for task in synced.read(desk.record).values()]
    assert marks.count(Mark.OPEN) == 5
    again = in_step(desk, storage)
    assert again.sent == len(marks) - 5
    assert len(storage.look(None).etags) == len(marks)


def test_without_a_list_the_first_words_to_type_are_said(tmp_path: Path) -> None:
    """A newcomer reads what to do in one line."""
    desk = desk_at(tmp_path / "r.db")
    desk.record.connection.execute("DELETE FROM task_list")
    with pytest.raises(Refusal, match="cropplan calendar sync --server URL --user NAME"):
        syncing.sync(desk, MemoryList())


@pytest.mark.parametrize("says_where", [True, False])
def test_a_task_that_somebody_put_there_meanwhile_is_taken_over(
    tmp_path: Path, says_where: bool
) -> None:
    """no-uid-conflict in the middle of a run; some servers say where the other is, some do not."""
    desk = desk_at(tmp_path / "r.db", chores(12))
    storage = MemoryList()
    copied: list[str] = []

    @dataclass(slots=True)
    class Overtaken(Meddler):
        def create(self, path: str, content: bytes) -> None:
            if not copied:
                copied.append("/memory/copy.ics")
                self.inner.create(copied[0], content)
            try:
                self.inner.create(path, content)
            except UidTaken as fault:
                raise UidTaken(str(fault), fault.path if says_where else None) from fault

    in_step(desk, Overtaken(storage, lambda _: None))
    known = synced.read(desk.record).values()
    assert copied[0] in {task.href for task in known}
    assert len(storage.look(None).etags) == len(known)
    assert {task.mark for task in known} == {Mark.OPEN}


def test_a_list_that_never_stands_still_is_left_for_the_next_run(tmp_path: Path) -> None:
    """Somebody else writes to the task each time before we do."""
    desk, storage, hand = all_in_step(tmp_path)

    def meddle(path: str) -> None:
        (one,) = storage.read([path])
        assert one.etag is not None
        storage.replace(path, one.content, one.etag)

    answers.put_off(desk, Answer(handles=("o3",)), to=date(2026, 3, 12))
    report = syncing.sync(desk, Meddler(storage, meddle))
    assert report.stopped == "'Work' was still changing; run it again for the rest"
    in_step(desk, storage)
    assert value(hand.text("Wipe lamp 3"), "DUE") == "20260312"


def test_a_tick_met_while_the_record_is_in_use_is_written_by_the_next_run(tmp_path: Path) -> None:
    """A refusal of the moment is no question to the grower."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Wipe lamp 3")
    desk.record.connection.execute("PRAGMA busy_timeout = 50")
    with closing(sqlite3.connect(desk.record.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Refusal, match="in use by another program"):
            syncing.sync(desk, storage)
        other.execute("ROLLBACK")
    report = in_step(desk, storage)
    assert report.questions == {}
    assert done_days(desk, "own-3") == [TODAY]


def test_a_tick_about_water_is_of_the_day_where_the_water_is(tmp_path: Path) -> None:
    """A house, a loop, a place and a plant each tell the zone of their house."""
    desk, storage, hand = all_in_step(tmp_path)
    hand.tick("Feed the fish", at="20260305T003000Z")
    in_step(desk, storage)
    fed = [entry for entry in standing_entries(desk) if isinstance(entry.act, Fed)]
    assert [entry.happened for entry in fed] == [TODAY]


def test_a_late_tick_that_cannot_be_written_is_said_once(tmp_path: Path) -> None:
    """The plant was never there: its beginning was undone. The tick is told of, not lost in
    silence, and the task leaves the list in time."""
    desk = desk_at(tmp_path / "r.db", chores(2))
    desk.record.append(standing("tom9", "B3"))
    begun = desk.record.revision
    storage = MemoryList()
    hand = Hand(storage=storage)
    in_step(desk, storage)
    hand.tick("Pick tomatoes")
    keeping.undo(desk, begun)
    report = in_step(desk, storage)
    (line,) = report.said
    assert line.startswith("pick of tom9: ticked on the phone on Thu 5 Mar, but not written:")
    assert "no planting has the tag 'tom9'" in line
    assert in_step(desk, storage).said == []


def test_a_copy_whose_turns_are_spoilt_is_named(tmp_path: Path) -> None:
    """Somebody has edited the property by which a tick knows its work."""
    desk, storage, hand = all_in_step(tmp_path)
    spoilt = hand.text("Wipe lamp 3").replace("X-CROPPLAN-KEY:own-3/", "X-CROPPLAN-KEY:")
    hand.put("Wipe lamp 3", spoilt)
    report = syncing.sync(desk, storage)
    (fault,) = report.faults.values()
    assert "is no key of a task" in fault


def test_a_tick_without_its_turns_is_known_by_its_uid(tmp_path: Path) -> None:
    """A program that drops what it does not know drops them; the record remembers."""
    desk, storage, hand = all_in_step(tmp_path)
    text = hand.text("Pick tomatoes")
    bare = "\r\n".join(line for line in text.split("\r\n") if "X-CROPPLAN" not in line)
    hand.put("Pick tomatoes", ticked(bare))
    in_step(desk, storage)
    assert picks(desk) == [("tom1", TODAY), ("tom2", TODAY)]


def test_a_tick_that_names_no_day_is_of_the_day_the_copy_was_changed(tmp_path: Path) -> None:
    """RFC 5545 §3.8.7.3: LAST-MODIFIED, where it is later than what we wrote ourselves."""
    desk, storage, hand = all_in_step(tmp_path)
    desk.clock.days_later(3)
    for lamp, modified in ((3, "20260306T080000Z"), (4, "20260305T070000Z")):
        text = hand.text(f"Wipe lamp {lamp}").replace(
            "20260305T070000Z\r\nSEQ", f"{modified}\r\nSEQ"
        )
        hand.put(f"Wipe lamp {lamp}", ticked(text, "status only"))
    in_step(desk, storage)
    assert done_days(desk, "own-3") == [date(2026, 3, 6)]
    assert done_days(desk, "own-4") == [TODAY + timedelta(days=3)]
