"""Parts of a season worth planning anew while all else stays.

Three sorts of part: everything struck in a stretch of weeks, everything of a few crops, and what is
struck of some crops in a longer stretch. How wide each sort is, and how often it is tried, follows
from what it has brought so far.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from cropplan.season.demand import Season
from cropplan.season.options import Options

_SECONDS = 4.0  # Time for one part; a part that takes longer is too wide. [s]
_WIDER, _NARROWER = 1.25, 0.8


@dataclass(slots=True, kw_only=True)
class Sort:
    """One sort of part and what it has brought.

    weeks : length of its stretch. [week] crops : how many crops it takes; None for all.
    """

    name: str
    weeks: float
    crops: float | None
    gain: float = 0.0
    seconds: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One part to plan anew: its columns, and the time it is worth. [s]"""

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
        weeks = float(season.weeks)
        self._sorts = (
            Sort(name="weeks", weeks=min(14.0, weeks), crops=None),
            Sort(name="crops", weeks=2.0 * weeks, crops=2.0),
            Sort(name="some", weeks=min(36.0, weeks), crops=4.0),
        )

    def choose(self) -> Stretch:
        """The next part: mostly of the sort that has paid best for its time."""
        if self._chance.random() < 0.4:
            sort = self._chance.choice(self._sorts)
        else:
            sort = max(self._sorts, key=lambda each: each.gain / each.seconds)
        weeks = round(sort.weeks)
        first = self._chance.randint(-weeks // 2, max(0, self._season.weeks - weeks // 2))
        crops = set(self._crops)
        if sort.crops is not None:
            number = min(len(self._crops), max(1, round(sort.crops)))
            crops = set(self._chance.sample(self._crops, number))
        if weeks >= 2 * self._season.weeks:
            first, weeks = 0, self._season.weeks
        return Stretch(
            sort=sort, columns=self._columns(first, first + weeks, crops), seconds=_SECONDS
        )

    def learn(self, stretch: Stretch, *, gain: float, seconds: float, optimal: bool) -> None:
        """Take in what a part brought, and make its sort wider or narrower."""
        sort = stretch.sort
        sort.gain = 0.8 * sort.gain + gain
        sort.seconds = 0.8 * sort.seconds + max(seconds, 0.01)
        if optimal and seconds < 0.5 * stretch.seconds:
            change = _WIDER
        elif optimal:
            return
        else:
            change = _NARROWER
        if sort.crops is None or sort.name == "some":
            sort.weeks = min(max(4.0, sort.weeks * change), float(self._season.weeks))
        if sort.crops is not None:
            sort.crops = min(max(1.0, sort.crops * change), float(len(self._crops)))

    def _columns(self, first: int, until: int, crops: set[str]) -> list[int]:
        cohorts = self._options.cohorts
        columns = [
            index
            for index, cohort in enumerate(cohorts)
            if first <= cohort.strike < until and cohort.crop in crops
        ]
        standing = self._season.standing
        columns.extend(
            len(cohorts) + index
            for index, ending in enumerate(self._options.endings)
            if first - 16 <= ending.pulled
            and first < 16
            and standing[ending.standing].kind is not None
        )
        return columns
