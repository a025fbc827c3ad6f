"""Calendar readers that are not ours, made to say what a file holds.

No reader here is a whole judge: each forgives much. What they prove is that programs written by
others, in two languages, see the same work on the same days. A reader that is not installed fails
the test that needs it, with the line to type.

Two of them live outside the tests' own Python, and are found by environment variables:

CROPPLAN_NODE_MODULES : the node_modules folder that holds ical.js. When not given it is
    tests/clients/node_modules, where `npm install --prefix tests/clients --no-package-lock`
    puts it.
CROPPLAN_LIBICAL_PYTHON : a Python that can import gi and ICalGLib, such as Debian's
    /usr/bin/python3 after `apt-get install python3-gi gir1.2-ical-3.0`. That needs root, so
    libical joins the readers only where this is given.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType
from typing import Any

import pytest

HERE = Path(__file__).parent
ONE_DAY = timedelta(days=1)
LIBICAL_PYTHON = os.environ.get("CROPPLAN_LIBICAL_PYTHON", "")

Line = tuple[str, date, str]
"""What every reader must see of an event: its UID, its day, its summary."""


def assert_all_readers_agree(calendar: bytes | Path, expected: Sequence[Line]) -> None:
    """Every reader sees just these events, each a whole day long.

    calendar : the file's octets, or where it is.
    expected : (UID, day, summary) of each event, in any order.
    A backslash before the letter n in a summary is misread by `ics` and khal: leave it out.
    """
    octets = calendar if isinstance(calendar, bytes) else calendar.read_bytes()
    wanted = sorted(expected)
    for name, reader in READERS.items():
        seen = sorted(reader(octets))
        assert seen == wanted, f"{name} sees the calendar otherwise: {_differences(seen, wanted)}"


def icalendar_sees(octets: bytes) -> list[Line]:
    """The `icalendar` library, which notes what it could not read in each component's errors."""
    calendar = _library("icalendar").Calendar.from_ical(octets)
    for component in calendar.walk():
        assert component.errors == [], f"icalendar could not read {component.errors}"
    return [_as_line(event) for event in calendar.walk("VEVENT")]


def vobject_sees(octets: bytes) -> list[Line]:
    """The `vobject` library, which validates before it is asked."""
    calendar = _library("vobject").readOne(octets.decode())
    assert calendar.validate(raiseException=True)
    return [
        _whole_day(e.uid.value, e.dtstart.value, e.dtend.value, e.summary.value)
        for e in calendar.vevent_list
    ]


def ics_sees(octets: bytes) -> list[Line]:
    """The `ics` library, which has a grammar of its own and drops the file at the first fault."""
    events = _library("ics").Calendar(octets.decode()).events
    assert all(event.all_day for event in events), "ics sees an event that is not all day"
    return [_whole_day(e.uid, e.begin.date(), e.end.date(), e.name) for e in events]


def expansion_sees(octets: bytes) -> list[Line]:
    """`recurring-ical-events`: what falls on the days a calendar shows, repeats unrolled."""
    calendar = _library("icalendar").Calendar.from_ical(octets)
    days = [event["DTSTART"].dt for event in calendar.walk("VEVENT")]
    around = (min(days) - 400 * ONE_DAY, max(days) + 400 * ONE_DAY)
    return [_as_line(e) for e in _library("recurring_ical_events").of(calendar).between(*around)]


def khal_sees(octets: bytes) -> list[Line]:
    """khal, a calendar program: import into an empty calendar, then list."""
    with TemporaryDirectory() as folder:
        khal = Khal(Path(folder))
        khal.import_file(octets)
        return khal.lines()


def icaljs_sees(octets: bytes) -> list[Line]:
    """ical.js, a reader in another language, in its strict mode."""
    return [
        _whole_day(
            event["uid"],
            date.fromisoformat(event["start"]),
            date.fromisoformat(event["end"]),
            event["summary"],
        )
        for event in icaljs_events(octets)
    ]


def icaljs_events(octets: bytes) -> list[dict[str, Any]]:
    """Each event as ical.js gives it: uid, summary, description, start, end, allDay, categories."""
    node = shutil.which("node")
    if node is None:
        pytest.fail("node is missing: install Node.js 18 or later", pytrace=False)
    folder = Path(os.environ.get("CROPPLAN_NODE_MODULES", HERE / "node_modules"))
    if not (folder / "ical.js").is_dir():
        pytest.fail(
            f"ical.js is missing from {folder}: type 'npm install --prefix tests/clients"
            " --no-package-lock', or name its node_modules folder in CROPPLAN_NODE_MODULES",
            pytrace=False,
        )
    script = HERE / "read_with_icaljs.mjs"
    with _on_disk(octets) as file:
        told = json.loads(_run([node, str(script), str(folder), str(file)], os.environ.copy()))
    assert told["version"] == "2.0"
    events: list[dict[str, Any]] = told["events"]
    assert all(event["allDay"] for event in events), "ical.js sees an event that is not all day"
    return events


def libical_sees(octets: bytes) -> list[Line]:
    """libical, the C library behind many desktop calendars, and its check of each component."""
    script = HERE / "read_with_libical.py"
    with _on_disk(octets) as file:
        told = json.loads(_run([LIBICAL_PYTHON, str(script), str(file)], os.environ.copy()))
    assert (told["errors"], told["sound"]) == (0, True)
    return [
        _whole_day(
            event["uid"],
            date.fromisoformat(event["start"]),
            date.fromisoformat(event["end"]),
            event["summary"],
        )
        for event in told["events"]
    ]


class Khal:
    """khal with one empty calendar and nothing of the user's own, in a folder."""

    def __init__(self, folder: Path) -> None:
        installed = shutil.which("khal", path=str(Path(sys.executable).parent))
        if installed is None:
            pytest.fail(_install("khal"), pytrace=False)
        self._folder = folder
        (folder / "house").mkdir()
        settings = (HERE / "khal.conf").read_text().replace("FOLDER", str(folder))
        (folder / "khal.conf").write_text(settings)
        self._command = [installed, "-c", str(folder / "khal.conf")]
        self._span: tuple[date, date] = (date.max, date.min)

    def import_file(self, octets: bytes) -> None:
        """Take in a file as its user would; an event with a known UID is replaced."""
        file = self._folder / "calendar.ics"
        file.write_bytes(octets)
        days = [day for _, day, _ in icalendar_sees(octets)]
        self._span = (min(*days, self._span[0]), max(*days, self._span[1]))
        self._say("import", "--batch", "-a", "house", str(file))

    def lines(self) -> list[Line]:
        """Every event on every day so far imported."""
        first, last = (day.isoformat() for day in self._span)
        fields = ("uid", "title", "start-date", "end-date")
        asked = [word for field in fields for word in ("--json", field)]
        # khal answers a list a day. It names the last day itself, not the day after.
        answers = [json.loads(day) for day in self._say("list", *asked, first, last).splitlines()]
        return [
            _whole_day(
                event["uid"],
                date.fromisoformat(event["start-date"]),
                date.fromisoformat(event["end-date"]) + ONE_DAY,
                event["title"],
            )
            for day in answers
            for event in day
        ]

    def _say(self, *words: str) -> str:
        own = {"HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"}
        apart = dict.fromkeys(own, str(self._folder))
        surroundings = {**os.environ, **apart, "LC_ALL": "C.UTF-8", "PYTHONUTF8": "1"}
        return _run([*self._command, *words], surroundings)


READERS: dict[str, Callable[[bytes], list[Line]]] = {
    "icalendar": icalendar_sees,
    "vobject": vobject_sees,
    "ics": ics_sees,
    "recurring-ical-events": expansion_sees,
    "khal": khal_sees,
    "ical.js": icaljs_sees,
}
if LIBICAL_PYTHON:
    READERS["libical"] = libical_sees


def _as_line(event: Any) -> Line:
    return _whole_day(
        str(event["UID"]), event["DTSTART"].dt, event["DTEND"].dt, str(event["SUMMARY"])
    )


def _whole_day(uid: str, start: date, end: date, summary: str) -> Line:
    assert type(start) is date, f"{uid} starts at a time of day: {start!r}"
    assert end - start == ONE_DAY, f"{uid} lasts from {start} to {end}, not one day"
    return uid, start, summary


@contextmanager
def _on_disk(octets: bytes) -> Iterator[Path]:
    with TemporaryDirectory() as folder:
        file = Path(folder, "calendar.ics")
        file.write_bytes(octets)
        yield file


def _library(name: str) -> ModuleType:
    try:
        return import_module(name)
    except ModuleNotFoundError:
        pytest.fail(_install(name.replace("_", "-")), pytrace=False)


def _install(what: str) -> str:
    return f"{what} is missing: type '{sys.executable} -m pip install -e \".[test]\"'"


def _run(command: list[str], surroundings: dict[str, str]) -> str:
    done = subprocess.run(
        command, capture_output=True, text=True, encoding="utf-8", env=surroundings, check=False
    )
    assert done.returncode == 0, f"{command[0]} failed: {done.stderr.strip()[-500:]}"
    return done.stdout


def _differences(seen: list[Line], wanted: list[Line]) -> str:
    extra = [line for line in seen if line not in wanted]
    lacking = [line for line in wanted if line not in seen]
    return f"{len(extra)} it should not, first {extra[:3]}; {len(lacking)} lacking {lacking[:3]}"
