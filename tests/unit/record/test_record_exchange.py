"""Export and import: the record made again from its lines, and each wrong line named."""

from __future__ import annotations

import csv
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from record_builders import lived_in
from whole_records import all_of, full_record

from cropplan.problems import BadData, CropplanError, Refusal
from cropplan.record.audit import check
from cropplan.record.exchange import JOURNAL_FILE, export, import_journal
from cropplan.record.store import open_record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A record with something in every table, closed."""
    return full_record(tmp_path / "house.db")


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
