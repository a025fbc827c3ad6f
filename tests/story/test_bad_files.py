"""Files that are not what they should be are refused in one clear line, and left alone."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from at_the_terminal import Terminal, content_of
from refusals import lived_in_house, refused


@pytest.fixture
def terminal(tmp_path: Path) -> Terminal:
    """A house in which there is much to refuse."""
    return lived_in_house(tmp_path / "house.db")


def test_a_file_that_is_no_database_is_refused_and_left_alone(terminal: Terminal) -> None:
    """A letter named as the record is not touched."""
    letter = terminal.record.with_name("letter.txt")
    letter.write_text("Dear Ines, " * 40, encoding="utf-8")
    before = letter.read_bytes()
    refused(Terminal(record=letter).type("rounds"), 1, (str(letter), "not a cropplan record"))
    refused(Terminal(record=letter).type("feed main 60g"), 1, (str(letter),))
    assert letter.read_bytes() == before


def test_an_empty_file_is_refused_and_left_alone(terminal: Terminal) -> None:
    """An empty file may be the trace of a full disk; it is not silently taken for a new record."""
    empty = terminal.record.with_name("empty.db")
    empty.touch()
    words = "house new Other --at 53.3,-6.2 --zone Europe/Dublin"
    refused(Terminal(record=empty).type(words), 1, (str(empty), "empty file"))
    assert empty.read_bytes() == b""


def test_a_database_of_another_program_is_refused_and_left_alone(terminal: Terminal) -> None:
    """The application id in the header tells a record from any other SQLite file."""
    other = terminal.record.with_name("other.db")
    with closing(sqlite3.connect(other)) as connection:
        connection.execute("CREATE TABLE song (title TEXT)")
        connection.commit()
    before = other.read_bytes()
    refused(Terminal(record=other).type("rounds"), 1, (str(other), "another program"))
    assert other.read_bytes() == before


def test_a_record_of_a_newer_version_is_refused_and_left_alone(terminal: Terminal) -> None:
    """A record that a newer cropplan wrote asks for an update, naming both versions."""
    with closing(sqlite3.connect(terminal.record)) as connection:
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        connection.execute("PRAGMA user_version = 999")
    before = content_of(terminal.record)
    refused(terminal.type("rounds"), 1, ("newer cropplan", "999", str(version), "update"))
    assert content_of(terminal.record) == before


def test_a_damaged_record_is_told_and_a_backup_named(terminal: Terminal) -> None:
    """Half of the file overwritten: no traceback, and the way back is said."""
    with closing(sqlite3.connect(terminal.record)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    raw = bytearray(terminal.record.read_bytes())
    raw[4096:] = b"\xa5" * (len(raw) - 4096)
    terminal.record.write_bytes(raw)
    refused(terminal.type("rounds"), 1, (str(terminal.record), "restore"))
    assert terminal.record.read_bytes() == bytes(raw)


def test_a_folder_named_as_the_record_is_refused(terminal: Terminal) -> None:
    """The record is a file in it."""
    folder = terminal.record.parent
    refused(Terminal(record=folder).type("rounds"), 1, (str(folder), "is a folder"))


def test_no_record_is_made_by_looking_for_one(tmp_path: Path) -> None:
    """A mistyped --record does not leave an empty record behind."""
    missing = tmp_path / "hosue.db"
    refused(Terminal(record=missing).type("rounds"), 1, (str(missing), "house new"))
    assert not missing.exists()


def test_a_house_that_cannot_be_leaves_no_record(tmp_path: Path) -> None:
    """The first command of a newcomer, refused, must not leave a record without a house."""
    record = tmp_path / "house.db"
    words = "house new Mine --at 153.3,-6.2 --zone Europe/Dublin"
    refused(Terminal(record=record).type(words), 2, ("'153.3,-6.2'",))
    assert list(tmp_path.iterdir()) == []


def test_a_spoilt_file_of_own_figures_is_named_with_its_line(terminal: Terminal) -> None:
    """Corrupted TOML beside the record: file and line, and what to write."""
    own = terminal.record.with_suffix(".own.toml")
    own.write_text("[own.tomato.pick_interval]\ntypical = 7,5\nunit = 'd'\n", encoding="utf-8")
    before = content_of(terminal.record)
    refused(terminal.type("rounds"), 1, ("house.own.toml:2", "7.5"))
    refused(terminal.type("crops set tomato pick_interval 2"), 1, ("house.own.toml:2",))
    own.write_text("[own.tomato.pick_interval]\ntypical = 'often'\nunit = 'd'\n", encoding="utf-8")
    refused(terminal.type("rounds"), 1, ("house.own.toml:2", "'often'"))
    assert content_of(terminal.record) == before


def test_faults_of_a_crop_file_are_listed_and_counted(terminal: Terminal, tmp_path: Path) -> None:
    """`crops check FILE` shows all faults with their lines, and leaves with 1."""
    file = tmp_path / "tomatillo.toml"
    file.write_text("[crop]\nid = 'tomatillo'\nname = 'Tomatillo'\n", encoding="utf-8")
    said = terminal.type(f"crops check {file}")
    assert said.code == 1
    assert all(line.startswith("tomatillo.toml") for line in said.out.splitlines())
    assert said.err.count("\n") == 1
    faults = len(said.out.splitlines())
    assert f"{faults} faults" in said.err
    assert len(json.loads(terminal.type(f"crops check {file} --json").out)) == faults


def test_a_log_without_days_is_refused_with_its_first_fault(terminal: Terminal) -> None:
    """Nothing of a wrong file gets into the record."""
    log = terminal.record.with_name("log.csv")
    log.write_text("date,low,high\n2026-03-01,20,10\n", encoding="utf-8")
    before = content_of(terminal.record)
    refused(terminal.type(f"import temps {log}"), 1, (str(log), "above the high"))
    refused(terminal.type("import temps no-such.csv"), 1, ("no-such.csv",))
    refused(terminal.type(f"import temps {log} --scale K"), 2, ("'K'",))
    assert content_of(terminal.record) == before


def test_an_import_over_a_record_in_use_is_refused(terminal: Terminal, tmp_path: Path) -> None:
    """An export is read into a new record only; a broken line is named."""
    terminal.done(f"export {tmp_path / 'out'}")
    journal = tmp_path / "out" / "journal.jsonl"
    before = content_of(terminal.record)
    refused(terminal.type(f"import {journal}"), 1, (str(terminal.record), "already"))
    journal.write_text(journal.read_text(encoding="utf-8") + "{nonsense\n", encoding="utf-8")
    other = Terminal(record=tmp_path / "other.db")
    refused(other.type(f"import {journal}"), 1, (str(journal), "not JSON"))
    assert content_of(terminal.record) == before
    assert not other.record.exists()


def test_a_backup_is_not_written_over_a_file_that_is_there(terminal: Terminal) -> None:
    """The only good backup is not lost to a slip; a text file is no backup to restore."""
    copy = terminal.record.with_name("copy.db")
    copy.write_text("precious", encoding="utf-8")
    before = content_of(terminal.record)
    refused(terminal.type(f"backup {copy}"), 1, (str(copy), "already"))
    refused(terminal.type(f"restore {copy}"), 1, (str(copy), "not a cropplan record"))
    assert copy.read_text(encoding="utf-8") == "precious"
    assert content_of(terminal.record) == before
