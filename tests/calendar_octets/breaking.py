"""How a fault is put into a clean file."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Broken:
    """One fault put into a clean file: the octets to find once, what stands there instead."""

    what: str
    old: bytes
    new: bytes
    section: str
    says: str


def broken(what: str, old: str, new: str, section: str, says: str) -> Broken:
    """A fault in a line of the sample; `\\n` stands for CRLF."""
    old, new = old.replace("\n", "\r\n"), new.replace("\n", "\r\n")
    return Broken(what, old.encode(), new.encode(), section, says)


def break_in(octets: bytes, case: Broken) -> bytes:
    """The file with that one fault in it; AssertionError when the place is not there."""
    assert case.old in octets, f"{case.what}: the sample has no {case.old!r}"
    # The last place, so that a fault in a line all events share lands in one event only.
    head, _, tail = octets.rpartition(case.old)
    return head + case.new + tail
