"""Opening a record: every file that is not one, or cannot be used, is told in one line."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import stat
import subprocess
import sys
import tempfile
import uuid
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from record_builders import bare_house, entry, lived_in, record_with, struck

from cropplan.holding.entry import Fed
from cropplan.problems import BadData, CropplanError, Refusal
from cropplan.record import connect
from cropplan.record.audit import check
from cropplan.record.schema import VERSION
from cropplan.record.store import open_record

#: A child finds the package where this program does, installed or not.
AS_HERE = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
CHILD = Path(__file__).with_name("record_in_distress.py")


def other_program(path: Path) -> None:
    """A database of somebody else's."""
    with closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA application_id = 252006675")
        db.execute("CREATE TABLE songs (title TEXT)")


def plain_database(path: Path) -> None:
    """A database that says nothing of whose it is."""
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE songs (title TEXT)")


def from_the_future(path: Path) -> None:
    """A record that a later cropplan has migrated."""
    record_with(path, bare_house()).close()
    with closing(sqlite3.connect(path)) as db:
        db.execute(f"PRAGMA user_version = {VERSION + 3}")


def cut_short(path: Path) -> None:
    """A record of which a copy broke off in the header."""
    record_with(path, bare_house()).close()
    path.write_bytes(path.read_bytes()[:60])


NO_RECORDS: dict[str, tuple[Callable[[Path], object], str]] = {
    "a folder": (Path.mkdir, "is a folder"),
    "an empty file": (Path.touch, "is an empty file"),
    "a text file": (lambda path: path.write_text("tom7 rooted\n" * 20), "is not a cropplan record"),
    "a short file": (lambda path: path.write_text("tom7"), "is not a cropplan record"),
    "cut short": (cut_short, "is not a cropplan record"),
    "another program's database": (other_program, "is a database of another program"),
    "a plain database": (plain_database, "is a database of another program"),
    "from the future": (
        from_the_future,
        f"newer cropplan (record version {VERSION + 3}; this one knows {VERSION}); update cropplan",
    ),
}


@pytest.mark.parametrize(("make", "said"), NO_RECORDS.values(), ids=NO_RECORDS.keys())
def test_a_file_that_is_no_record_is_told_apart_and_left_alone(
    tmp_path: Path, make: Callable[[Path], object], said: str
) -> None:
    """One line that names the file and what it is; not a byte of it changes."""
    path = tmp_path / "house.db"
    make(path)
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(BadData) as told:
        open_record(path, create=True)
    assert str(told.value).startswith(f"{path}: ")
    assert said in str(told.value)
    assert "\n" not in str(told.value)
    assert (path.read_bytes() if path.is_file() else None) == before
    assert [file.name for file in tmp_path.iterdir()] == ["house.db"]


def test_a_record_that_is_not_there_is_refused_saying_how_to_make_one(tmp_path: Path) -> None:
    """Looking makes nothing: a mistyped path must not begin a second, empty record."""
    path = tmp_path / "away" / "house.db"
    with pytest.raises(Refusal) as told:
        open_record(path)
    assert str(path) in str(told.value)
    assert "cropplan house new" in str(told.value)
    assert list(tmp_path.iterdir()) == []


def test_a_new_record_is_marked_as_ours_and_has_an_identity_of_its_own(tmp_path: Path) -> None:
    """Application id, write-ahead log, foreign keys, full syncing; a random UUID as namespace."""
    path = tmp_path / "away" / "house.db"
    with open_record(path, create=True) as record:
        pragmas = {
            name: record.connection.execute(f"PRAGMA {name}").fetchone()[0]
            for name in ("application_id", "user_version", "journal_mode", "foreign_keys")
        }
        assert pragmas == {
            "application_id": int.from_bytes(b"CROP", "big"),
            "user_version": VERSION,
            "journal_mode": "wal",
            "foreign_keys": 1,
        }
        assert record.connection.execute("PRAGMA synchronous").fetchone()[0] == 2
        assert record.connection.execute("PRAGMA busy_timeout").fetchone()[0] == connect.BUSY_MS
        mine = record.namespace
    assert [file.name for file in path.parent.iterdir()] == ["house.db"]
    with open_record(path, create=True) as record:
        assert record.namespace == mine
    with open_record(tmp_path / "other.db", create=True) as other:
        assert other.namespace != mine
        assert other.namespace.version == 4


def test_a_namespace_that_is_given_is_kept(tmp_path: Path) -> None:
    """The example house writes the same calendar on every machine."""
    given = uuid.UUID("6ad4c6f2-7f0e-4a53-9d2b-0f3f0c9d6f11")
    with open_record(tmp_path / "house.db", create=True, namespace=given) as record:
        assert record.namespace == given


def test_a_copy_put_in_place_by_hand_gets_its_log_again(tmp_path: Path) -> None:
    """A backup is one file without a write-ahead log; opened as the record, it has one."""
    record_with(tmp_path / "house.db", bare_house()).close()
    with closing(sqlite3.connect(tmp_path / "house.db")) as db:
        db.execute("PRAGMA journal_mode = DELETE")
    with open_record(tmp_path / "house.db") as record:
        assert record.connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"


def test_two_who_make_a_record_at_once_do_not_overwrite_each_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The one that comes second finds the first one's record and opens it."""
    path = tmp_path / "house.db"
    record_with(path, bare_house()).close()
    really_there = Path.exists
    answers = iter([False])  # the first look comes before the other program was done
    monkeypatch.setattr(
        Path, "exists", lambda self: next(answers, True) if self == path else really_there(self)
    )
    with pytest.raises(Refusal, match="is there already"):
        open_record(path, create=True)
    monkeypatch.undo()
    with open_record(path) as record:
        assert record.revision == 4


def test_a_record_in_use_is_read_but_not_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A writer elsewhere never keeps a grower from looking; writing waits, then is refused."""
    monkeypatch.setattr(connect, "BUSY_MS", 40)
    path = tmp_path / "house.db"
    with record_with(path, bare_house()) as record, closing(sqlite3.connect(path)) as other:
        other.execute("BEGIN IMMEDIATE")
        assert "tank" in record.snapshot().loops
        with pytest.raises(Refusal) as told:
            open_record(path).append([struck("tom1")])
        assert str(told.value) == (
            f"{path}: is in use by another program; nothing has changed: "
            "wait a moment and type it again"
        )
        other.rollback()
        assert record.revision == 4


def test_a_look_is_of_one_moment_while_another_program_writes(tmp_path: Path) -> None:
    """What is read within one snapshot belongs together."""
    path = tmp_path / "house.db"
    with record_with(path, bare_house()) as writer, open_record(path) as reader:
        with connect.looking(reader.connection):
            assert reader.connection.execute("SELECT count(*) FROM planting").fetchone() == (0,)
            writer.append([struck("tom1")])
            assert reader.connection.execute("SELECT count(*) FROM planting").fetchone() == (0,)
        assert "tom1" in reader.snapshot().plantings


def test_a_damaged_record_is_told_as_damaged(tmp_path: Path) -> None:
    """The line says to keep a copy and put back a backup; check names what is wrong."""
    path = tmp_path / "house.db"
    record_with(path, lived_in()).close()
    with closing(sqlite3.connect(path)) as db:
        (page,) = db.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'planting'"
        ).fetchone()
        (size,) = db.execute("PRAGMA page_size").fetchone()
    with path.open("r+b") as file:
        file.seek((page - 1) * size)
        file.write(b"\x5a" * size)
    with open_record(path) as record:
        with pytest.raises(BadData) as told:
            record.snapshot()
        assert str(told.value).startswith(f"{path}: is damaged; ")
        assert any("damaged" in problem.message for problem in check(record))


def test_a_record_on_a_disk_that_fails_the_name_is_told_plainly(tmp_path: Path) -> None:
    """A file where a folder should be, and a name too long for any disk."""
    (tmp_path / "file").write_text("x")
    for path in (tmp_path / "file" / "house.db", tmp_path / ("n" * 300)):
        with pytest.raises(CropplanError) as told:
            open_record(path, create=True)
        assert str(told.value).startswith(f"{path}: ")


def test_a_record_used_after_it_was_let_go_is_a_fault_of_ours(tmp_path: Path) -> None:
    """Only faults of files are told as such; ours must be seen in a test, not explained away."""
    record = record_with(tmp_path / "house.db", bare_house())
    record.close()
    with pytest.raises(sqlite3.ProgrammingError):
        record.snapshot()


def test_opening_looking_and_entering_load_no_heavy_library(tmp_path: Path) -> None:
    """Section 6 of the design: the morning path reads through the standard sqlite3 alone."""
    record_with(tmp_path / "house.db", bare_house()).close()
    script = (
        "import sys; from pathlib import Path; from cropplan.record.store import open_record\n"
        "with open_record(Path(sys.argv[1])) as record:\n"
        "    record.snapshot(living_only=True)\n"
        "print(sorted({m.partition('.')[0] for m in sys.modules}))"
    )
    run = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "house.db")],
        capture_output=True,
        text=True,
        check=True,
        env=AS_HERE,
    )
    loaded = set(eval(run.stdout))  # noqa: S307 - our own list of names
    assert "sqlite3" in loaded
    assert not loaded & {"sqlite_utils", "click", "numpy", "pandas", "tabulate", "uuid", "shutil"}


# Disks in distress ------------------------------------------------------------------------------


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that any user can reach; pytest's own are closed to others."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


def in_distress(*words: str, before: tuple[str, ...] = ()) -> dict[str, str]:
    """What a program told of a record on a disk in distress; see `record_in_distress.py`."""
    run = subprocess.run(
        [*before, sys.executable, str(CHILD), *words],
        capture_output=True,
        text=True,
        check=False,
        env=AS_HERE,
    )
    assert run.returncode == 0, run.stderr
    told: dict[str, str] = json.loads(run.stdout)
    return told


@pytest.mark.parametrize("what", ["folder", "file"])
def test_what_cannot_be_written_is_refused_and_unchanged(open_folder: Path, what: str) -> None:
    """Read-only folder or file; as root, the program first becomes a user whom modes bind."""
    path = open_folder / "house.db"
    record_with(path, bare_house()).close()
    before = path.read_bytes()
    path.chmod(stat.S_IRUSR | stat.S_IRGRP | stat.S_IROTH)
    if what == "folder":
        open_folder.chmod(0o555)
    else:
        open_folder.chmod(0o777)
    told = in_distress("read-only", str(path))
    refused = {"entering": path, "making": open_folder / "second.db"}
    if what == "file":
        del refused["making"]  # the folder takes new files
    for act, named in refused.items():
        assert told[act].startswith(f"Refusal {named}: cannot be written; make the file and"), told
    assert path.read_bytes() == before


def can_mount(folder: Path) -> tuple[str, ...] | None:
    """The words by which a program gets a small disk of its own, if this system allows it."""
    mount = f'mount -t tmpfs -o size=700k tmpfs {folder} && exec "$@"'
    for unshare in (["unshare", "-m"], ["unshare", "-rm"]):
        words = (*unshare, "sh", "-c", mount, "sh")
        if (
            shutil.which("unshare")
            and not subprocess.run([*words, sys.executable, "-c", ""], check=False).returncode
        ):
            return words
    return None


@pytest.mark.parametrize("how", ["small disk", "limited files"])
def test_a_full_disk_refuses_the_entry_and_loses_nothing(tmp_path: Path, how: str) -> None:
    """What was acknowledged stays, the record is sound, and goes on when there is room.

    On a system that allows no mount, the first case limits the size of files as the second does.
    """
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = can_mount(disk) if how == "small disk" else None
    words = ("small-disk",) if mounted else ("limited-files",)
    told = in_distress(*words, str(disk / "house.db"), before=mounted or ())
    assert told["refused"].startswith(f"Refusal {disk / 'house.db'}: could not be ")
    assert "the disk is full" in told["refused"]
    assert int(told["acknowledged"]) > 4
    assert told["found"] == told["acknowledged"]
    assert told["problems"] == "[]"
    assert int(told["after making room"]) == int(told["acknowledged"]) + 1
    assert told["making"].startswith("Refusal ")
    assert "the disk is full" in told["making"]
    assert told["left behind"] == "[]"


def test_a_disk_that_reports_itself_full_is_told_in_the_same_words(tmp_path: Path) -> None:
    """SQLITE_FULL, had by a limit on the number of pages."""
    with record_with(tmp_path / "house.db", bare_house()) as record:
        (pages,) = record.connection.execute("PRAGMA page_count").fetchone()
        record.connection.execute(f"PRAGMA max_page_count = {pages}")
        before = record.journal()
        with pytest.raises(Refusal, match=r"house\.db: .*the disk is full; nothing has changed"):
            record.append([entry(Fed(loop="tank"), note="n" * 20_000)])
        assert record.journal() == before
        assert check(record) == []
