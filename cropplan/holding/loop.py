"""One body of water: tank, fish, solids filter and the places it feeds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import Enum


class LoopState(Enum):
    """Whether there are fish, and whether the filter has ripened."""

    STOCKED = "stocked"
    CYCLING = "cycling"
    FALLOW = "fallow"


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """One water loop.

    volume_l : water in the whole loop. [L]
    species : id of the fish in the catalogue.
    fish : number of fish. weight_g : mean weight of one fish. [g]
    feed_g : the daily ration as set by the grower. [g/day]
    last_fed : the last day a feed was written, `last_fed_by` by whom.
    fed_since_drain_g : feed written since the solids were last drained. [g]
    since : day it was put into the record, from which its duties count.
    """

    name: str
    house: str
    volume_l: float
    species: str
    state: LoopState = LoopState.STOCKED
    fish: int | None = None
    weight_g: float | None = None
    feed_g: float | None = None
    last_fed: date | None = None
    last_fed_by: str | None = None
    fed_since_drain_g: float = 0.0
    since: date | None = None
