"""Parts of a season worth planning anew while all else stays.

Three sorts of part: everything struck in a stretch of weeks, everything of a few crops, and what is
struck of some crops in a longer stretch. Standing plantings that are still there when the part
begins, and that share its crops or places, may be pulled anew with it. How wide each sort is, and
how often it is tried, follows from what it has brought so far.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from cropplan.season.demand import Season
from cropplan.season.options import Options

_SECONDS = 4.0  # Time for one part; a part that takes longer is too wide. [s]
_WIDER, _NARROWER = 1.25, 0.8
_KEPT = 0.8  # Weight of what a sort brought before against what it brings now.
_ANY_SORT = 0.4  # How often any sort is tried, whether or not it has paid.


@dataclass(slots=True, kw_only=True)
class Sort:
    """One sort of part and what it has brought.

    weeks : length of its stretch; None for the whole horizon. [week]
    crops : how many crops it takes; None for all.
    gain, seconds : what it brought of late, and in what time.
    """

    weeks: float | None
    crops: float | None
    gain: float = 0.0
    seconds: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One part to plan anew: its columns in rising order, and the time it is worth. [s]"""

    sort: Sort
    columns: list[int]
    seconds: float


class Stretches:
    """Chooses the parts, one after the other, and learns which sorts pay."""

    def __init__(self, season: Season, options: Options, chance: Random) -> None:
        self._season = season
        self._options = options
        self._chance = chance
        self._crops = sorted({cohort.crop for cohort in options.cohorts})
        self._sorts = (
            Sort(weeks=14.0, crops=None),
            Sort(weeks=None, crops=2.0),
            Sort(weeks=36.0, crops=4.0),
        )

    def choose(self) -> Stretch:
        """The next part: mostly of the sort that has paid best for its time."""
        if self._chance.random() < _ANY_SORT:
            sort = self._chance.choice(self._sorts)
        else:
            sort = max(self._sorts, key=lambda each: each.gain / each.seconds)
        first, weeks = 0, self._season.weeks
        if sort.weeks is not None:
            weeks = round(sort.weeks)
            first = self._chance.randint(-weeks // 2, self._season.weeks - weeks // 2)
        crops = set(self._crops)
        if sort.crops is not None:
            number = min(len(self._crops), round(sort.crops))
            crops = set(self._chance.sample(self._crops, number))
        return Stretch(
            sort=sort, columns=self._columns(first, first + weeks, crops), seconds=_SECONDS
        )

    def learn(self, stretch: Stretch, *, gain: float, seconds: float, optimal: bool) -> None:
        """Take in what a part brought, and make its sort wider or narrower."""
        sort = stretch.sort
        sort.gain = _KEPT * sort.gain + gain
        sort.seconds = _KEPT * sort.seconds + max(seconds, 0.01)
        if optimal and seconds > 0.5 * stretch.seconds:
            return
        change = _WIDER if optimal else _NARROWER
        if sort.weeks is not None:
            sort.weeks = min(max(4.0, sort.weeks * change), 4.0 + self._season.weeks)
        if sort.crops is not None:
            sort.crops = min(max(1.0, sort.crops * change), float(len(self._crops)))

    def _columns(self, first: int, until: int, crops: set[str]) -> list[int]:
        cohorts = self._options.cohorts
        kinds = {kind for o in self._season.options if o.crop in crops for kind in o.kinds}
        columns = [
            index
            for index, cohort in enumerate(cohorts)
            if first <= cohort.strike < until and cohort.crop in crops
        ]
        for index, ending in enumerate(self._options.endings, len(cohorts)):
            planting = self._season.standing[ending.standing]
            if planting.until > first and (planting.crop in crops or planting.kind in kinds):
                columns.append(index)
        return columns
