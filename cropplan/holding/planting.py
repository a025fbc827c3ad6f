"""Plants of one crop, started together, standing in one place, and the stages they pass."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import Enum


class Origin(Enum):
    """How a planting began."""

    CUTTING = "cutting"
    RUNNER = "runner"
    DIVISION = "division"
    SLIP = "slip"
    LAYER = "layer"
    SEED = "seed"
    BOUGHT_IN = "bought-in"
    SPLIT = "split"


#: Origins that copy their parent; seed does not.
CLONAL = frozenset({Origin.CUTTING, Origin.RUNNER, Origin.DIVISION, Origin.SLIP, Origin.LAYER})


class Stage(Enum):
    """The stages of a planting, in the trade's words."""

    STRUCK = "struck"
    SOWN = "sown"
    BOUGHT_IN = "bought-in"
    ROOTED = "rooted"
    EMERGED = "emerged"
    SET_OUT = "set-out"
    FLOWERING = "flowering"
    FRUITING = "fruiting"
    PICKING = "picking"
    RESTING = "resting"
    SPENT = "spent"
    PULLED = "pulled"
    LOST = "lost"


#: Stages in which nothing is alive any more.
ENDED = frozenset({Stage.PULLED, Stage.LOST})
#: Stages in which a plant is still being raised, before it stands in its final place.
RAISING = frozenset({Stage.STRUCK, Stage.SOWN, Stage.BOUGHT_IN, Stage.ROOTED, Stage.EMERGED})
#: Stages seen plant by plant, so that the rest of a tray may still be waited for.
SPROUTED = frozenset({Stage.ROOTED, Stage.EMERGED})
#: Stages in which a crop is picked.
BEARING = frozenset({Stage.FRUITING, Stage.PICKING})

_STANDING = frozenset({Stage.FLOWERING, Stage.FRUITING, Stage.PICKING, Stage.RESTING, Stage.SPENT})

#: The order of life; a stage cannot have been seen before one that comes earlier here.
ORDER: Mapping[Stage, int] = {
    Stage.STRUCK: 0,
    Stage.SOWN: 0,
    Stage.BOUGHT_IN: 0,
    Stage.EMERGED: 1,
    Stage.ROOTED: 1,
    Stage.SET_OUT: 2,
    Stage.FLOWERING: 3,
    Stage.FRUITING: 4,
    Stage.PICKING: 4,
    Stage.SPENT: 5,
}

#: What may be seen next. Plants skip stages unobserved, so each may jump forward; only resting
#: and its neighbours go to and fro. `SET_OUT` is reached by the act of setting out, not by sight.
MAY_BECOME: Mapping[Stage, frozenset[Stage]] = {
    Stage.STRUCK: frozenset({Stage.ROOTED}) | _STANDING,
    Stage.SOWN: frozenset({Stage.EMERGED}) | _STANDING,
    Stage.BOUGHT_IN: frozenset({Stage.ROOTED}) | _STANDING,
    Stage.ROOTED: frozenset({Stage.ROOTED}) | _STANDING,
    Stage.EMERGED: frozenset({Stage.EMERGED, Stage.ROOTED}) | _STANDING,
    Stage.SET_OUT: frozenset({Stage.ROOTED}) | _STANDING,
    Stage.FLOWERING: _STANDING,
    Stage.FRUITING: _STANDING,
    Stage.PICKING: _STANDING,
    Stage.RESTING: _STANDING,
    Stage.SPENT: _STANDING,
    Stage.PULLED: frozenset(),
    Stage.LOST: frozenset(),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Planting:
    """One planting. Its plants always tally: begun = count + lost + left + split_off + pulled.

    tag : short name on the label, never reused ("tom7").
    origin : how this planting began. way : how its plants first began, which differs from the
        origin for a part split from a batch.
    crop : id in the catalogue. cultivar : None when not sure.
    parent : tag it was taken from; None when unknown or from seed.
    split_of : tag of the batch a part was taken from.
    clone : tag of the first plant of its clonal line; descent by cutting keeps it.
    generation : cuttings since that first plant, 0 for the plant itself.
    started : day it was struck, sown or brought in; None when not known.
    started_give : ± days when the day is approximate.
    count : plants alive in this place now. begun : plants it began with.
    rooted : how many of them are known to have rooted or emerged.
    lost : died or failed. left : given away or sold. split_off : set out or moved elsewhere.
    pulled : cleared at the end, or cut whole.
    since : day the present stage began; None when not known.
    seen : first day each stage was seen; stages of unknown date are absent.
    cuts : times picked. picked : amount picked, in the crop's unit.
    barred_why : reason not to take cuttings from it; None when it may be a mother.
    tagged_mother : chosen by the grower to take cuttings from.
    by_insects : insects do the pollinating now.
    """

    tag: str
    crop: str
    origin: Origin
    way: Origin
    place: str
    count: int
    begun: int
    stage: Stage
    clone: str
    cultivar: str | None = None
    parent: str | None = None
    split_of: str | None = None
    generation: int = 0
    started: date | None = None
    started_give: int = 0
    since: date | None = None
    seen: Mapping[Stage, date] = field(default_factory=dict)
    rooted: int = 0
    lost: int = 0
    left: int = 0
    split_off: int = 0
    pulled: int = 0
    cuts: int = 0
    picked: float = 0.0
    last_picked: date | None = None
    barred_why: str | None = None
    tagged_mother: bool = False
    by_insects: bool = False
    ended_on: date | None = None
    ended_why: str | None = None

    @property
    def alive(self) -> bool:
        """Whether any of its plants still stand."""
        return self.stage not in ENDED

    @property
    def tallies(self) -> bool:
        """Whether every plant it began with is accounted for."""
        accounts = (self.count, self.lost, self.left, self.split_off, self.pulled)
        return sum(accounts) == self.begun and min(accounts) >= 0
