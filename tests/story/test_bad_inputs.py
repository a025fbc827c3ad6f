"""What cannot be is refused in one clear line, with the right code, and nothing changes.

Each case: what is typed, the code it leaves with (1 refused, 2 misuse), and words that the line on
standard error must hold, the typed text among them.
"""

from __future__ import annotations

import ctypes
import json
import os
import resource
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from at_the_terminal import Said, Terminal, content_of, in_a_process, small_house

TODAY = date(2026, 3, 20)

#: (typed, code, words in the line)
CASES: list[tuple[str, int, tuple[str, ...]]] = [
    # Days.
    ("done fi-main --on 2026-02-30", 2, ("'2026-02-30'", "no day of the calendar")),
    ("done fi-main --on 4/3", 2, ("'4/3'", "4 March or 3 April", "2026-03-04")),
    ("done fi-main --on soon", 2, ("'soon'",)),
    ("done fi-main --on 2026-03-21", 1, ("2026-03-21", "still to come")),
    ("done fi-main --on tomorrow", 1, ("2026-03-21", "still to come")),
    ("done fi-main --on 2026-03-12..2026-03-03", 2, ("'2026-03-12..2026-03-03'",)),
    ("done fi-main --on 2026-03-12..2026-04-03", 1, ("2026-03-21", "still to come")),
    ("seen tom2 rooted --on 2026-03-01", 1, ("tom2", "2026-03-02", "2026-03-01")),
    ("seen tom2 rooted --on 2031-01-01", 1, ("2031-01-01", "still to come")),
    ("bring-in tomato 1 --in B3 --started 'about noon'", 2, ("'about noon'",)),
    ("later fi-main --to 2026-03-20", 1, ("2026-03-20", "not later than today")),
    ("later fi-main --to 2027-03-20", 1, ("fi-main", "at the latest")),
    ("away 2026-04-10 2026-04-01", 2, ("2026-04-10", "2026-04-01", "end is before")),
    ("place add C1 --kind pot --filled 2030-01-01", 1, ("2030-01-01", "still to come")),
    # Crops, cultivars and stages.
    ("strike tomatto 4 --from tom1 --in T1", 1, ("'tomatto'", "did you mean")),
    ("sow dragonfruit 4 --in T1", 1, ("'dragonfruit'", "crops list")),
    ("crops show bazil", 1, ("'bazil'", "did you mean 'basil'")),
    ("strike tomato 4 --from tom1 --in T1 --by runner", 1, ("runner", "cutting")),
    ("strike tomato 4 --from tom1 --in T1 --by cuting", 2, ("'cuting'", "'cutting'")),
    ("strike basil 4 --from tom1 --in T1", 1, ("tom1", "basil")),
    ("bring-in tomato 1 --in B3 --cultivar Matinna", 1, ("'Matinna'", "Matina")),
    ("seen tom2 floweering", 2, ("'floweering'", "'flowering'")),
    ("seen tom2 pulled", 2, ("'pulled'", "cropplan pull")),
    ("seen tom2 emerged", 1, ("tom2", "struck", "emerged")),
    ("pick tom2 1kg", 1, ("tom2", "struck")),
    # Places and room.
    ("strike tomato 41 --from tom1 --in T1", 1, ("T1", "no room for 41")),
    ("bring-in tomato 1 --in B1", 1, ("B1", "tom1", "no room")),
    ("bring-in tomato 1 --in B33", 1, ("'B33'", "did you mean")),
    ("bring-in tomato 5 --in B3-B4", 2, ("5 plants", "2 places")),
    ("set-out tom2 3 --in B3,B4", 1, ("no room",)),
    ("set-out tom2 9 --in B3", 1, ("tom2", "9")),
    ("set-out tom2 --in B4-B3", 2, ("'B4-B3'", "backwards")),
    ("set-out tom2 --in B3,B3", 2, ("'B3,B3'", "twice")),
    ("move tom2 --in B3", 1, ("B3", "no room")),
    ("move tom1 --in B1", 1, ("tom1", "B1", "already")),
    ("move tom1 --in B3,B4", 2, ("'B3,B4'", "one is wanted")),
    ("place add B1 --kind bucket", 1, ("'B1'", "already")),
    ("place add C1-C4 --kind buckit", 2, ("'buckit'", "'bucket'")),
    ("place add C1 --kind pot --holds 0", 1, ("at least 1 plant", "0")),
    ("place add C1 --kind pot --medium perlight", 1, ("'perlight'", "perlite")),
    ("place retire B1", 1, ("B1", "tom1")),
    # Counts.
    ("strike tomato -4 --from tom1 --in T1", 1, ("-4", "at least 1")),
    ("strike tomato four --from tom1 --in T1", 2, ("'four'", "whole number")),
    ("sow basil 0 --in T1", 1, ("at least 1", "0")),
    ("lost tom2 9", 1, ("tom2", "9")),
    ("lost tom2 -1", 1, ("tom2", "-1")),
    ("seen tom2 rooted 12", 1, ("tom2", "12")),
    # Tags.
    ("pick tom3", 1, ("tom3", "pulled")),
    ("seen tom3 flowering", 1, ("tom3", "pulled")),
    ("strike tomato 2 --from tom3 --in T1", 1, ("tom3", "gone")),
    ("pull tom99", 1, ("'tom99'", "did you mean")),
    ("planting show TOM99", 1, ("'TOM99'",)),
    ("journal --tag bas1", 1, ("'bas1'",)),
    # Amounts and units.
    ("feed main 60q", 2, ("'60q'", "unit 'q'")),
    ("feed main -5g", 1, ("-5 g",)),
    ("feed mian 60g", 1, ("'mian'", "'main'")),
    ("pick tom1 3gal", 2, ("'3gal'",)),
    ("pick tom1 1,250", 2, ("'1,250'", "1.250")),
    ("test main ph=68", 1, ("ph 68", "6.8")),
    ("test main phh=6.8", 2, ("'phh'", "'ph'")),
    ("test main ph", 2, ("'ph'", "KEY=VALUE")),
    ("test main ammonia=-1", 1, ("ammonia -1",)),
    ("temp 20 12", 2, ("20", "12", "low comes first")),
    ("temp 60 99", 1, ("99", "F")),
    ("drain main --volume 5kg", 2, ("'5kg'", "volume")),
    ("duty add 'wipe lamps' --every 0d", 2, ("'0'", "at least 1 day")),
    ("duty add 'wipe lamps' --every often", 2, ("'often'", "14d")),
    ("duty add 'wipe lamps' --rule FREQ=SOMETIMES", 2, ("FREQ=SOMETIMES",)),
    ("duty add 'wipe lamps'", 2, ("--every", "--rule")),
    ("duty set pollinatte --every 2d", 1, ("'pollinatte'", "'pollinate'")),
    # Handles and lines.
    ("done fi-mian", 1, ("'fi-mian'", "fi-main")),
    ("done po-tom --only B9", 1, ("'B9'", "B1")),
    ("done po-tom --only B1 --except B1", 2, ("B1", "one of the two")),
    ("done st-tom", 1, ("'st-tom'",)),
    ("skip fi-main --why ''", 2, ("--why",)),
    ("done", 2, ("HANDLES",)),
    # House, catalogue, undo.
    ("house new Other --at 95,0 --zone Europe/Dublin", 2, ("'95,0'", "no place on earth")),
    ("house new Other --at 53.3,-6.2 --zone Europe/Dubln", 2, ("'Europe/Dubln'", "Europe/Dublin")),
    ("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin", 1, ("'Quay House'", "already")),
    ("house new Other --at 53.3,-6.2", 2, ("'Other'", "--zone")),
    ("house set --day 12 --night 18", 2, ("18", "12", "swapped")),
    ("house set --cover 7", 2, ("'7'", "between 0 and 1")),
    ("rounds --house Quai", 1, ("'Quai'",)),
    ("rounds --ahead 900", 2, ("'900'", "60")),
    ("loop add pond --volume 0L --fish carp", 2, ("0 L",)),
    ("loop add pond --volume 500L --fish carrp", 1, ("'carrp'", "'carp'")),
    ("loop add Main --volume 500L --fish carp", 1, ("'main'", "already")),
    ("crops set tomato pick_intervall 2", 1, ("'pick_intervall'", "'pick_interval'")),
    ("crops set tomato pick_interval two", 2, ("'two'",)),
    ("undo 999", 1, ("999",)),
    ("undo 5", 1, ("entry 5", "builds on it")),
    ("undo last", 2, ("'last'", "whole number")),
    ("calendar write house.ics --days 0", 2, ("'0'", "--days")),
]


@pytest.fixture
def terminal(tmp_path: Path) -> Terminal:
    """A small house with an old tomato, cuttings of it in a tray, and one that was pulled."""
    terminal = Terminal(record=tmp_path / "house.db", day=date(2026, 3, 2))
    small_house(terminal)
    terminal.done("strike tomato 4 --from tom1 --in T1")
    terminal.done("bring-in tomato 1 --in B5 --cultivar Matina")
    terminal.done("pull tom3")
    terminal.day = TODAY
    return terminal


def refused(said: Said, code: int, words: tuple[str, ...]) -> None:
    """One line on standard error with the words, the right code, and a clean standard output."""
    assert said.code == code, said
    assert said.out == ""
    assert said.err.startswith("cropplan: ")
    assert said.err.count("\n") == 1
    assert said.err.endswith("\n")
    assert "Traceback" not in said.err
    assert "fault of cropplan's own" not in said.err
    assert all(word in said.err for word in words), said.err


def test_there_are_at_least_fifty_bad_inputs() -> None:
    """Issue A, acceptance: fifty bad inputs, none of them twice."""
    assert len({typed for typed, _, _ in CASES}) == len(CASES) >= 50


@pytest.mark.parametrize(("typed", "code", "words"), CASES, ids=[typed for typed, _, _ in CASES])
def test_what_cannot_be_is_refused_and_changes_nothing(
    terminal: Terminal, typed: str, code: int, words: tuple[str, ...]
) -> None:
    """Issue A, acceptance: one clear line, right exit code, record unchanged."""
    before = content_of(terminal.record)
    refused(terminal.type(typed), code, words)
    assert content_of(terminal.record) == before


# --- files that are not what they should be ------------------------------------------------------


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


# --- what the machine refuses --------------------------------------------------------------------


def test_a_record_that_is_in_use_is_refused_and_not_waited_for_for_ever(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another program holds the record: say so, change nothing."""
    monkeypatch.setattr("cropplan.record.connect.BUSY_MS", 50)
    before = content_of(terminal.record)
    with closing(sqlite3.connect(terminal.record, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        refused(terminal.type("feed main 60g"), 1, (str(terminal.record), "in use"))
        other.execute("ROLLBACK")
    assert content_of(terminal.record) == before


def as_an_owner_like_any_other() -> None:
    """Give up root's right to write in read-only folders, for the process about to start."""
    # prctl(PR_CAPBSET_DROP, CAP_DAC_OVERRIDE), see capabilities(7): counts from the next exec.
    prctl = ctypes.CDLL(None, use_errno=True).prctl
    if os.geteuid() == 0 and prctl(24, 1, 0, 0, 0) != 0:
        raise OSError(ctypes.get_errno(), "root's rights cannot be given up here")


def small_files_only() -> None:
    """No file may grow beyond 4 kB, as on a disk that is full."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))


NOT_WRITTEN: list[tuple[str, Callable[[], None], str]] = [
    ("feed main 60g", as_an_owner_like_any_other, "cannot be written"),
    ("calendar write {folder}/house.ics", as_an_owner_like_any_other, "cannot write"),
    (
        "away 2026-12-01 2026-12-09 --sheet {folder}/page.txt",
        as_an_owner_like_any_other,
        "cannot write",
    ),
    ("backup {folder}/copy.db", as_an_owner_like_any_other, "cannot be written"),
    ("crops set tomato pick_interval 2", as_an_owner_like_any_other, "cannot be written"),
    ("feed main 60g", small_files_only, "disk is full"),
    ("backup {folder}/copy.db", small_files_only, "disk is full"),
    ("export {folder}/out", small_files_only, "disk is full"),
    ("calendar write {folder}/house.ics --days 800", small_files_only, "disk is full"),
]


@pytest.mark.parametrize(("typed", "limits", "words"), NOT_WRITTEN)
def test_a_folder_or_disk_that_takes_nothing_changes_nothing(
    terminal: Terminal, typed: str, limits: Callable[[], None], words: str
) -> None:
    """Read-only folder, full disk (RLIMIT_FSIZE): one line, exit 1, record as before."""
    folder = terminal.record.parent
    before = content_of(terminal.record)
    if limits is as_an_owner_like_any_other:
        folder.chmod(0o555)
        terminal.record.chmod(0o444)
    try:
        said = in_a_process(
            ["--record", str(terminal.record), *typed.format(folder=folder).split()],
            preexec_fn=limits,
        )
    finally:
        folder.chmod(0o755)
        terminal.record.chmod(0o644)
    refused(said, 1, (words,))
    assert content_of(terminal.record) == before
    left = {file.name for file in folder.iterdir()} - {"house.db", "house.db-wal", "house.db-shm"}
    assert left == set()
