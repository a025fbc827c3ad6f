"""Acts on fish and water besides feeding, draining and testing, and what a house went without."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cropplan.holding.house import Failing


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """Some fish of a loop were weighed.

    count : how many were weighed. mean_g : their mean weight. [g]
    """

    loop: str
    count: int
    mean_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ToppedUp:
    """Water was added to a loop. [L]"""

    loop: str
    litres: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Treated:
    """The fish or the water of a loop were treated.

    no_eat_until, no_water_until : the first days on which what lives on the water may be eaten,
        and the water used; None where that was not said.
    """

    loop: str
    what: str
    no_eat_until: date | None = None
    no_water_until: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WentWithout:
    """The power or the heat of a house failed."""

    house: str
    what: Failing
