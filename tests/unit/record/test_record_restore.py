"""Restoring: a sound backup is put in place, and what it replaces is kept aside."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from record_builders import struck
from whole_records import all_of, full_record, spoil

from cropplan.problems import BadData, Refusal
from cropplan.record import connect
from cropplan.record.backup import backup, put_aside, restore
from cropplan.record.store import open_record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A record with something in every table, closed."""
    return full_record(tmp_path / "house.db")


def test_restore_puts_a_backup_in_place_and_keeps_the_replaced_file(
    path: Path, tmp_path: Path
) -> None:
    """Nothing is lost by restoring the wrong backup: restore the replaced file."""
    to = tmp_path / "backup.db"
    backup(path, to)
    old = all_of(path)
    with open_record(path) as record:
        record.append([struck("tom9")])
    new = all_of(path)
    kept = restore(to, path)
    assert kept == tmp_path / "house.db.replaced"
    assert all_of(path) == old
    assert all_of(kept) == new
    again = restore(kept, path)
    assert again == tmp_path / "house.db.replaced-2"
    assert all_of(path) == new


def test_restore_where_there_is_no_record_makes_it(path: Path, tmp_path: Path) -> None:
    """A new computer."""
    to = tmp_path / "new" / "house.db"
    assert restore(path, to) is None
    assert all_of(to) == all_of(path)
    assert [file.name for file in to.parent.iterdir()] == ["house.db"]


def test_restore_over_a_damaged_record_takes_its_log_away(path: Path, tmp_path: Path) -> None:
    """The log of the damaged file, left behind, would be played into the restored one."""
    to = tmp_path / "backup.db"
    backup(path, to)
    good = all_of(to)
    path.write_bytes(b"\x5a" * 8000)
    path.with_name("house.db-wal").write_bytes(b"\x37\x7f\x06\x82" + b"\x5a" * 8000)
    path.with_name("house.db-shm").write_bytes(b"\x00" * 32768)
    kept = restore(to, path)
    assert kept is not None
    assert kept.read_bytes() == b"\x5a" * 8000
    assert not path.with_name("house.db-wal").exists()
    assert not path.with_name("house.db-shm").exists()
    assert all_of(path) == good


def test_a_log_that_cannot_be_folded_in_goes_aside_with_its_record(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The two belong together, and neither belongs to the next record."""
    path.with_name("house.db-wal").write_text("log")
    monkeypatch.setattr("cropplan.record.backup._fold_in_log", lambda _: None)
    kept = put_aside(path, "replaced")
    assert kept.with_name("house.db.replaced-wal").read_text() == "log"
    assert {f.name for f in path.parent.glob("house.db*")} == {kept.name, f"{kept.name}-wal"}


def test_restore_of_an_unsound_backup_is_refused(path: Path, tmp_path: Path) -> None:
    """The backup is audited before anything is put in place."""
    bad, unsound = tmp_path / "bad.db", tmp_path / "unsound.db"
    backup(path, bad)
    backup(path, unsound)
    spoil(bad)
    with closing(sqlite3.connect(unsound, isolation_level=None)) as db:
        db.execute("UPDATE planting SET rooted = 0")
        db.execute("DROP TRIGGER journal_row_stays")
    (tmp_path / "words.txt").write_text("not a record " * 20)
    before = all_of(path)
    for source, said in (
        (bad, "bad.db: "),
        (unsound, "the trigger 'journal_row_stays' is missing, and 2 more faults"),
        (tmp_path / "words.txt", "is not a cropplan record"),
    ):
        with pytest.raises(BadData) as told:
            restore(source, path)
        assert said in str(told.value)
        assert all_of(path) == before
    assert not list(tmp_path.glob("*replaced*"))


def test_restore_over_a_record_in_use_is_refused(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other program would go on writing into the file that was put aside."""
    monkeypatch.setattr(connect, "BUSY_MS", 40)
    to = tmp_path / "backup.db"
    backup(path, to)
    before = all_of(path)
    with open_record(path) as user:
        user.snapshot()
        with pytest.raises(Refusal, match=r"house\.db: is in use by another program"):
            restore(to, path)
        user.append([struck("tom9")])
    assert all_of(path) != before
    assert not list(tmp_path.glob("*replaced*"))
