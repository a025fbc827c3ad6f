"""What the record has taught of a crop in this house, worked out when entries are written."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class StageLesson:
    """How long a stage takes here, as a ratio to the catalogue's figure in the same weather.

    key : the catalogue key of the stage. median : half are quicker. [-]
    below, above, df : the spread about it, as `growth.chance.Spread`. [-]
    weight : the records' share in the figure, 0 for the bare catalogue, towards 1. [-]
    finished, waiting : plantings heard that ended the stage, and that still wait.
    """

    crop: str
    key: str
    median: float
    below: float
    above: float
    df: float
    weight: float
    finished: int
    waiting: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RootingLesson:
    """How many of what was struck or sown came of it.

    key : the catalogue key of the success. rooted, failed : plants whose fate is known.
    """

    crop: str
    key: str
    rooted: int
    failed: int
