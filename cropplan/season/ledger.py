"""A running account of room, shoots and shortfall while a plan is being put together.

Plants go in and come out one at a time, thousands of times a second, so the tallies are plain lists
changed in place.
"""

from __future__ import annotations

from cropplan.season.cost import DEAD_COST, GLUT_COST, PLANT_COST, STRIKING_COST
from cropplan.season.demand import Origin, Season
from cropplan.season.draft import Draft
from cropplan.season.options import Cohort, Options
from cropplan.season.reach import generation_cap, mother_class, promised_cuttings

_ROUNDING = 1e-6


class Ledger:
    """What a plan in the making takes and still lacks; changed by `plant` and `end`.

    room : places still free, by kind and week.
    missing : amount still short, by goal and week; negative when there is more than wanted.
    shoots : cuttings still to be had, by mother pool and week.
    strikings : plants struck, by week.
    counts : plants of each cohort, then plants given to each ending.
    """

    __slots__ = (
        "_dirty", "_ending_pools", "_goal_cost", "_goals", "_made", "_pools",
        "alive", "counts", "gap", "kept_alive", "missing", "options", "room", "season", "shoots",
        "strikings",
    )  # fmt: skip

    def __init__(self, season: Season, options: Options) -> None:
        weeks = season.weeks
        self.season = season
        self.options = options
        self.room = {kind.kind: [float(n) for n in kind.capacity] for kind in season.kinds}
        self.gap = {kind.kind: kind.gap_weeks for kind in season.kinds}
        self.missing = [
            [goal.amount if goal.from_week <= w < goal.until_week else 0.0 for w in range(weeks)]
            for goal in season.goals
        ]
        self.shoots: dict[tuple[str, int | None], list[float]] = {}
        self.strikings = [0] * weeks
        self.counts = [0] * (len(options.cohorts) + len(options.endings))
        crops = {o.crop for o in season.options} | {p.crop for p in season.standing}
        self._goals = {crop: [season.goal_of(crop, w) for w in range(weeks)] for crop in crops}
        self.kept_alive = season.kept_alive()
        self.alive = {crop: [0] * weeks for crop in self.kept_alive}
        self._pools = [mother_class(c.crop, c.generation) for c in options.cohorts]
        limited = {crop: generation_cap(season, crop) is not None for crop in crops}
        self._ending_pools = [
            (planting.crop, planting.generation if limited[planting.crop] else None)
            for planting in season.standing
        ]
        self._goal_cost = [0.0] * len(season.goals)
        self._dirty = set(range(len(season.goals)))
        self._made = 0
        for (crop, generation, week), cuttings in promised_cuttings(season).items():
            self._pool((crop, generation))[week] -= cuttings

    def goals_of(self, crop: str) -> list[int | None]:
        """The goal a crop's pick serves, by week."""
        return self._goals[crop]

    def plant(self, index: int, plants: int) -> None:
        """Put in plants of a cohort, or take them out when `plants` is negative."""
        cohort = self.options.cohorts[index]
        weeks = self.season.weeks
        room = self.room[cohort.kind]
        for week in range(cohort.set_out, min(cohort.pulled + self.gap[cohort.kind], weeks)):
            room[week] -= plants
        kept = plants * cohort.cuttings
        if cohort.tray is not None:
            room = self.room[cohort.tray]
            for week in range(cohort.strike, cohort.set_out):
                room[week] -= kept
        self._credit(cohort.crop, cohort.first_pick, cohort.picks, plants)
        if cohort.origin is Origin.STRUCK:
            self._pool(self._pools[index])[cohort.strike] -= kept
        if cohort.shoots:
            shoots = self._pool((cohort.crop, cohort.generation))
            for week in range(cohort.fit_from, cohort.fit_until):
                shoots[week] += plants * cohort.shoots
        if cohort.crop in self.alive:
            alive = self.alive[cohort.crop]
            for week in range(cohort.strike, min(cohort.pulled, weeks)):
                alive[week] += plants
        self.strikings[cohort.strike] += plants
        self.counts[index] += plants
        self._made += plants

    def end(self, index: int, plants: int) -> None:
        """Give plants of a standing planting an ending, or take it back when negative."""
        ending = self.options.endings[index]
        planting = self.season.standing[ending.standing]
        weeks = self.season.weeks
        if ending.pulled > planting.set_out:
            room = self.room[planting.kind]
            until = min(ending.pulled + self.gap[planting.kind], weeks)
            for week in range(max(0, planting.set_out), until):
                room[week] -= plants
        if planting.tray is not None:
            share = plants * planting.tray_places / planting.count
            room = self.room[planting.tray]
            for week in range(max(0, planting.struck or 0), min(planting.set_out, weeks)):
                room[week] -= share
        pulled = min(ending.pulled, weeks)
        self._credit(planting.crop, 0, planting.picks[:pulled], plants)
        if planting.propagate and planting.shoots:
            shoots = self._pool(self._ending_pools[ending.standing])
            for week in range(max(0, planting.fit_from), min(pulled, planting.fit_until)):
                shoots[week] += plants * planting.shoots
        if planting.crop in self.alive:
            alive = self.alive[planting.crop]
            for week in range(max(0, planting.struck or 0), pulled):
                alive[week] += plants
        shares = plants if planting.splits else plants // planting.count
        self.counts[len(self.options.cohorts) + index] += shares

    def has_place(self, cohort: Cohort) -> bool:
        """Whether one more plant of the cohort finds a place for its whole stay."""
        room = self.room[cohort.kind]
        last = min(cohort.pulled + self.gap[cohort.kind], self.season.weeks)
        return all(room[week] >= 1.0 - _ROUNDING for week in range(cohort.set_out, last))

    def has_tray(self, cohort: Cohort) -> bool:
        """Whether there is tray room for one more plant of the cohort."""
        if cohort.tray is None:
            return True
        room, kept = self.room[cohort.tray], cohort.cuttings - _ROUNDING
        return all(room[week] >= kept for week in range(cohort.strike, cohort.set_out))

    def has_shoots(self, cohort: Cohort) -> bool:
        """Whether mothers give the cuttings for one more plant of the cohort."""
        if cohort.origin is Origin.SOWN:
            return True
        shoots = self.shoots.get(mother_class(cohort.crop, cohort.generation))
        return shoots is not None and shoots[cohort.strike] >= cohort.cuttings - _ROUNDING

    def overdrawn(self) -> bool:
        """Whether more cuttings are taken than mothers give, or a place kind is over-full."""
        return any(
            least < -_ROUNDING
            for rows in (self.shoots, self.room)
            for row in rows.values()
            for least in (min(row),)
        )

    def cost(self) -> float:
        """What the plan in the making costs."""
        for index in self._dirty:
            goal = self.season.goals[index]
            over = (self.season.glut_from - 1.0) * goal.amount
            short = glut = 0.0
            for week in range(goal.from_week, min(goal.until_week, self.season.weeks)):
                missing = self.missing[index][week]
                if missing > 0:
                    short += missing
                elif -missing > over:
                    glut -= missing + over
            self._goal_cost[index] = goal.weight * (short + GLUT_COST * glut)
        self._dirty.clear()
        return (
            sum(self._goal_cost)
            + PLANT_COST * self._made
            + STRIKING_COST * sum(1 for plants in self.strikings if plants)
            + DEAD_COST
            * sum(
                max(0, self.kept_alive[crop] - plants)
                for crop, row in self.alive.items()
                for plants in row
            )
        )

    def _pool(self, key: tuple[str, int | None]) -> list[float]:
        pool = self.shoots.get(key)
        if pool is None:
            pool = self.shoots[key] = [0.0] * self.season.weeks
        return pool

    def _credit(self, crop: str, first: int, picks: tuple[float, ...], plants: int) -> None:
        goals = self._goals[crop]
        for week, pick in enumerate(picks, first):
            goal = goals[week]
            if goal is not None and pick:
                self.missing[goal][week] -= plants * pick
                self._dirty.add(goal)


def ledger_of(season: Season, options: Options, draft: Draft) -> Ledger:
    """The account of a draft that was made from the options."""
    ledger = Ledger(season, options)
    cohorts = {
        (c.crop, c.origin, c.kind, c.tray, c.generation, c.strike, c.set_out, c.pulled): index
        for index, c in enumerate(options.cohorts)
    }
    for s in draft.strikes:
        key = (s.crop, s.origin, s.kind, s.tray, s.generation, s.strike, s.set_out, s.pulled)
        ledger.plant(cohorts[key], s.plants)
    endings = {
        (season.standing[ending.standing].tag, ending.pulled): index
        for index, ending in enumerate(options.endings)
    }
    for keep in draft.keeps:
        ledger.end(endings[keep.tag, keep.pulled], keep.plants)
    return ledger
