"""What a refusal looks like at the terminal, and a house in which there is much to refuse."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from at_the_terminal import Said, Terminal, small_house

TODAY = date(2026, 3, 20)


def lived_in_house(record: Path) -> Terminal:
    """A small house with an old tomato, cuttings of it in a tray, and one that was pulled."""
    terminal = Terminal(record=record, day=date(2026, 3, 2))
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
