"""Backup, restore, export and import: whole copies, nothing overwritten unasked."""

from __future__ import annotations

import csv
import json
import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from record_builders import bare_house, entry, lived_in, notice, record_with, struck

from cropplan.holding.entry import Fed, Voided
from cropplan.problems import BadData, CropplanError, Refusal
from cropplan.record import connect, in_place
from cropplan.record.audit import check
from cropplan.record.backup import backup, put_aside, restore
from cropplan.record.exchange import JOURNAL_FILE, export, import_journal
from cropplan.record.store import open_record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A record with something in every table, closed."""
    path = tmp_path / "house.db"
    with record_with(path, lived_in()) as record:
        record.append([entry(Fed(loop="tank", grams=3.0), note='a "quoted" line\nand one more')])
        record.append([entry(Voided(entry=record.revision))])
        record.publish([notice("a/1", "uid-a", 3), notice("b/1", "uid-b")], ["b/1"])
    return path


def all_of(path: Path) -> list[object]:
    """Everything that a record holds."""
    with open_record(path) as record:
        return [
            record.snapshot(),
            record.journal(),
            record.voided(),
            record.namespace,
            record.made,
            record.published(),
            record.withdrawn(),
        ]


def spoil(path: Path) -> None:
    """Damage one page of a file."""
    with closing(sqlite3.connect(path)) as db:
        (page,) = db.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'planting'"
        ).fetchone()
    with path.open("r+b") as file:
        file.seek((page - 1) * 4096)
        file.write(b"\x5a" * 4096)


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


def test_an_export_holds_every_table_and_makes_the_record_again(path: Path, tmp_path: Path) -> None:
    """A record made from the JSON lines equals the one they came from."""
    files = export(path, tmp_path / "out")
    with closing(sqlite3.connect(path)) as db:
        tables = {n for (n,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        for table in tables:
            with (tmp_path / "out" / f"{table}.csv").open(encoding="utf-8", newline="") as file:
                rows = list(csv.reader(file))
            cursor = db.execute(f"SELECT * FROM {table}")  # noqa: S608
            assert rows[0] == [column[0] for column in cursor.description]
            assert rows[1:] == [["" if c is None else str(c) for c in row] for row in cursor]
    assert {file.name for file in files} == {JOURNAL_FILE, *(f"{table}.csv" for table in tables)}
    count = import_journal(tmp_path / "out" / JOURNAL_FILE, tmp_path / "again.db")
    assert count == len(lived_in()) + 2
    assert all_of(tmp_path / "again.db") == all_of(path)
    with open_record(tmp_path / "again.db") as again:
        assert check(again) == []


def test_an_export_does_not_overwrite_unless_told(path: Path, tmp_path: Path) -> None:
    """A folder with something in it may be somebody's."""
    out = tmp_path / "out"
    out.mkdir()
    (out / "mine.txt").write_text("mine")
    with pytest.raises(Refusal, match="out: holds files already"):
        export(path, out)
    assert [file.name for file in out.iterdir()] == ["mine.txt"]
    export(path, out, overwrite=True)
    first = (out / JOURNAL_FILE).read_bytes()
    export(path, out, overwrite=True)
    assert (out / JOURNAL_FILE).read_bytes() == first
    assert (out / "mine.txt").read_text() == "mine"
    assert not [file for file in out.iterdir() if file.name.startswith(".")]


def test_an_import_goes_into_an_empty_record_only(path: Path, tmp_path: Path) -> None:
    """Two journals cannot be told apart once they are mixed."""
    export(path, tmp_path / "out")
    lines = tmp_path / "out" / JOURNAL_FILE
    with open_record(tmp_path / "empty.db", create=True) as empty:
        assert empty.revision == 0
    import_journal(lines, tmp_path / "empty.db")
    assert all_of(tmp_path / "empty.db") == all_of(path)
    before = all_of(path)
    with pytest.raises(Refusal, match=r"house\.db: holds entries already"):
        import_journal(lines, path)
    assert all_of(path) == before
    assert not list(tmp_path.glob("*replaced*"))


def lines_of(path: Path, folder: Path) -> list[str]:
    """The JSON lines of a record."""
    export(path, folder)
    return (folder / JOURNAL_FILE).read_text(encoding="utf-8").splitlines()


def test_an_import_names_the_line_that_is_wrong(path: Path, tmp_path: Path) -> None:
    """File, line, what is wrong; and no record is left behind."""
    lines = lines_of(path, tmp_path / "out")
    told_line = json.loads(lines[-1])
    told_line["published"].update(uid="uid-a", key="z/1")
    wrong = {
        "not JSON": (3, "{", ":4: is not JSON"),
        "no such thing": (3, '{"weather":1}', ":4: is neither a 'record'"),
        "a list": (3, "[]", ":4: is neither a 'record'"),
        "field missing": (3, '{"entry":3}', ":4: entry 3: 'act' is missing"),
        "out of turn": (3, lines[4], ":4: entry 4 stands where 3 should"),
        "no such act": (
            3,
            lines[3].replace("places", "tables", 1),
            ":4: no act is called 'tables'",
        ),
        "impossible": (5, lines[5].replace("T1", "T9"), ":6: entry 5 cannot be: no place"),
        "no moment": (3, lines[3].replace("T07:30:00+00:00", ""), ":4: "),
        "no identity": (0, "", "has no line that begins with 'record'"),
        "identity spoilt": (0, '{"record":{"namespace":"x"}}', ":1: the namespace 'x'"),
        "made at no time": (0, lines[0].replace('"created":"', '"created":"x'), ":1: 'x"),
        "undo of nothing": (25, lines[25].replace("24", "77"), "there is no entry 77 to undo"),
        "two with one UID": (len(lines) - 1, json.dumps(told_line), "UNIQUE"),
    }
    for name, (number, line, said) in wrong.items():
        file = tmp_path / "wrong.jsonl"
        changed = [*lines[:number], line, *lines[number + 1 :]]
        file.write_text("\n".join(changed), encoding="utf-8")
        with pytest.raises(BadData) as told:
            import_journal(file, tmp_path / "new.db")
        assert str(told.value).startswith(str(file)), (name, str(told.value))
        assert said in str(told.value), name
        assert "\n" not in str(told.value)
        assert not (tmp_path / "new.db").exists()


def test_an_import_of_what_is_no_text_is_told(path: Path, tmp_path: Path) -> None:
    """A file of the wrong kind: missing, a folder, or not UTF-8."""
    new = tmp_path / "new.db"
    with pytest.raises(Refusal, match="is not there"):
        import_journal(tmp_path / "no.jsonl", new)
    with pytest.raises(CropplanError, match=str(tmp_path)):
        import_journal(tmp_path, new)
    latin = tmp_path / "latin.jsonl"
    latin.write_bytes(b'\n{"entry": "\xe9"}\n')
    with pytest.raises(BadData, match=r"latin\.jsonl:2: is not UTF-8"):
        import_journal(latin, new)
    assert not new.exists()


def test_an_import_takes_a_file_that_an_editor_has_touched(path: Path, tmp_path: Path) -> None:
    """A byte-order mark, Windows line ends and an empty line at the end change nothing."""
    lines = lines_of(path, tmp_path / "out")
    file = tmp_path / "edited.jsonl"
    file.write_bytes(b"\xef\xbb\xbf" + "\r\n".join([*lines, "", ""]).encode())
    import_journal(file, tmp_path / "new.db")
    assert all_of(tmp_path / "new.db") == all_of(path)


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
