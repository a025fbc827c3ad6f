"""Undoing: what may be undone, and what is held as if it had never been written."""

from __future__ import annotations

from collections.abc import Sequence

from cropplan.holding.entry import Entry, Voided
from cropplan.holding.holding import Holding
from cropplan.holding.replay import apply
from cropplan.problems import Refusal
from cropplan.record.acts import told


class Impossible(Refusal):
    """An entry cannot follow those before it; the text says why, `entry` which."""

    def __init__(self, entry: Entry, fault: Refusal) -> None:
        super().__init__(str(fault))
        self.entry = entry


def standing(entries: Sequence[Entry]) -> list[Entry]:
    """The entries that count: neither undone nor an undo."""
    undone = {entry.act.entry for entry in entries if isinstance(entry.act, Voided)}
    return [e for e in entries if e.id not in undone and not isinstance(e.act, Voided)]


def refuse_unless_undoable(earlier: Sequence[Entry], late: Sequence[Entry]) -> None:
    """Refuse an undo among `late` of an entry that is not there, is an undo, or is undone.

    earlier : the journal so far, in order. late : the entries about to be added to it.
    """
    by_id = {entry.id: entry for entry in earlier}
    undone_by = {e.act.entry: e.id for e in earlier if isinstance(e.act, Voided)}
    for entry in late:
        if isinstance(entry.act, Voided):
            number = entry.act.entry
            if number not in by_id:
                last = max(by_id, default=0)
                there = f"the last is {last}" if last else "the journal is empty"
                raise Refusal(f"there is no entry {number} to undo; {there}")
            if isinstance(by_id[number].act, Voided):
                raise Refusal(
                    f"entry {number} is itself an undo; write what it undid again instead"
                )
            if number in undone_by:
                raise Refusal(f"entry {number} was undone already, by entry {undone_by[number]}")
            undone_by[number] = entry.id
        by_id[entry.id] = entry


def fold(entries: Sequence[Entry]) -> Holding:
    """What entries that count add up to. Raises Impossible."""
    holding = Holding()
    for entry in entries:
        try:
            holding = apply(holding, entry)
        except Refusal as fault:
            raise Impossible(entry, fault) from fault
    return holding


def held_without(earlier: Sequence[Entry], late: Sequence[Entry]) -> Holding:
    """What is held after `late`, undos among them, is added to the journal `earlier`.

    Raises Refusal when an entry that stays cannot do without one that is undone, naming both.
    """
    undone = [entry.act.entry for entry in late if isinstance(entry.act, Voided)]
    new = {entry.id for entry in late}
    try:
        return fold(standing([*earlier, *late]))
    except Impossible as fault:
        entry = fault.entry
        blamed = max((number for number in undone if number < entry.id), default=None)
        if entry.id in new or blamed is None:
            raise
        raise Refusal(
            f"entry {blamed} cannot be undone: entry {entry.id} ({told(entry.act)}) "
            "builds on it; undo that first"
        ) from fault
