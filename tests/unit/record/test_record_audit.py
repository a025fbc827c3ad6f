"""The audit: a sound record passes, and whatever is tampered with is named."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from record_builders import entry, lived_in, notice, reading, record_with

from cropplan.holding.entry import Fed, Voided
from cropplan.holding.planting import Planting
from cropplan.record.audit import check
from cropplan.record.store import Record, open_record


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    """A record with something in every table, an undo included."""
    with record_with(tmp_path / "house.db", lived_in()) as record:
        record.append([entry(Fed(loop="tank", grams=3.0))])
        record.append([entry(Voided(entry=record.revision))])
        record.append([reading(date(2026, 5, 21), 8.0, 19.0)])
        record.publish([notice("pick/planting:tom2/2", "uid-1")], [])
        yield record


def tampered(record: Record, *statements: str) -> list[str]:
    """What the audit says after another program ran these statements."""
    with closing(sqlite3.connect(record.path, isolation_level=None)) as other:
        other.execute("PRAGMA ignore_check_constraints = ON")
        for statement in statements:
            other.execute(statement)
    return [problem.message for problem in check(record)]


def test_a_sound_record_has_no_faults_and_is_not_changed_by_the_look(record: Record) -> None:
    """An audit only reads."""
    before = "\n".join(record.connection.iterdump())
    assert check(record) == []
    assert "\n".join(record.connection.iterdump()) == before


def test_a_fault_names_the_file(record: Record) -> None:
    """A grower may keep several records."""
    tampered(record, "DROP TRIGGER journal_row_stays")
    assert [problem.file for problem in check(record)] == [str(record.path)]


NO_UPDATES = "DROP TRIGGER journal_row_never_changes"
NO_DELETES = "DROP TRIGGER journal_row_stays"

TAMPERINGS: dict[str, tuple[list[str], str]] = {
    "trigger gone": ([NO_UPDATES], "the trigger 'journal_row_never_changes' is missing"),
    "trigger made toothless": (
        [
            "DROP TRIGGER journal_row_follows",
            "CREATE TRIGGER journal_row_follows BEFORE INSERT ON journal BEGIN SELECT 1; END",
        ],
        "the trigger 'journal_row_follows' has been changed",
    ),
    "index gone": (["DROP INDEX turn_subject"], "the index 'turn_subject' is missing"),
    "table added": (["CREATE TABLE songs (a)"], "the table 'songs' does not belong in a record"),
    "table gone": (["DROP TABLE absence"], "the table 'absence' is missing"),
    "entry removed": ([NO_DELETES, "DELETE FROM journal WHERE id = 9"], "lacks entry 9"),
    "entries removed": (
        [NO_DELETES, "DELETE FROM journal WHERE id IN (9, 10)"],
        "lacks entry 9 to 10",
    ),
    "entry unreadable": (
        [NO_UPDATES, "UPDATE journal SET body = '{}' WHERE id = 9"],
        "entry 9 (fed) cannot be read: 'loop' is missing",
    ),
    "entry on no day": (
        [NO_UPDATES, "UPDATE journal SET happened = 'soon' WHERE id = 9"],
        "entry 9 (fed) cannot be read: 'soon' is not a day",
    ),
    "entry impossible": (
        [NO_UPDATES, "UPDATE journal SET body = replace(body, 'tank', 'pond') WHERE id = 9"],
        "entry 9 (fed pond) cannot follow those before it: no water loop",
    ),
    "entry rewritten": (
        [NO_UPDATES, "UPDATE journal SET body = replace(body, '22.0', '23.0') WHERE id = 9"],
        "loop tank: fed_since_drain_g is 22.0, but the journal adds up to 23.0",
    ),
    "undo of nothing": (
        [NO_UPDATES, "UPDATE journal SET body = '{\"entry\":77}' WHERE kind = 'voided'"],
        "there is no entry 77 to undo",
    ),
    "value changed": (
        ["UPDATE planting SET rooted = 9 WHERE tag = 'tom1'"],
        "planting tom1: rooted is 9, but the journal adds up to 2",
    ),
    "tally broken": (
        ["UPDATE planting SET count = 7 WHERE tag = 'tom2'"],
        "planting tom2: count is 7, but the journal adds up to 1",
    ),
    "row gone": (
        ["DELETE FROM water_test WHERE key = 'ph'"],
        "water_test tank ph is missing, though the journal has it",
    ),
    "row added": (
        ["INSERT INTO duty_setting VALUES ('prune', 3, 0)"],
        "duty_setting prune is not in the journal",
    ),
    "row unreadable": (
        ["UPDATE turn SET last_done = 'once' WHERE duty = 'fish'"],
        "'once' is not a day",
    ),
    "stage unknown": (["UPDATE planting SET stage = 'asleep'"], "'asleep' is none of"),
    "setback changed": (
        ["UPDATE setback SET days = 20"],
        "setback 1: days is 20, but the journal adds up to 2",
    ),
    "temperature changed": (
        ["UPDATE temperature SET low_c = -9 WHERE day = '2026-05-20'"],
        "temperature lean-to 2026-05-20: low_c is -9.0, but the journal adds up to 9.5",
    ),
    "reference astray": (
        ["UPDATE place SET loop = 'pond' WHERE code = 'B1'"],
        "of 'place' names a loop that is not there",
    ),
    "undone list emptied": (["DELETE FROM voided"], "the list of undone entries lacks (24, 25)"),
    "tag index longer": (
        ["INSERT INTO journal_tag VALUES ('tom9', 5)"],
        "the index of tags has ('tom9', 5), which the journal does not call for",
    ),
    "identity gone": (["DELETE FROM record_info"], "identity"),
    "identity spoilt": (["UPDATE record_info SET value = 'x'"], "identity"),
    "notice unreadable": (
        ["UPDATE published SET stamp = 'x'"],
        "published pick/planting:tom2/2: stamp: 'x' is not a moment",
    ),
}


@pytest.mark.parametrize(("statements", "said"), TAMPERINGS.values(), ids=TAMPERINGS.keys())
def test_tampering_is_named(record: Record, statements: list[str], said: str) -> None:
    """Each kind of fault that another program, or a fault of ours, could leave behind."""
    faults = tampered(record, *statements)
    assert any(said in fault for fault in faults), faults


def test_one_fault_does_not_hide_the_next(record: Record) -> None:
    """Faults are values in a list."""
    faults = tampered(
        record,
        NO_DELETES,
        "UPDATE planting SET rooted = 9 WHERE tag = 'tom1'",
        "UPDATE loop SET fish = 1",
    )
    assert len(faults) == 3


def test_a_damaged_page_of_the_journal_is_told_with_the_rest(record: Record) -> None:
    """The audit goes on where it can, and ends in a list whatever it meets."""
    record.close()
    with closing(sqlite3.connect(record.path)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        (page,) = db.execute("SELECT rootpage FROM sqlite_master WHERE name='journal'").fetchone()
    with record.path.open("r+b") as file:
        file.seek((page - 1) * 4096)
        file.write(b"\x5a" * 4096)
    with open_record(record.path) as damaged:
        faults = [problem.message for problem in check(damaged)]
    assert len(faults) >= 2
    assert all(fault.startswith("the file is damaged: ") for fault in faults)


def test_a_planting_that_does_not_tally_is_named(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Should replay itself ever lose a plant, the audit says whose."""
    monkeypatch.setattr(Planting, "tallies", property(lambda planting: planting.tag != "tom2"))
    assert [p.message for p in check(record)] == ["planting tom2 does not tally: 1 began"]


def test_sqlites_own_statistics_are_not_held_against_a_record(record: Record) -> None:
    """Another program may run ANALYZE; SQLite then keeps tables of its own."""
    assert tampered(record, "ANALYZE") == []
