"""The manual's sessions: read from README.md, typed again, and written anew when words change.

A session is a fenced `console` block. Lines that begin with `$ cropplan` are typed, `# on DATE`
sets the day, everything else is what was printed. `python -m tests.story.manual` types all
sessions again and writes what they print into README.md.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

CHECKOUT = Path(__file__).resolve().parents[2]
README = CHECKOUT / "README.md"
sys.path.insert(0, str(Path(__file__).parent))

from at_the_terminal import Terminal  # noqa: E402

_BLOCK = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One command of a session, the day it was typed on, and what the manual says it prints."""

    day: date | None
    typed: str
    printed: str


def sessions(text: str) -> list[list[Step]]:
    """The sessions of a manual, in order."""
    return [list(_steps(block)) for block in _BLOCK.findall(text)]


def _steps(block: str) -> Iterator[Step]:
    day: date | None = None
    typed, printed = "", ""
    for line in block.splitlines(keepends=True):
        if line.startswith(("$ ", "# on ")):
            if typed:
                yield Step(day=day, typed=typed, printed=printed)
                typed, printed = "", ""
            if line.startswith("# on "):
                day = date.fromisoformat(line.split()[2])
            else:
                typed = line[2:].strip()
        else:
            printed += line
    if typed:
        yield Step(day=day, typed=typed, printed=printed)


def typed_again(steps: list[Step], folder: Path) -> Iterator[str]:
    """What each step prints when typed at one fresh record."""
    terminal = Terminal(record=folder / "house.db")
    for step in steps:
        terminal.day = step.day or terminal.day
        yield terminal.done(step.typed.removeprefix("cropplan ")).rstrip() + "\n"


def written_anew(text: str) -> str:
    """The manual with every session as it prints today."""

    def anew(found: re.Match[str]) -> str:
        lines, day = [], None
        steps = list(_steps(found[1]))
        with TemporaryDirectory() as folder:
            for step, printed in zip(steps, typed_again(steps, Path(folder)), strict=True):
                if step.day != day:
                    day = step.day
                    lines.append(f"# on {day}\n")
                lines.append(f"$ {step.typed}\n{printed}")
        return f"```console\n{''.join(lines)}```"

    return _BLOCK.sub(anew, text)


if __name__ == "__main__":
    os.environ["COLUMNS"] = "80"
    README.write_text(written_anew(README.read_text(encoding="utf-8")), encoding="utf-8")
