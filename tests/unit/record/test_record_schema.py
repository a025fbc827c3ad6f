"""Migrations: steps in order, all or none, the file copied first, old records for ever."""

from __future__ import annotations

import ast
import shutil
import sqlite3
import uuid
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from record_builders import lived_in, record_with

from cropplan.problems import BadData, Refusal
from cropplan.record import connect, migrations, schema, store
from cropplan.record.audit import check
from cropplan.record.exchange import import_journal
from cropplan.record.faults import told_of
from cropplan.record.migrations import STEPS
from cropplan.record.store import open_record

if TYPE_CHECKING:
    from sqlite_utils import Database

OLD = Path(__file__).with_name("old")


def add_column(db: Database) -> None:
    """A step of a release to come."""
    db.execute("ALTER TABLE house ADD COLUMN vents INTEGER NOT NULL DEFAULT 2")


def rename_house(db: Database) -> None:
    """A step that forgets who refers to the table it changes."""
    db.execute("UPDATE house SET name = 'glasshouse'")


def break_off(db: Database) -> None:
    """A step that fails after it has changed something."""
    db.execute("CREATE TABLE half_done (a)")
    db.execute("INSERT INTO no_such_table VALUES (1)")


def bring(path: Path, *later: schema.Step) -> None:
    """Open the file as a program that knows these later steps would."""
    with told_of(path), closing(connect.connect(path)) as connection:
        schema.bring_up_to_date(path, connection, (*STEPS, *later))


def dump(path: Path) -> list[str]:
    """The whole content of a file as SQL."""
    with closing(sqlite3.connect(path)) as db:
        (version,) = db.execute("PRAGMA user_version").fetchone()
        return [f"version {version}", *db.iterdump()]


def test_an_older_record_is_brought_up_and_its_file_copied_first(tmp_path: Path) -> None:
    """`NAME.before-vN` is the record as it was; `migration` says what was done and when."""
    path = tmp_path / "house.db"
    record_with(path, lived_in()).close()
    before = dump(path)
    bring(path, add_column)
    with closing(sqlite3.connect(path)) as db:
        assert db.execute("SELECT name, vents FROM house").fetchall() == [("lean-to", 2)]
        assert db.execute("PRAGMA user_version").fetchone() == (len(STEPS) + 1,)
        rows = db.execute("SELECT version, at FROM migration ORDER BY version").fetchall()
        assert [version for version, _ in rows] == list(range(1, len(STEPS) + 2))
        assert all(at.endswith("Z") for _, at in rows)
        assert db.execute("SELECT count(*) FROM journal").fetchone() == (len(lived_in()),)
    kept = path.with_name(f"house.db.before-v{len(STEPS) + 1}")
    assert dump(kept) == before
    assert {file.name for file in tmp_path.iterdir()} == {"house.db", kept.name}


def test_a_record_of_today_is_left_alone(tmp_path: Path) -> None:
    """No copy, no step."""
    path = tmp_path / "house.db"
    record_with(path, lived_in()).close()
    before = dump(path)
    bring(path)
    assert dump(path) == before
    assert [file.name for file in tmp_path.iterdir()] == ["house.db"]


def test_a_copy_made_before_is_never_overwritten(tmp_path: Path) -> None:
    """An earlier copy may be the only good one."""
    path = tmp_path / "house.db"
    record_with(path, []).close()
    earlier = path.with_name(f"house.db.before-v{len(STEPS) + 1}")
    earlier.write_text("an earlier copy")
    bring(path, add_column)
    assert earlier.read_text() == "an earlier copy"
    assert path.with_name(f"{earlier.name}-2").exists()


@pytest.mark.parametrize(
    ("later", "said"),
    [
        ((add_column, break_off), "no such table"),
        ((add_column, rename_house), f"step {len(STEPS) + 2} of the record's migrations"),
    ],
)
def test_a_step_that_fails_leaves_the_record_as_it_was(
    tmp_path: Path, later: tuple[schema.Step, ...], said: str
) -> None:
    """All steps are one transaction, and references are checked after each."""
    path = tmp_path / "house.db"
    record_with(path, lived_in()).close()
    before = dump(path)
    with pytest.raises(BadData) as told:
        bring(path, *later)
    assert str(told.value).startswith(f"{path}: ")
    assert said in str(told.value)
    assert dump(path) == before


def test_a_record_is_not_migrated_when_it_cannot_be_copied(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No copy, no migration."""
    path = tmp_path / "house.db"
    record_with(path, lived_in()).close()
    before = dump(path)

    def no_room(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("cropplan.record.in_place.copy_database", no_room)
    with pytest.raises(Refusal, match=r"house\.db: .*the disk is full"):
        bring(path, add_column)
    assert dump(path) == before


def test_a_record_migrated_meanwhile_is_not_migrated_again(tmp_path: Path) -> None:
    """The one who waited looks again once it is its turn."""
    path = tmp_path / "house.db"
    record_with(path, []).close()
    with closing(connect.connect(path)) as slow:
        asked = 0

        def seen_before_the_other_was_done(connection: sqlite3.Connection) -> int:
            nonlocal asked
            asked += 1
            return len(STEPS) if asked == 1 else connect.version_of(connection)

        bring(path, add_column)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(schema, "version_of", seen_before_the_other_was_done)
            schema.bring_up_to_date(path, slow, (*STEPS, add_column))
        assert asked == 2
        assert slow.execute("PRAGMA foreign_keys").fetchone() == (1,)
    assert len(list(tmp_path.glob("house.db.before-*"))) == 1


def test_opening_an_older_record_brings_it_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Upgrading is automatic: the next command just works."""
    path = tmp_path / "house.db"
    record_with(path, lived_in()).close()
    later = (*STEPS, add_column)
    monkeypatch.setattr(store, "VERSION", len(later))
    monkeypatch.setattr(schema.bring_up_to_date, "__defaults__", (later,))
    with open_record(path) as record:
        assert record.connection.execute("SELECT vents FROM house").fetchone() == (2,)
        assert record.revision == len(lived_in())


def test_an_old_sqlite_is_refused_before_anything_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Strict tables need SQLite 3.37."""
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 34, 1))
    with pytest.raises(Refusal, match=r"needs 3\.37"):
        open_record(tmp_path / "house.db", create=True)
    assert list(tmp_path.iterdir()) == []


def test_a_step_imports_nothing_of_ours() -> None:
    """A step is frozen: a later change elsewhere must not change what it does."""
    steps = sorted(Path(migrations.__file__).parent.glob("m*.py"))
    assert len(steps) == len(STEPS)
    for step in steps:
        for node in ast.walk(ast.parse(step.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or "relative"]
            assert not [n for n in names if n.startswith(("cropplan", "relative"))], step.name


def test_every_released_version_has_its_old_record() -> None:
    """`old/vN.db` is frozen by `old/freeze.py` when version N is released."""
    assert sorted(file.stem for file in OLD.glob("v*.db")) == [
        f"v{number}" for number in range(1, schema.VERSION + 1)
    ]


@pytest.mark.parametrize("old", sorted(OLD.glob("v*.db")), ids=lambda old: old.stem)
def test_an_old_record_opens_as_one_of_today(tmp_path: Path, old: Path) -> None:
    """Nothing of its journal is lost, its tables are those of a new record, the audit passes."""
    path = tmp_path / "house.db"
    shutil.copy(old, path)
    with open_record(path) as record:
        assert check(record) == []
        entries, held, mine = record.journal(), record.snapshot(), record.namespace
        told, gone = record.published(), record.withdrawn()
    assert entries
    assert told
    assert gone
    # The same journal, as it was exported when the file was frozen.
    import_journal(old.with_suffix(".jsonl"), tmp_path / "again.db")
    with open_record(tmp_path / "again.db") as again:
        assert (again.journal(), again.snapshot(), again.namespace) == (entries, held, mine)
        assert (again.published(), again.withdrawn()) == (told, gone)


def test_a_namespace_lasts_through_migrations(tmp_path: Path) -> None:
    """Calendar UIDs must not change with an upgrade."""
    given = uuid.UUID("6ad4c6f2-7f0e-4a53-9d2b-0f3f0c9d6f11")
    path = tmp_path / "house.db"
    open_record(path, create=True, namespace=given).close()
    bring(path, add_column)
    with closing(sqlite3.connect(path)) as db:
        row = db.execute("SELECT value FROM record_info WHERE key = 'namespace'").fetchone()
    assert row == (str(given),)
