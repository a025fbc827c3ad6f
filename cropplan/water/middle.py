"""The middle of some amounts; the standard library's costs the morning list 10 ms to load."""

from __future__ import annotations

from collections.abc import Sequence


def median(amounts: Sequence[float]) -> float:
    """The middle amount, or the mean of the two in the middle.

    Raises IndexError when there are none.
    """
    listed = sorted(amounts)
    half = len(listed) // 2
    if len(listed) % 2:
        return listed[half]
    return (listed[half - 1] + listed[half]) / 2
