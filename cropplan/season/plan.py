"""The season plan: what to strike when, what may be picked each week, and how good it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from functools import partial

from cropplan.problems import Refusal
from cropplan.season.cost import Cost
from cropplan.season.demand import Origin, Season
from cropplan.season.draft import Draft, Keep
from cropplan.season.forecast import WeekPick, forecast
from cropplan.season.mothers import Taken, cuttings_of, mothers_of
from cropplan.season.options import Options, options_of
from cropplan.season.plannable import refuse_unplannable
from cropplan.season.programme import solver_is_there
from cropplan.season.reasons import Thin, thin_weeks
from cropplan.season.search import Effort, Outcome, best_search, greedy_search
from cropplan.season.simulate import account


class Status(Enum):
    """How a plan was come by."""

    PROVEN = "proven best"
    BOUNDED = "best found, with a bound"
    GREEDY = "good, nothing proven"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStrike:
    """Cuttings to strike, or seeds to sow, and where they go.

    cuttings : to strike, so that `plants` root with the wanted certainty. [cutting]
    strike, set_out, first_pick, pulled : weeks of their life. [week]
    mothers : plants to take the cuttings from; an index stands for an earlier strike of the plan.
    """

    crop: str
    origin: Origin
    cuttings: int
    plants: int
    tray: str | None
    kind: str
    strike: int
    set_out: int
    first_pick: int
    pulled: int
    mothers: tuple[Taken, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPlan:
    """A plan for the season.

    draft : what was decided, for the checks and the layout of places.
    strikes : in the order of their weeks. early_pulls : standing plants pulled before their time.
    weeks : every goal's weeks. thin : weeks that miss their goal by a tenth or more, and why.
    cost : what the plan misses and takes. bound : no plan can cost less. [weighted unit]
    wanted : all that the goals ask for. [weighted unit]
    """

    draft: Draft
    strikes: tuple[PlannedStrike, ...]
    early_pulls: tuple[Keep, ...]
    weeks: tuple[WeekPick, ...]
    thin: tuple[Thin, ...]
    status: Status
    cost: Cost
    bound: float
    wanted: float

    @property
    def gap_of_cost(self) -> float:
        """How much of the cost, which is nearly all shortfall, may still be saved at most. [1]

        It grows without limit of meaning as the shortfall nears 0; then read `gap_of_wanted`.
        """
        return (self.cost.total - self.bound) / self.cost.total if self.cost.total > 0 else 0.0

    @property
    def gap_of_wanted(self) -> float:
        """How much of all that is wanted a better plan could add at most. [1]"""
        return (self.cost.total - self.bound) / self.wanted


Search = Callable[[Season, Options], Outcome]
"""A way to look for the best plan."""


def search_for(effort: Effort) -> Search:
    """The best search there is, for so much effort.

    Without the solver the greedy planner betters its plan for as long, and nothing is proven.
    """
    search = best_search if solver_is_there() else greedy_search
    return partial(search, effort=effort)


def plan_season(season: Season, search: Search) -> SeasonPlan:
    """The best plan that a search finds. Raises Refusal when none can be made, with the reason."""
    return plan_of(season, search(season, startable_options(season)))


def startable_options(season: Season) -> Options:
    """The options of a season that can be planned.

    Raises Refusal when the season cannot be planned, or when for none of its goals anything can be
    started or stands.
    """
    refuse_unplannable(season)
    options = options_of(season)
    begun = {cohort.crop for cohort in options.cohorts} | {p.crop for p in season.standing}
    served = [goal for goal in season.goals if not begun.isdisjoint(goal.crops)]
    if not served:
        goal = season.goals[0]
        raise Refusal(
            f"goal {goal.name}: no {' or '.join(goal.crops)} stands to take cuttings from in "
            "time, and none can be sown; bring some in first"
        )
    return options


def plan_of(season: Season, outcome: Outcome) -> SeasonPlan:
    """The plan that a search's outcome amounts to."""
    ordered = tuple(
        sorted(
            outcome.draft.strikes,
            key=lambda each: (each.strike, each.crop, each.pulled, each.kind),
        )
    )
    draft = Draft(strikes=ordered, keeps=outcome.draft.keeps)
    until = {planting.tag: planting.until for planting in season.standing}
    status = Status.PROVEN if outcome.proven else Status.BOUNDED
    return SeasonPlan(
        draft=draft,
        strikes=_strikes(season, draft),
        early_pulls=tuple(keep for keep in draft.keeps if keep.pulled < until[keep.tag]),
        weeks=forecast(season, draft),
        thin=thin_weeks(season, draft),
        status=status if outcome.bound > 0.0 or outcome.proven else Status.GREEDY,
        cost=account(season, draft).cost,
        bound=outcome.bound,
        wanted=season.wanted(),
    )


def _strikes(season: Season, draft: Draft) -> tuple[PlannedStrike, ...]:
    return tuple(
        PlannedStrike(
            crop=strike.crop,
            origin=strike.origin,
            cuttings=cuttings,
            plants=strike.plants,
            tray=strike.tray,
            kind=strike.kind,
            strike=strike.strike,
            set_out=strike.set_out,
            first_pick=strike.first_pick,
            pulled=strike.pulled,
            mothers=mothers,
        )
        for strike, cuttings, mothers in zip(
            draft.strikes, cuttings_of(season, draft), mothers_of(season, draft), strict=True
        )
    )
