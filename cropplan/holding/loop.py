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


class FilterKind(Enum):
    """What keeps the solids back."""

    SWIRL = "swirl"
    RADIAL_FLOW = "radial-flow"
    CLARIFIER = "clarifier"
    SCREEN = "screen"


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """One water loop.

    volume_l : water in the whole loop. [L]
    species : id of the fish in the catalogue.
    fish : number of fish. weight_g : mean weight of one fish, as last weighed. [g]
    feed_g : the daily ration as set by the grower. [g/day]
    last_fed : the last day a feed was written, `last_fed_by` by whom.
    fed_since_drain_g : feed written since the solids were last drained. [g]
    since : day it was put into the record, from which its duties count.
    normal_feed_g : feed at which the usual drain interval is right; None for the ration. [g/day]
    filter_kind : what keeps the solids back. filter_holds_g : dry solids it may keep. [g]
    weighed_on : day of the last weighing. fed_since_weighing_g : feed written since. [g]
    fcr : feed for each unit of gain between the last two weighings. [g/g]
    treated_with : what the fish or the water were last treated with.
    no_eat_until, no_water_until : the first day on which what lives on this water may be eaten,
        and on which the water may be used, after that treatment.
    vessel_filled : day solids last went into the mineralising vessel.
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
    normal_feed_g: float | None = None
    filter_kind: FilterKind | None = None
    filter_holds_g: float | None = None
    weighed_on: date | None = None
    fed_since_weighing_g: float = 0.0
    fcr: float | None = None
    treated_with: str | None = None
    no_eat_until: date | None = None
    no_water_until: date | None = None
    vessel_filled: date | None = None
