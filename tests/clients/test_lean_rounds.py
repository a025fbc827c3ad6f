"""The morning list starts quickly: nothing heavy is loaded on its way.

No times are asserted here; tests/benchmarks/rounds_start.py measures them.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parents[2]

#: What `rounds` must not load: calendars, mail and web, tables, numbers by the million, solvers,
#: pictures, TOML writing, SQLite's helper, and what only other commands use.
HEAVY = frozenset(
    {
        "icalendar",
        "sqlite_utils",
        "tabulate",
        "numpy",
        "scipy",
        "pandas",
        "matplotlib",
        "highspy",
        "tomlkit",
        "dateutil",
        "email",
        "http",
        "urllib.request",
        "platformdirs",
        "tempfile",
        "asyncio",
        "flask",
        "starlette",
        "statistics",
        "difflib",
    }
)

#: Nor what of ours serves other commands: dozens of dataclasses, each some 0.3 ms in the making.
OTHERS_ONLY = frozenset(
    {
        "cropplan.holding.entry",
        "cropplan.holding.water_acts",
        "cropplan.holding.replay",
        "cropplan.holding.notice",
        "cropplan.record.acts",
        "cropplan.season",
        "cropplan.serve",
        "cropplan.sync",
        "cropplan.ics",
        "cropplan.charts",
    }
)

HOUSE = """
import sys
from cropplan.cli.root import run

def typed(*words):
    code = run(["--record", sys.argv[1], *words])
    assert code == 0, words

typed("house", "new", "Quay House", "--at", "53.3,-6.2", "--zone", "Europe/Dublin")
typed("loop", "add", "main", "--volume", "1200L", "--fish", "carp", "--feed", "60g")
typed("place", "add", "B1-B3", "--kind", "bucket", "--medium", "perlite")
typed("bring-in", "tomato", "3", "--in", "B1-B3", "--stage", "fruiting", "--age-unknown")
"""

LOADED = """
import sys
from cropplan.cli.root import run

code = run(["--record", sys.argv[1], *sys.argv[2:]])
print(*sorted(sys.modules), file=sys.stderr)
sys.exit(code)
"""


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small house in a record."""
    path = tmp_path_factory.mktemp("house") / "house.db"
    in_python(HOUSE, str(path))
    return path


def in_python(code: str, *words: str) -> subprocess.CompletedProcess[str]:
    """Run code in a fresh interpreter."""
    env = {**os.environ, "PYTHONPATH": str(CHECKOUT), "COLUMNS": "80"}
    for name in ("COVERAGE_PROCESS_START", "COVERAGE_PROCESS_CONFIG", "CROPPLAN_RECORD"):
        env.pop(name, None)
    return subprocess.run(
        [sys.executable, "-c", code, *words],
        capture_output=True,
        text=True,
        env=env,
        check=True,
    )


def loaded_by(record: Path, *words: str) -> set[str]:
    """The modules that a command has loaded when it ends, after printing something."""
    ended = in_python(LOADED, str(record), *words)
    assert ended.stdout.strip(), words
    return set(ended.stderr.split())


@pytest.mark.parametrize("words", [("rounds",), ("rounds", "--json"), ("rounds", "--ahead", "30")])
def test_rounds_loads_nothing_heavy(record: Path, words: tuple[str, ...]) -> None:
    """Design §6: nothing heavy is imported on the path of the morning list."""
    loaded = loaded_by(record, *words)
    assert loaded & HEAVY == set()
    assert {"click", "sqlite3", "cropplan.schedule.rounds"} <= loaded


def test_looking_loads_no_acts_and_no_other_side_of_the_house(record: Path) -> None:
    """Acts are loaded where they are written or read back; `journal` does, so the names hold."""
    assert loaded_by(record, "rounds") & OTHERS_ONLY == set()
    assert {"cropplan.holding.entry", "cropplan.record.acts"} <= loaded_by(record, "journal")


def test_a_command_loads_its_own_file_and_no_other_family(record: Path) -> None:
    """Every sub-command is loaded when asked for: `rounds` knows nothing of crops or places."""
    loaded = loaded_by(record, "rounds")
    faces = {name.removeprefix("cropplan.cli.") for name in loaded if "cropplan.cli." in name}
    assert {"rounds", "rounds_text"} <= faces
    others = {
        "answers", "away", "begin", "bringing", "calendar", "crops", "demo", "duties", "house",
        "keeping", "loops", "newcomer", "places", "plantings", "upkeep",
    }  # fmt: skip
    assert faces & others == set()
    files = {file.stem for file in (CHECKOUT / "cropplan" / "cli").glob("*.py")}
    assert others <= files


def test_the_general_help_loads_no_command(record: Path) -> None:
    """`cropplan --help` lists the commands from a table, without the desk or the record."""
    loaded = loaded_by(record, "--help")
    assert loaded & (HEAVY | {"sqlite3", "cropplan.desk.desk", "cropplan.cli.rounds"}) == set()


def test_the_guard_would_see_a_heavy_module(record: Path) -> None:
    """The same look at a command that prints a table does find tabulate."""
    assert "tabulate" in loaded_by(record, "place", "list")
