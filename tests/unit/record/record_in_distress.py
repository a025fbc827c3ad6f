"""A program of its own, run by tests: what a record says on a disk that cannot be written.

Prints one JSON object: for each thing tried, the kind of error and its line.
"""

from __future__ import annotations

import difflib
import json
import os
import resource
import sys
from pathlib import Path

import sqlite_utils
from record_builders import bare_house, entry, struck

from cropplan.holding.entry import Fed
from cropplan.problems import CropplanError
from cropplan.record import in_place, undo
from cropplan.record.audit import check
from cropplan.record.store import open_record

# Loaded while this may still read every folder of the system.
LOADED = (difflib, sqlite_utils, in_place, undo)
NOBODY = 65534
ROOM = 500_000
NOTE = "frost in the night, fleece over the cuttings; " * 40


def read_only(path: Path) -> dict[str, str]:
    """Try to enter something, and to make a record beside."""
    if os.geteuid() == 0:
        os.setegid(NOBODY)
        os.seteuid(NOBODY)
    try:
        path.open("ab").close()
    except PermissionError:
        return {
            "entering": _told(lambda: open_record(path).append([struck("tom1")])),
            "making": _told(
                lambda: open_record(_beside(path), create=True).append([struck("tom1")])
            ),
        }
    raise SystemExit("the file can be written after all: this tests nothing")


def _beside(path: Path) -> Path:
    return path.with_name("second.db")


def full(path: Path, *, limited: bool) -> dict[str, str]:
    """Enter until it is refused; look what is there; make room; enter once more."""
    ballast = path.with_name("ballast")
    with open_record(path, create=True) as record:
        record.append(bare_house())
        acknowledged = record.revision
        if limited:
            soft = path.stat().st_size + 60_000
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, resource.RLIM_INFINITY))
        else:
            ballast.write_bytes(b"x" * 250_000)
        refused = ""
        while not refused and acknowledged < 2000:
            try:
                record.append([entry(Fed(loop="tank", grams=9.0), note=NOTE)])
                acknowledged += 1
            except CropplanError as error:
                refused = _line(error)
    if not limited:
        # Closing folds the log in and may give room back: fill that, too.
        _fill(path.with_name("ballast-2"))
    else:
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, resource.RLIM_INFINITY))
    there = set(path.parent.iterdir())
    making = _told(lambda: open_record(_beside(path), create=True))
    left_behind = sorted(file.name for file in set(path.parent.iterdir()) - there)
    if limited:
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    else:
        ballast.unlink()
    with open_record(path) as record:
        found = record.revision
        problems = [str(problem) for problem in check(record)]
        record.append([entry(Fed(loop="tank", grams=9.0))])
        after = record.revision
    return {
        "refused": refused,
        "acknowledged": str(acknowledged),
        "found": str(found),
        "problems": str(problems),
        "making": making,
        "left behind": str(left_behind),
        "after making room": str(after),
    }


def _fill(ballast: Path) -> None:
    with ballast.open("wb", buffering=0) as file:
        try:
            while file.write(b"x" * 4096):
                pass
        except OSError:
            return


def _told(act: object) -> str:
    try:
        act()  # type: ignore[operator]
    except CropplanError as error:
        return _line(error)
    return "done"


def _line(error: CropplanError) -> str:
    return f"{type(error).__name__} {error}"


if __name__ == "__main__":
    how, where = sys.argv[1], Path(sys.argv[2])
    told = read_only(where) if how == "read-only" else full(where, limited=how == "limited-files")
    print(json.dumps(told))
