"""The journal: what may be written, what may be undone, and how it is read back."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import pytest
from record_builders import DAY, bare_house, entry, lived_in, reading, record_with, struck

from cropplan.holding.entry import Fed, Lost, Moved, SetOut, SetOutPart, Voided, WentAway
from cropplan.holding.house import Absence, DayTemperature
from cropplan.holding.replay import replay
from cropplan.problems import Refusal
from cropplan.record.audit import check
from cropplan.record.connect import writing
from cropplan.record.store import Record, open_record


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    """A record of a house with four tomato cuttings; entries 1 to 5."""
    with record_with(tmp_path / "house.db", [*bare_house(), struck("tom1")]) as record:
        yield record


def whole(record: Record) -> list[object]:
    """Everything a refused command must leave as it was."""
    return [record.snapshot(), record.journal(), record.voided(), record.revision]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE journal SET note = 'x' WHERE id = 5",
        "UPDATE journal SET id = 50 WHERE id = 5",
        "DELETE FROM journal WHERE id = 5",
        "DELETE FROM journal",
        "INSERT OR REPLACE INTO journal SELECT id, '', '', '', '', '', '' FROM journal",
        "REPLACE INTO journal SELECT * FROM journal WHERE id = 1",
        "INSERT INTO journal SELECT id + 7, '', '', '', '', '', '' FROM journal",
        "INSERT INTO journal (id, happened, written, kind, body) VALUES (0, 'd', 'w', 'k', 'b')",
    ],
)
def test_plain_sql_cannot_change_or_remove_a_journal_row(record: Record, statement: str) -> None:
    """Rule 9 of the design: the journal is append-only, enforced in the database."""
    before = whole(record)
    other = sqlite3.connect(record.path)
    with pytest.raises(sqlite3.IntegrityError, match="journal"):
        other.execute(statement)
    other.close()
    assert whole(record) == before


def test_entries_are_numbered_from_one_without_gaps(record: Record) -> None:
    """An entry's number is what undo is told; a refused entry uses none up."""
    with pytest.raises(Refusal):
        record.append([entry(Lost(tag="tom1", count=99))])
    _, written = record.append([entry(Lost(tag="tom1", count=1)), entry(Fed(loop="tank"))])
    assert [e.id for e in written] == [6, 7]
    assert [e.id for e in record.journal()] == [1, 2, 3, 4, 5, 6, 7]
    assert record.revision == 7


def test_one_refused_entry_of_several_rolls_back_all(record: Record) -> None:
    """A refused command changes nothing."""
    before = whole(record)
    with pytest.raises(Refusal, match="99 cannot be lost"):
        record.append([entry(Lost(tag="tom1", count=1)), entry(Lost(tag="tom1", count=99))])
    assert whole(record) == before


def test_a_value_that_cannot_be_kept_rolls_back_all(record: Record) -> None:
    """The journal's row and the projection are one transaction, whichever of them is at fault."""
    before = whole(record)
    with pytest.raises(Refusal, match="inf"):
        record.append([entry(Lost(tag="tom1", count=1)), entry(Fed(loop="tank", grams=1e999))])
    assert whole(record) == before


def test_a_name_that_is_not_in_the_record_is_refused(record: Record) -> None:
    """An entry that names what is not there leaves no trace."""
    before = whole(record)
    away = Absence(first=DAY, last=DAY, house="palm house")
    with pytest.raises(Refusal, match=r"palm house|house that is not in the record"):
        record.append([entry(WentAway(absence=away))])
    assert whole(record) == before


def test_a_row_that_names_what_is_not_there_is_never_committed(record: Record) -> None:
    """Foreign keys are on, so a fault of ours in replay cannot leave a record astray."""
    before = whole(record)
    with pytest.raises(Refusal) as told, writing(record.connection):
        record.connection.execute("UPDATE place SET loop = 'pond' WHERE code = 'B1'")
    assert str(told.value) == (
        "nothing was written: it names a loop that is not in the record (in 'place')"
    )
    assert whole(record) == before


def test_what_append_returns_is_what_the_next_look_shows(record: Record) -> None:
    """The answer to a command and the next list never disagree."""
    held, _ = record.append(lived_in()[5:])
    assert record.snapshot() == held == replay(record.journal())


def test_undo_leaves_the_holding_as_if_the_entry_had_never_been_written(record: Record) -> None:
    """Undo is an entry; the projection is rebuilt exactly."""
    before = record.snapshot()
    record.append([entry(Lost(tag="tom1", count=1))])
    held, _ = record.append([entry(Voided(entry=6), date(2026, 3, 2))])
    assert held == record.snapshot() == before
    assert [e.id for e in record.journal()] == [1, 2, 3, 4, 5, 6, 7]
    assert record.voided() == {6}


def test_undo_that_a_later_entry_builds_on_is_refused_naming_it(record: Record) -> None:
    """The refusal says which entry to undo first."""
    setting_out = SetOut(tag="tom1", parts=(SetOutPart(place="B1", count=1, tag="tom2"),))
    record.append([entry(setting_out), entry(Moved(tag="tom2", place="B2"))])
    before = whole(record)
    with pytest.raises(Refusal) as told:
        record.append([entry(Voided(entry=6))])
    assert str(told.value) == (
        "entry 6 cannot be undone: entry 7 (moved tom2) builds on it; undo that first"
    )
    assert whole(record) == before
    record.append([entry(Voided(entry=7))])
    record.append([entry(Voided(entry=6))])
    assert "tom2" not in record.snapshot().plantings


def test_of_several_undos_the_one_nearest_before_the_entry_in_the_way_is_named(
    record: Record,
) -> None:
    """Feeding the fish has nothing to do with where a plant stands."""
    moving = entry(Moved(tag="tom2", place="B1"))
    record.append([entry(Fed(loop="tank")), struck("tom2", count=1), moving])
    with pytest.raises(Refusal, match=r"entry 7 cannot be undone: entry 8 \(moved tom2\)"):
        record.append([entry(Voided(entry=7)), entry(Voided(entry=6))])


def test_two_undos_in_one_command_may_take_back_what_builds_on_each_other(record: Record) -> None:
    """Only what stays must make sense."""
    before = record.snapshot()
    record.append([struck("tom2", parent="tom1"), entry(Lost(tag="tom2", count=1))])
    held, _ = record.append([entry(Voided(entry=7)), entry(Voided(entry=6))])
    assert held == before


def test_an_impossible_entry_beside_an_undo_is_refused_for_its_own_reason(record: Record) -> None:
    """The undo is not blamed for what could not be anyway."""
    record.append([entry(Fed(loop="tank", grams=9.0))])
    before = whole(record)
    with pytest.raises(Refusal, match="99 cannot be lost"):
        record.append([entry(Voided(entry=6)), entry(Lost(tag="tom1", count=99))])
    assert whole(record) == before


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (99, "there is no entry 99 to undo; the last is 7"),
        (0, "there is no entry 0 to undo"),
        (8, "there is no entry 8 to undo"),  # the number the undo itself would get
        (6, "entry 6 was undone already, by entry 7"),
        (7, "entry 7 is itself an undo; write what it undid again instead"),
    ],
)
def test_undo_of_what_cannot_be_undone_says_why(record: Record, number: int, said: str) -> None:
    """Unknown, undone before, or itself an undo."""
    record.append([entry(Fed(loop="tank", grams=9.0))])
    record.append([entry(Voided(entry=6))])
    before = whole(record)
    with pytest.raises(Refusal) as told:
        record.append([entry(Voided(entry=number))])
    assert said in str(told.value)
    assert whole(record) == before


def test_undo_in_an_empty_record_says_that_it_is_empty(tmp_path: Path) -> None:
    """There is no last entry to name."""
    with (
        open_record(tmp_path / "new.db", create=True) as record,
        pytest.raises(Refusal, match="the journal is empty"),
    ):
        record.append([entry(Voided(entry=1))])


def test_two_who_enter_at_once_wait_for_each_other(record: Record) -> None:
    """A phone and a terminal: every entry is taken, each counts from what the other wrote."""

    def feed() -> None:
        with open_record(record.path) as mine:
            for _ in range(25):
                mine.append([entry(Fed(loop="tank", grams=1.0))])

    with ThreadPoolExecutor() as pool:
        for one in [pool.submit(feed) for _ in range(3)]:
            one.result()
    assert [e.id for e in record.journal()] == list(range(1, 81))
    assert record.snapshot().loops["tank"].fed_since_drain_g == 75.0
    assert check(record) == []


def test_a_late_day_counts_as_the_last_one_entered_only_while_it_stands(record: Record) -> None:
    """`last_entry` is the latest day that anything still counting happened on."""
    record.append([entry(Fed(loop="tank"), date(2026, 4, 1))])
    assert record.snapshot().last_entry == date(2026, 4, 1)
    record.append([entry(Voided(entry=6), date(2026, 4, 2))])
    assert record.snapshot().last_entry == DAY


def test_the_journal_of_a_tag_tells_its_story_and_what_was_undone(record: Record) -> None:
    """`journal --tag` finds entries by an index, the undo of one of them included."""
    setting_out = SetOut(tag="tom1", parts=(SetOutPart(place="B1", count=1, tag="tom2"),))
    record.append([entry(Fed(loop="tank")), entry(setting_out), entry(Lost(tag="tom1", count=1))])
    record.append([entry(Voided(entry=8))])
    assert [e.id for e in record.journal(tag="tom1")] == [5, 7, 8, 9]
    assert [e.id for e in record.journal(tag="tom1", last=2)] == [8, 9]
    assert [e.id for e in record.journal(tag="tom2")] == [7]
    assert record.journal(tag="tom99") == []


def test_the_last_entries_come_in_the_order_written(record: Record) -> None:
    """The newest stands at the end, nearest to where it is read."""
    assert [e.id for e in record.journal(last=2)] == [4, 5]
    assert [e.id for e in record.journal(last=50)] == [1, 2, 3, 4, 5]


def test_an_entry_is_read_back_as_it_was_written(record: Record) -> None:
    """Who, when, what and the note; the moment to the microsecond."""
    record.append([entry(Fed(loop="tank", grams=12.5), by="Róisín", note='"half"; pump off ☂')])
    kept = record.entry(6)
    assert (kept.by, kept.note, kept.act) == (
        "Róisín",
        '"half"; pump off ☂',
        Fed(loop="tank", grams=12.5),
    )
    with pytest.raises(Refusal, match="there is no entry 60; the last is 6"):
        record.entry(60)


def test_a_tag_is_never_used_twice_even_when_its_planting_was_undone(record: Record) -> None:
    """The label may hang on a pot already."""
    assert record.next_tag("tom") == "tom2"
    record.append([struck("tom2"), struck("tom11")])
    record.append([entry(Voided(entry=7))])
    assert record.next_tag("tom") == "tom12"
    assert record.next_tags("tom", 3) == ["tom12", "tom13", "tom14"]


def test_tags_of_other_letters_do_not_count(record: Record) -> None:
    """`to` and `toma` are other crops than `tom`; a label with a word on it is no number."""
    record.append([struck("toma5"), struck("tom-red"), struck("tom7x"), struck("TOM9")])
    assert record.next_tag("tom") == "tom2"
    assert record.next_tag("to") == "to1"
    assert record.next_tag("toma") == "toma6"


def test_of_two_readings_for_one_day_the_last_written_counts(record: Record) -> None:
    """A correction replaces; undoing it brings the first back."""
    first, other = date(2026, 3, 4), date(2026, 3, 5)
    record.append([reading(first, 3.0, 12.0), reading(other, 4.0, 15.0)])
    record.append([reading(first, 5.5, 13.0)])

    def lows() -> list[tuple[date, float]]:
        return [(r.day, r.low_c) for r in record.temperatures("lean-to", first)]

    assert lows() == [(first, 5.5), (other, 4.0)]
    record.append([entry(Voided(entry=8))])
    assert lows() == [(first, 3.0), (other, 4.0)]
    record.append([entry(Voided(entry=6)), reading(date(2026, 3, 6), 1.0, 2.0)])
    assert lows() == [(other, 4.0), (date(2026, 3, 6), 1.0)]
    assert check(record) == []


def test_temperatures_are_those_of_the_house_from_the_day_asked_for(record: Record) -> None:
    """What was read before is not loaded."""
    record.append([reading(date(2026, 3, n), float(n), 20.0) for n in (9, 2, 5)])
    since = record.temperatures("lean-to", date(2026, 3, 5))
    assert since == [
        DayTemperature(house="lean-to", day=date(2026, 3, n), low_c=float(n), high_c=20.0)
        for n in (5, 9)
    ]
    assert record.temperatures("palm house", date(2026, 3, 1)) == []
