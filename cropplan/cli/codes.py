"""Codes of places and tags as typed: `B1-B6,C1`, in whatever capitals wet fingers left them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from cropplan.problems import Misuse

#: More places than this in one word are a slip of the hand.
MOST_PLACES = 500

_RANGE = re.compile(r"([^\d,\s]*?)(\d{1,9})-([^\d,\s-]*)(\d{1,9})")
_CODE = re.compile(r"\w[\w.\-/]*")


def codes_from(text: str) -> list[str]:
    """The codes that a text means, in the order typed: `B1-B6,C1` or `B1-6`.

    Raises Misuse.
    """
    codes: list[str] = []
    for part in re.split(r"[,\s]+", text.strip()):
        if not part:
            raise Misuse(f"'{text}' is not read as places; write such as B1-B6,C1")
        codes += _span(part)
    if len(codes) > MOST_PLACES:
        raise Misuse(f"'{text}' means {len(codes)} places; at most {MOST_PLACES} at once")
    twice = {code for code in codes if codes.count(code) > 1}
    if twice:
        raise Misuse(f"'{text}' names {min(twice)} twice")
    return codes


def _span(part: str) -> list[str]:
    match = _RANGE.fullmatch(part)
    if match is None:
        if not _CODE.fullmatch(part):
            raise Misuse(f"'{part}' is no code of a place; use letters and figures, such as B3")
        return [part]
    letters, first, again, last = match.groups()
    if again and again.casefold() != letters.casefold():
        raise Misuse(f"'{part}' begins with {letters} and ends with {again}; write such as B1-B6")
    low, high = int(first), int(last)
    if high < low:
        raise Misuse(f"'{part}' runs backwards; write the lower number first, such as B1-B6")
    if high - low >= MOST_PLACES:
        raise Misuse(f"'{part}' means {high - low + 1} places; at most {MOST_PLACES} at once")
    digits = len(first) if first.startswith("0") else 0
    return [f"{letters}{n:0{digits}d}" for n in range(low, high + 1)]


def as_known(codes: Sequence[str], known: Iterable[str]) -> list[str]:
    """The codes in the capitals of those known, where only the capitals differ."""
    exact = set(known)
    folded = {code.casefold(): code for code in exact}
    return [code if code in exact else folded.get(code.casefold(), code) for code in codes]
