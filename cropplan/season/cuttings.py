"""How many cuttings to strike for the plants wanted.

Each cutting becomes a plant or not, alone and with the same chance, so the number that do follows
the binomial law. Source: any probability text; worked values are checked in
tests/published/test_season_cuttings.py.
"""

from __future__ import annotations

from functools import lru_cache
from math import comb

_BATCHES = 40  # Above this many plants the cuttings for each plant have long stopped rising.


def chance_of_enough(plants: int, *, struck: int, success: float) -> float:
    """Chance that at least `plants` of `struck` cuttings become plants. [1]

    success : chance that one cutting does. [1]
    """
    return sum(
        comb(struck, k) * success**k * (1.0 - success) ** (struck - k)
        for k in range(plants, struck + 1)
    )


@lru_cache(maxsize=4096)
def cuttings_for(plants: int, success: float, certainty: float) -> int:
    """Fewest cuttings that give at least `plants` plants with the wanted certainty.

    success : chance that one cutting becomes a plant, in (0, 1]. [1]
    certainty : wanted chance of enough plants, in (0, 1). [1]
    """
    struck = plants
    while chance_of_enough(plants, struck=struck, success=success) < certainty:
        struck += 1
    return struck


@lru_cache(maxsize=1024)
def reserve(success: float, certainty: float) -> float:
    """Cuttings to keep tray room and shoots for, for each plant wanted. [cutting per plant]

    The largest ratio of cuttings to plants over batches of every usual size, so that no batch, be
    it of one plant, ever needs more than was kept for it.
    """
    return max(cuttings_for(n, success, certainty) / n for n in range(1, _BATCHES + 1))


@lru_cache(maxsize=4096)
def expected_plants(plants: int, success: float, certainty: float) -> tuple[float, float]:
    """Mean and variance of the plants set out, when no more than `plants` are. [plant, plant²]

    Spare rooted cuttings are not set out, so the number is the binomial one cut off at `plants`.
    """
    struck = cuttings_for(plants, success, certainty)
    chances = [
        comb(struck, k) * success**k * (1.0 - success) ** (struck - k) for k in range(struck + 1)
    ]
    mean = sum(min(k, plants) * chance for k, chance in enumerate(chances))
    square = sum(min(k, plants) ** 2 * chance for k, chance in enumerate(chances))
    return mean, max(0.0, square - mean * mean)
