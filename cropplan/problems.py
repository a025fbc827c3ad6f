"""What can go wrong, said in one line: one exception tree with exit codes, and faults as values.

Two kinds of fault are kept apart by whose they are. A `Refusal` means what was asked cannot be:
the command changes nothing and says why. `BadData` means something read from outside (a catalogue
file, a record, a temperature log) is wrong. While data are checked, faults are `Problem` values in
a list, so that the first bad line never hides the second.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class CropplanError(Exception):
    """Root of every error a person may see; its text is the one line shown."""

    exit_code = 1


class Refusal(CropplanError):
    """What was asked cannot be; nothing has changed."""


class Misuse(CropplanError):
    """The words of a command are wrong: an unreadable date, an unknown unit."""

    exit_code = 2


class BadData(CropplanError):
    """A file or record says something that cannot be read or believed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One fault found in data that came from outside.

    file : the file's name as the person knows it.
    line : line number counted from 1; None when the fault is the whole file's.
    message : what is wrong and what would be right, lower case, one line.
    """

    file: str
    line: int | None
    message: str

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{where}: {self.message}"


def did_you_mean(typed: str, known: Iterable[str]) -> str:
    """A suggestion for a mistyped word, ready to append to a message; empty when none is near."""
    from difflib import get_close_matches  # only where a word was mistyped

    by_folded = {name.casefold(): name for name in known}
    near = get_close_matches(typed.casefold(), by_folded, n=1, cutoff=0.6)
    return f"; did you mean '{by_folded[near[0]]}'?" if near else ""
