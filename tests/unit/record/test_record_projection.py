"""The projection: its columns, how little is written, and how little is read."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import fields
from datetime import date, timedelta
from pathlib import Path

import pytest
from record_builders import DAY, bare_house, entry, lived_in, record_with, struck

from cropplan.holding.entry import Fed, Pulled
from cropplan.holding.notice import Published
from cropplan.problems import BadData
from cropplan.record.projection import HELD, TEMPERATURE, Table
from cropplan.record.store import Record


@pytest.mark.parametrize("table", [*HELD, TEMPERATURE], ids=lambda table: table.name)
def test_each_field_of_a_noun_has_its_column(tmp_path: Path, table: Table) -> None:
    """A field added to a noun needs a migration; this says so before a grower's record does."""
    with record_with(tmp_path / "house.db", []) as record:
        rows = record.connection.execute(f"PRAGMA table_info({table.name})").fetchall()
    names = [field.name for field in fields(table.noun)]
    assert [row[1] for row in rows] == (["position", *names] if table.numbered else names)
    assert {row[1] for row in rows if row[5]} == set(table.key)


def test_each_field_of_a_published_notice_has_its_column(tmp_path: Path) -> None:
    """As above, and the mark of those that are gone."""
    with record_with(tmp_path / "house.db", []) as record:
        rows = record.connection.execute("PRAGMA table_info(published)").fetchall()
    assert [row[1] for row in rows] == [*(f.name for f in fields(Published)), "gone"]


def test_a_lived_in_house_fills_every_table(tmp_path: Path) -> None:
    """What the other tests compare is not empty."""
    with record_with(tmp_path / "house.db", lived_in()) as record:
        for table in [*HELD, TEMPERATURE]:
            (count,) = record.connection.execute(f"SELECT count(*) FROM {table.name}").fetchone()  # noqa: S608
            assert count > 0, table.name


def test_only_the_rows_that_change_are_written(tmp_path: Path) -> None:
    """Feeding the fish touches the loop, its turn and its log, not three hundred plantings."""
    with record_with(tmp_path / "house.db", lived_in()) as record:
        statements: list[str] = []
        record.connection.set_trace_callback(statements.append)
        record.append([entry(Fed(loop="tank", grams=5.0), date(2026, 5, 21))])
    written = [s.split('"')[1] for s in statements if s.startswith('INSERT INTO "')]
    # The journal's own line is told twice, for its trigger too.
    assert sorted(set(written) - {"journal"}) == ["loop", "turn", "water_log"]
    assert len(written) == 2 + 3


def test_living_only_leaves_out_what_ended_and_its_turns(tmp_path: Path) -> None:
    """Everything else is as in the whole."""
    with record_with(tmp_path / "house.db", [*lived_in(), struck("tom9")]) as record:
        record.append([entry(Pulled(tag="tom1"), date(2026, 6, 1))])
        every, living = record.snapshot(), record.snapshot(living_only=True)
    assert set(every.plantings) == {"tom1", "tom2", "tom9"}
    assert living.plantings == {tag: p for tag, p in every.plantings.items() if p.alive}
    assert set(living.plantings) == {"tom2", "tom9"}
    gone = {key for key in every.turns if key[1].code == "tom1"}
    assert gone
    assert living.turns == {key: turn for key, turn in every.turns.items() if key not in gone}
    for part in (
        "houses",
        "loops",
        "places",
        "own_duties",
        "settings",
        "absences",
        "setbacks",
        "tests",
    ):
        assert getattr(living, part) == getattr(every, part)
    assert living.last_entry == every.last_entry


def steps_of(connection: sqlite3.Connection, look: Callable[[], object]) -> int:
    """How many instructions of SQLite's machine a look takes: a cost that no clock disturbs."""
    steps = 0

    def count() -> None:
        nonlocal steps
        steps += 1

    connection.set_progress_handler(count, 1)
    look()
    connection.set_progress_handler(None, 0)
    return steps


def test_a_morning_look_costs_the_same_after_years_of_journal(tmp_path: Path) -> None:
    """Section 6 of the design: the cost does not grow with the length of the history."""

    def morning(record: Record) -> int:
        return steps_of(record.connection, lambda: record.snapshot(living_only=True))

    with record_with(tmp_path / "house.db", [*bare_house(), struck("tom1")]) as record:
        first_year = morning(record)
        for number in range(2, 400):
            day = DAY + timedelta(days=number)
            record.append(
                [
                    struck(f"tom{number}"),
                    entry(Fed(loop="tank", grams=9.0), day),
                    entry(Pulled(tag=f"tom{number}"), day),
                ]
            )
        years_later = morning(record)
        assert len(record.snapshot().plantings) == 399
    # The same plants live; only the trees of the indexes may have become a level deeper.
    assert years_later <= first_year + 20


def test_a_row_spoilt_by_another_program_is_told_by_table_and_column(tmp_path: Path) -> None:
    """No traceback: the row, the column, the value."""
    record = record_with(tmp_path / "house.db", lived_in())
    with closing(sqlite3.connect(record.path, isolation_level=None)) as other:
        other.execute("UPDATE planting SET stage = 'asleep' WHERE tag = 'tom2'")
    with record, pytest.raises(BadData) as told:
        record.snapshot()
    assert str(told.value).startswith(f"{record.path}: planting tom2: stage: 'asleep' is none of")


def test_a_strict_table_takes_no_text_for_a_number(tmp_path: Path) -> None:
    """The types of the columns are kept by the database."""
    record = record_with(tmp_path / "house.db", lived_in())
    with (
        record,
        closing(sqlite3.connect(record.path)) as other,
        pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT"),
    ):
        other.execute("UPDATE planting SET generation = 'second'")


def test_a_planting_that_does_not_tally_cannot_be_stored(tmp_path: Path) -> None:
    """Every plant it began with is accounted for, in the database too."""
    record = record_with(tmp_path / "house.db", lived_in())
    with (
        record,
        closing(sqlite3.connect(record.path)) as other,
        pytest.raises(sqlite3.IntegrityError, match="CHECK"),
    ):
        other.execute("UPDATE planting SET lost = lost + 1")
