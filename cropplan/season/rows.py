"""The season as an integer programme: columns, rows and costs, in plain lists.

Columns, in this order: plants of each cohort, plants given to each ending of what stands, shortfall
and glut of each goal-week, plants bearing of each crop and week, plants too few of crops that must
not die out, one mark for each week with striking. Rows: places of each kind and week (trays among
them), goals from below and above, every standing plant ends once, mothers of each crop and week,
plants bearing, crops that must not die out, striking weeks.

Plants bearing follow from the cohorts and are there only for the solver to branch on: whether 2 or
3 bear in a week decides more than whether one cohort has 0 or 1. They are held to the places there
are, or the solver's presolve would put the cohorts back in their stead. Measured on 52 weeks and 30
places (seeds 0-2, tight 0.9 and 1.2; 20 processor seconds on two threads): gap of the shortfall
1.16 % in the mean without cuts and without these, 1.01 % with cuts, 0.94 % with both. On 104 weeks
they made the plan of divided plants slower (9.9 s, not 5.7) and its bound no better.

Places are counted by kind and not one by one: plantings are intervals, so counts that fit every
week can always be given real places (`places`), and the programme has thousands of whole numbers in
place of hundreds of thousands.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from math import floor, inf

from cropplan.season.cost import DEAD_COST, GLUT_COST, PLANT_COST, STRIKING_COST
from cropplan.season.demand import Origin, Season
from cropplan.season.options import Cohort, Ending, Options
from cropplan.season.reach import generation_cap, mother_class, promised_cuttings

_BEARING_UP_TO = 2000  # Cohorts; see above.

About = tuple[str | int | None, ...]
"""What a row is about: ("place", kind, week), ("goal" or "glut", goal, week), ("standing", index),
("mothers", crop, generation, week), ("struck", option, generation, week), ("bearing", crop, week),
("alive", crop, week) or ("striking", week)."""


@dataclass(slots=True)
class Programme:
    """Minimise cost·x, subject to row bounds and column bounds, some columns whole.

    cohorts, endings : how many of the first columns are cohorts, then endings.
    start, row, value : the matrix by columns; column j holds entries start[j] to start[j + 1].
    row_of : row number by what the row is about.
    """

    cohorts: int
    endings: int
    cost: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    start: list[int] = field(default_factory=lambda: [0])
    row: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)
    row_low: list[float] = field(default_factory=list)
    row_high: list[float] = field(default_factory=list)
    row_of: dict[About, int] = field(default_factory=dict)

    def add_row(self, about: About, low: float, high: float) -> None:
        """A new row that keeps its sum between `low` and `high`."""
        self.row_of[about] = len(self.row_low)
        self.row_low.append(low)
        self.row_high.append(high)

    def add_column(
        self, entries: dict[About, float], *, cost: float, high: float, whole: bool
    ) -> None:
        """A new column from 0 to `high`; entries about rows that do not exist are left out."""
        self.cost.append(cost)
        self.high.append(high)
        self.whole.append(whole)
        known = ((self.row_of.get(about), value) for about, value in entries.items())
        for index, value in known:
            if index is not None and value:
                self.row.append(index)
                self.value.append(value)
        self.start.append(len(self.row))


def programme_of(season: Season, options: Options) -> Programme:
    """The integer programme of a season; its optimum is the best plan."""
    programme = Programme(cohorts=len(options.cohorts), endings=len(options.endings))
    _rows(season, options, programme)
    rooms = {(kind.kind, w): room for kind in season.kinds for w, room in enumerate(kind.capacity)}
    for cohort in options.cohorts:
        entries = _cohort_entries(season, cohort)
        most = min(
            floor(rooms[about[1], about[2]] / value + 1e-9)  # type: ignore[index]
            for about, value in entries.items()
            if about[0] == "place"
        )
        programme.add_column(entries, cost=PLANT_COST, high=float(most), whole=True)
    for ending in options.endings:
        planting = season.standing[ending.standing]
        programme.add_column(
            _ending_entries(season, ending),
            cost=0.0,
            high=float(planting.count if planting.splits else 1),
            whole=True,
        )
    _measures(season, programme)
    return programme


def _rows(season: Season, options: Options, programme: Programme) -> None:
    for kind in season.kinds:
        for week, room in enumerate(kind.capacity):
            programme.add_row(("place", kind.kind, week), -inf, float(room))
    for index, goal in enumerate(season.goals):
        for week in range(goal.from_week, min(goal.until_week, season.weeks)):
            programme.add_row(("goal", index, week), goal.amount, inf)
            programme.add_row(("glut", index, week), -inf, season.glut_from * goal.amount)
    for index, planting in enumerate(season.standing):
        count = planting.count if planting.splits else 1
        programme.add_row(("standing", index), float(count), float(count))
    _mother_rows(season, options, programme)
    _bearing_rows(season, options, programme)
    for crop, plants in sorted(season.kept_alive().items()):
        for week in range(season.weeks):
            programme.add_row(("alive", crop, week), float(plants), inf)
    for week in sorted({cohort.strike for cohort in options.cohorts}):
        programme.add_row(("striking", week), -inf, 0.0)


def _bearing_rows(season: Season, options: Options, programme: Programme) -> None:
    if len(options.cohorts) > _BEARING_UP_TO:
        return
    for crop in sorted({cohort.crop for cohort in options.cohorts}):
        for week in range(season.weeks):
            if season.goal_of(crop, week) is not None:
                programme.add_row(("bearing", crop, week), 0.0, 0.0)


def _mother_rows(season: Season, options: Options, programme: Programme) -> None:
    taken = {
        (*mother_class(cohort.crop, cohort.generation), cohort.strike): 0.0
        for cohort in options.cohorts
        if cohort.origin is Origin.STRUCK
    }
    taken.update(promised_cuttings(season))
    for (crop, generation, week), promised in taken.items():
        programme.add_row(("mothers", crop, generation, week), -inf, -promised)
    for (index, generation), limited in options.reach.by_mothers.items():
        for week, most in enumerate(options.reach.most[index, generation]):
            if most and limited[week]:
                programme.add_row(("struck", index, generation, week), -inf, float(most))


def _cohort_entries(season: Season, cohort: Cohort) -> dict[About, float]:
    entries: dict[About, float] = defaultdict(float)
    gap = next(kind.gap_weeks for kind in season.kinds if kind.kind == cohort.kind)
    for week in range(cohort.set_out, min(cohort.pulled + gap, season.weeks)):
        entries["place", cohort.kind, week] += 1.0
    if cohort.tray is not None:
        for week in range(cohort.strike, cohort.set_out):
            entries["place", cohort.tray, week] += cohort.cuttings
    for week, pick in enumerate(cohort.picks, cohort.first_pick):
        goal = season.goal_of(cohort.crop, week)
        entries["goal", goal, week] += pick
        entries["glut", goal, week] += pick
        entries["bearing", cohort.crop, week] += 1.0 if pick else 0.0
    if cohort.origin is Origin.STRUCK:
        pool = mother_class(cohort.crop, cohort.generation)
        entries["mothers", *pool, cohort.strike] += cohort.cuttings
        entries["struck", cohort.option, cohort.generation, cohort.strike] = 1.0
    for week in range(cohort.fit_from, cohort.fit_until):
        entries["mothers", cohort.crop, cohort.generation, week] -= cohort.shoots
    for week in range(cohort.strike, min(cohort.pulled, season.weeks)):
        entries["alive", cohort.crop, week] += 1.0
    entries["striking", cohort.strike] += 1.0
    return entries


def _ending_entries(season: Season, ending: Ending) -> dict[About, float]:
    planting = season.standing[ending.standing]
    plants = 1.0 if planting.splits else float(planting.count)
    pulled = min(ending.pulled, season.weeks)
    entries: dict[About, float] = defaultdict(float)
    entries["standing", ending.standing] = 1.0
    gap = next(kind.gap_weeks for kind in season.kinds if kind.kind == planting.kind)
    if ending.pulled > planting.set_out:
        for week in range(max(0, planting.set_out), min(ending.pulled + gap, season.weeks)):
            entries["place", planting.kind, week] += plants
    if planting.tray is not None:
        share = plants * planting.tray_places / planting.count
        for week in range(max(0, planting.struck or 0), min(planting.set_out, season.weeks)):
            entries["place", planting.tray, week] += share
    for week in range(min(pulled, len(planting.picks))):
        goal = season.goal_of(planting.crop, week)
        entries["goal", goal, week] += plants * planting.picks[week]
        entries["glut", goal, week] += plants * planting.picks[week]
        if planting.picks[week] and week >= planting.set_out:
            entries["bearing", planting.crop, week] += plants
    if planting.propagate:
        generation = (
            planting.generation if generation_cap(season, planting.crop) is not None else None
        )
        for week in range(max(0, planting.fit_from), min(pulled, planting.fit_until)):
            entries["mothers", planting.crop, generation, week] -= plants * planting.shoots
    for week in range(max(0, planting.struck or 0), pulled):
        entries["alive", planting.crop, week] += plants
    return entries


def _measures(season: Season, programme: Programme) -> None:
    for index, goal in enumerate(season.goals):
        for week in range(goal.from_week, min(goal.until_week, season.weeks)):
            programme.add_column(
                {("goal", index, week): 1.0}, cost=goal.weight, high=goal.amount, whole=False
            )
            programme.add_column(
                {("glut", index, week): -1.0}, cost=GLUT_COST * goal.weight, high=inf, whole=False
            )
    room = sum(max(kind.capacity) for kind in season.kinds)
    places = _places_by_crop(season)
    for about in list(programme.row_of):
        if about[0] == "alive":
            least = programme.row_low[programme.row_of[about]]
            programme.add_column({about: 1.0}, cost=DEAD_COST, high=least, whole=False)
        elif about[0] == "bearing":
            programme.add_column({about: -1.0}, cost=0.0, high=float(places[about[1]]), whole=True)
        elif about[0] == "striking":
            programme.add_column({about: -float(room)}, cost=STRIKING_COST, high=1.0, whole=True)


def _places_by_crop(season: Season) -> dict[str | int | None, int]:
    """How many places there are that plants of a crop could stand in."""
    kinds: dict[str | int | None, set[str]] = defaultdict(set)
    for option in season.options:
        kinds[option.crop].update(option.kinds)
    for planting in season.standing:
        kinds[planting.crop].add(planting.kind)
    capacity = {kind.kind: max(kind.capacity) for kind in season.kinds}
    return {crop: sum(capacity[kind] for kind in held) for crop, held in kinds.items()}
