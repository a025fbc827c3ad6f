"""How long `cropplan rounds` takes from the keypress, against a floor measured in the same run.

The floor is `python -c "import click, sqlite_utils, tabulate"` in the same environment; runs are
paired, one after the other, so that a busy machine slows both. Run it with

    python tests/benchmarks/rounds_start.py

The list is started as the installed `cropplan` starts it. It prints medians and the median ratio
of the pairs. Wanted: at most 1.0 on the example house. sqlite_utils imports numpy and pandas where
they are installed, which lifts the floor; the last line says whether they are, so that a ratio is
not taken for better than it is.
"""

from __future__ import annotations

import compileall
import importlib.util
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from cropplan.desk.example import build_example

PAIRS = 9
CHECKOUT = Path(__file__).resolve().parents[2]
FLOOR = [sys.executable, "-c", "import click, sqlite_utils, tabulate"]


def timed(words: list[str]) -> float:
    """Seconds that a process takes from start to end."""
    env = {**os.environ, "PYTHONPATH": str(CHECKOUT), "COLUMNS": "80"}
    begun = time.perf_counter()
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL, env=env)
    return time.perf_counter() - begun


def main() -> None:
    """Measure and print."""
    # Installed packages come with bytecode; a checkout gets it at the first run that may write.
    compileall.compile_dir(str(CHECKOUT / "cropplan"), quiet=1)
    with tempfile.TemporaryDirectory() as folder:
        example = build_example(Path(folder) / "example")
        rounds = [
            *(sys.executable, "-c", "from cropplan.__main__ import main; main()"),
            *("--record", str(example.record), "rounds", "--on", example.on.isoformat()),
        ]
        bare = [sys.executable, "-c", "pass"]
        for words in (bare, FLOOR, rounds):
            timed(words)
        pairs = [(timed(FLOOR), timed(rounds)) for _ in range(PAIRS)]
        nothing = statistics.median(timed(bare) for _ in range(PAIRS))
    floor = statistics.median(pair[0] for pair in pairs)
    own = statistics.median(pair[1] for pair in pairs)
    ratio = statistics.median(own / floor for floor, own in pairs)
    print(f"bare interpreter                          {nothing * 1000:6.0f} ms")
    print(f"floor: click, sqlite_utils, tabulate      {floor * 1000:6.0f} ms")
    print(f"cropplan rounds on the example house      {own * 1000:6.0f} ms")
    print(f"ratio, median of {PAIRS} pairs                  {ratio:6.2f}  (wanted: at most 1.00)")
    there = [name for name in ("numpy", "pandas") if importlib.util.find_spec(name)]
    print(f"sqlite_utils also loads here: {', '.join(there) or 'neither numpy nor pandas'}")


if __name__ == "__main__":
    main()
