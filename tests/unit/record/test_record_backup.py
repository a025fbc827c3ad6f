"""Backups: whole copies of a record in use or not, nothing overwritten unasked."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from record_builders import bare_house, record_with, struck
from whole_records import all_of, full_record, spoil

from cropplan.problems import BadData, Refusal
from cropplan.record import in_place
from cropplan.record.audit import check
from cropplan.record.backup import backup, restore
from cropplan.record.store import open_record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A record with something in every table, closed."""
    return full_record(tmp_path / "house.db")


def test_a_backup_of_a_record_in_use_holds_the_last_commit(path: Path, tmp_path: Path) -> None:
    """What still lies in the write-ahead log is in the copy; the copy is one plain file."""
    (tmp_path / "stick").mkdir()
    to = tmp_path / "stick" / "backup.db"
    with open_record(path) as record:
        record.append([struck("tom9")])
        assert path.with_name("house.db-wal").stat().st_size > 0
        backup(path, to)
        record.append([struck("tom10")])
    assert [file.name for file in to.parent.iterdir()] == ["backup.db"]
    # Bytes 18 and 19 of the header, sqlite.org/fileformat.html section 1.3: 1 is without a log,
    # so that it can be read from a disk that nothing can be written to.
    assert to.read_bytes()[18:20] == b"\x01\x01"
    with open_record(to) as copy:
        assert check(copy) == []
        assert "tom9" in copy.snapshot().plantings
        assert "tom10" not in copy.snapshot().plantings


def test_a_backup_does_not_overwrite_unless_told(path: Path, tmp_path: Path) -> None:
    """An older backup may be the only good one."""
    to = tmp_path / "backup.db"
    to.write_text("precious")
    with pytest.raises(Refusal, match=r"backup\.db: is there already"):
        backup(path, to)
    assert to.read_text() == "precious"
    backup(path, to, overwrite=True)
    assert all_of(to) == all_of(path)


def test_a_backup_onto_the_record_itself_is_refused(path: Path, tmp_path: Path) -> None:
    """By whatever name it is called."""
    before = all_of(path)
    link = tmp_path / "link.db"
    link.symlink_to(path)
    for to in (path, link):
        with pytest.raises(Refusal, match="very file"):
            backup(path, to, overwrite=True)
        with pytest.raises(Refusal, match="very file"):
            restore(to, path)
    assert all_of(path) == before


def test_a_damaged_record_does_not_replace_a_good_backup(path: Path, tmp_path: Path) -> None:
    """The copy would be as damaged as the record."""
    to = tmp_path / "backup.db"
    backup(path, to)
    good = to.read_bytes()
    spoil(path)
    with pytest.raises(BadData, match=r"house\.db: is damaged"):
        backup(path, to, overwrite=True)
    assert to.read_bytes() == good


def test_a_backup_that_cannot_be_written_leaves_nothing_behind(path: Path, tmp_path: Path) -> None:
    """The line names the backup, not the record."""
    there = sorted(tmp_path.rglob("*"))
    with pytest.raises(Refusal, match=r"backup\.db: is not there, or its folder is not"):
        backup(path, tmp_path / "no such folder" / "backup.db")
    assert sorted(tmp_path.rglob("*")) == there


def test_a_backup_of_what_is_no_record_is_refused(tmp_path: Path) -> None:
    """A backup of nothing would be found out too late."""
    with pytest.raises(Refusal, match="there is no record here"):
        backup(tmp_path / "house.db", tmp_path / "backup.db")
    assert list(tmp_path.iterdir()) == []


def test_a_disk_without_hard_links_gets_its_files_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Memory sticks; and even there no file is overwritten."""

    def no_links(*_: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    record_with(tmp_path / "house.db", bare_house()).close()
    backup(tmp_path / "house.db", tmp_path / "backup.db")
    assert all_of(tmp_path / "backup.db") == all_of(tmp_path / "house.db")
    (tmp_path / "made").write_text("made")
    (tmp_path / "there").write_text("there")
    with pytest.raises(FileExistsError):
        in_place.put_new(tmp_path / "made", tmp_path / "there")
    assert (tmp_path / "there").read_text() == "there"
