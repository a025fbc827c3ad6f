"""Handles: the short names by which lines of the rounds are answered."""

from __future__ import annotations


def plain(handle: str) -> str:
    """A handle, code or name as compared: letters and figures only, capitals made small.

    Two that are alike in this count as one, for a grower types them from memory.
    """
    return "".join(letter for letter in handle.casefold() if letter.isalnum())
