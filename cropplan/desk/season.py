"""The season plan: a proposal that meets the goals as nearly as can be, and its acceptance."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from time import monotonic

from cropplan.catalogue.read import read_catalogue
from cropplan.desk import proposal
from cropplan.desk.desk import Desk, Outcome, day_done, numbers, scene_on, today_in, write
from cropplan.desk.desk import first_house as house_of
from cropplan.desk.yields import attained
from cropplan.holding.holding import Holding
from cropplan.holding.season import Goal, SeasonAccepted, SeasonPlan
from cropplan.problems import Misuse, Refusal
from cropplan.schedule.plan_ahead import PlanWeek, ToBuy, plan_weeks, to_buy
from cropplan.schedule.planned import open_strikes
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text
from cropplan.season.differences import Change, differences
from cropplan.season.house import season_of
from cropplan.season.in_days import plan_in_days
from cropplan.season.plan import Search, plan_season, search_for
from cropplan.season.reasons import Thin
from cropplan.season.search import Effort, Progress

#: A plan reaches a year ahead unless it is asked to reach further.
WEEKS = 52
#: After so long too much may have changed to put a proposal in force. [d]
STALE = timedelta(days=14)


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A plan as proposed, and how good it is.

    status : how it was come by. gap : share of what is wanted that a better plan could add at
        most. bound, shortfall : as shares of what is wanted.
    thin : weeks that miss their goal, and why.
    units : of each crop's harvest. changed : what differs from the plan in force.
    apart : crops that stand without a goal; the plan leaves their places to them.
    """

    plan: SeasonPlan
    status: str
    gap: float
    bound: float
    shortfall: float
    thin: tuple[Thin, ...]
    monday: date
    units: Mapping[str, str]
    changed: tuple[Change, ...]
    apart: tuple[str, ...]


def propose(
    desk: Desk,
    *,
    weeks: int = WEEKS,
    seconds: float = 20.0,
    progress: Callable[[Progress], None] = lambda _: None,
    stop: Callable[[], bool] = lambda: False,
    search: Search | None = None,
) -> Proposal:
    """Plan the season from today, and keep the proposal beside the record until it is accepted.

    search : how; the best there is for so many seconds when None.
    Raises Refusal when no plan can be made, with the reason; nothing is then kept.
    """
    if not 4 <= weeks <= 156:
        raise Misuse(f"a plan reaches 4 to 156 weeks, got {weeks}")
    holding = desk.record.snapshot(living_only=True)
    today = today_in(desk, house_of(holding))
    scene = scene_on(desk, holding, today)
    aims = _aims(holding, today, weeks)
    own = attained(desk, [goal.crop for goal in aims], today)
    told = season_of(scene, aims, weeks, own)
    effort = Effort(seconds=seconds, clock=monotonic, stop=stop, progress=progress)
    planned = plan_season(told.season, search or search_for(effort))
    plan = plan_in_days(scene, told, planned)
    made = Proposal(
        plan=plan,
        status=planned.status.value,
        gap=planned.gap_of_wanted,
        bound=planned.bound / planned.wanted,
        shortfall=planned.cost.shortfall / planned.wanted,
        thin=planned.thin,
        monday=told.monday,
        units={goal.crop: scene.catalogue.crops[goal.crop].pick_unit for goal in aims},
        changed=_changed(scene, plan),
        apart=tuple(sorted({p.crop for p in holding.plantings.values()} - told.aimed)),
    )
    proposal.keep(desk, plan)
    return made


def _changed(scene: Scene, plan: SeasonPlan) -> tuple[Change, ...]:
    """What a plan changes of the one in force; nothing where none is."""
    if scene.holding.plan is None:
        return ()
    return differences([strike for strike, _ in open_strikes(scene)], plan, scene.today)


def accept(desk: Desk) -> Outcome:
    """Put the proposal in force: its strikes go into the rounds and the calendar."""
    plan = proposal.kept(desk)
    holding = desk.record.snapshot(living_only=True)
    today = day_done(desk, holding, None)
    if plan.made < today - STALE:
        raise Refusal(
            f"the proposal is of {plan.made}, and much may have changed; "
            "make a new one with 'cropplan season plan'"
        )
    _, entries = write(desk, today, [SeasonAccepted(plan=plan)])
    proposal.proposal_of(desk.record.path).unlink(missing_ok=True)
    strikes = len(plan.strikes)
    return Outcome(
        said=(
            f"in force until {day_text(plan.until, today)}: {strikes} strikes and sowings, "
            f"the first on {day_text(plan.strikes[0].on, today)}"
            if strikes
            else f"in force until {day_text(plan.until, today)}: nothing new to begin",
        ),
        entries=numbers(entries),
    )


def plan_in_force(desk: Desk) -> tuple[SeasonPlan, Mapping[str, str], bool]:
    """The plan in force, or the proposal where none is, with the units of its crops.

    The last value is whether it is in force. Raises Refusal when there is neither.
    """
    plan = desk.record.snapshot(living_only=True).plan
    in_force = plan is not None
    if plan is None:
        plan = proposal.kept(desk)
    crops = read_catalogue({week.crop for week in plan.weeks}, desk.own_figures).crops
    return plan, {crop.id: crop.pick_unit for crop in crops.values()}, in_force


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAhead:
    """What a plan asks for: work and feed by week, and what to buy by when."""

    weeks: tuple[PlanWeek, ...]
    buy: tuple[ToBuy, ...]


def ahead(desk: Desk, plan: SeasonPlan, on: date | None = None) -> PlanAhead:
    """What a plan, in force or proposed, asks for from a day on."""
    holding = desk.record.snapshot(living_only=True)
    today = on or today_in(desk, house_of(holding))
    scene = scene_on(desk, replace(holding, plan=plan), today)
    weeks = tuple(plan_weeks(scene))
    return PlanAhead(weeks=weeks, buy=tuple(to_buy(scene, weeks)))


def _aims(holding: Holding, today: date, weeks: int) -> list[Goal]:
    """The goals that a plan of so many weeks is for. Raises Refusal when there is none."""
    aims = [goal for goal in holding.goals.values() if goal.last >= today]
    if not aims:
        raise Refusal(
            "no goal is set for days to come; say how much is wanted, such as "
            "'cropplan goal set tomato 2kg --from 2027-04-01 --to 2027-10-31'"
        )
    aims = [goal for goal in aims if goal.first < today + timedelta(weeks=weeks)]
    if not aims:
        raise Refusal(f"no goal begins within the {weeks} weeks planned; plan further ahead")
    return aims
