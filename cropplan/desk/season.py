"""The season plan: goals, a proposal that meets them as nearly as can be, and its acceptance."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from time import monotonic

from cropplan.catalogue.read import find_crop, read_catalogue
from cropplan.desk.desk import Desk, Outcome, day_done, numbers, scene_on, today_in, write
from cropplan.desk.desk import first_house as house_of
from cropplan.holding.holding import Holding
from cropplan.holding.planting import ENDED, Origin
from cropplan.holding.season import (
    Goal,
    GoalDropped,
    GoalSet,
    PlannedEnd,
    PlannedStrike,
    PlannedWeek,
    SeasonAccepted,
    SeasonPlan,
)
from cropplan.problems import BadData, Misuse, Refusal
from cropplan.schedule.relay import usual_way
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text
from cropplan.season.house import Told, season_of
from cropplan.season.places import Berth, Place, lay_out
from cropplan.season.plan import SeasonPlan as Planned
from cropplan.season.plan import plan_season
from cropplan.season.reasons import Thin
from cropplan.season.search import Effort, Progress

#: A plan reaches a year ahead unless it is asked to reach further.
WEEKS = 52
#: A strike of the new plan so near to one of the old is the same one, and keeps its number. [d]
_SAME = timedelta(days=21)


def set_goal(
    desk: Desk, crop_text: str, amount: float, *, first: date, last: date, priority: int = 1
) -> Outcome:
    """Say how much of a crop is wanted each week; it takes the place of the crop's goal before."""
    holding = desk.record.snapshot(living_only=True)
    today = day_done(desk, holding, None)
    crop = read_catalogue([find_crop(crop_text)], desk.own_figures).crops[find_crop(crop_text)]
    if last < today:
        raise Refusal(f"a goal until {last} lies in the past (today is {today})")
    goal = Goal(crop=crop.id, amount=amount, first=first, last=last, priority=priority)
    _, entries = write(desk, today, [GoalSet(goal=goal)])
    line = (
        f"{crop.id}: {amount:g} {crop.pick_unit} a week, "
        f"{day_text(first, today)} to {day_text(last, today)}"
    )
    return Outcome(said=(line,), entries=numbers(entries))


def drop_goal(desk: Desk, crop_text: str) -> Outcome:
    """Aim at a crop no longer."""
    crop = find_crop(crop_text)
    today = day_done(desk, desk.record.snapshot(living_only=True), None)
    _, entries = write(desk, today, [GoalDropped(crop=crop)])
    return Outcome(said=(f"{crop}: no longer aimed at",), entries=numbers(entries))


@dataclass(frozen=True, slots=True, kw_only=True)
class GoalRow:
    """A goal with the unit its amount is in."""

    goal: Goal
    unit: str


def goals(desk: Desk) -> list[GoalRow]:
    """What is wanted each week, the most pressing first."""
    held = desk.record.snapshot(living_only=True).goals
    crops = read_catalogue(held, desk.own_figures).crops
    ordered = sorted(held.values(), key=lambda goal: (goal.priority, goal.crop))
    return [GoalRow(goal=goal, unit=crops[goal.crop].pick_unit) for goal in ordered]


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A plan as proposed, and how good it is.

    status : how it was come by. gap : share of what is wanted that a better plan could add at
        most. bound, shortfall : as shares of what is wanted.
    thin : weeks that miss their goal, and why.
    units : of each crop's harvest. changed : what differs from the plan in force, in words.
    """

    plan: SeasonPlan
    status: str
    gap: float
    bound: float
    shortfall: float
    thin: tuple[Thin, ...]
    monday: date
    units: Mapping[str, str]
    changed: tuple[str, ...]


def propose(
    desk: Desk,
    *,
    weeks: int = WEEKS,
    seconds: float = 20.0,
    progress: Callable[[Progress], None] = lambda _: None,
    stop: Callable[[], bool] = lambda: False,
) -> Proposal:
    """Plan the season from today, and keep the proposal beside the record until it is accepted.

    Raises Refusal when no plan can be made, with the reason; nothing is then kept.
    """
    if not 4 <= weeks <= 156:
        raise Misuse(f"a plan reaches 4 to 156 weeks, got {weeks}")
    holding = desk.record.snapshot(living_only=True)
    today = today_in(desk, house_of(holding))
    scene = scene_on(desk, holding, today)
    aims = [goal for goal in holding.goals.values() if goal.last >= today]
    if not aims:
        raise Refusal(
            "no goal is set for days to come; say how much is wanted, such as "
            "'cropplan goal set tomato 2kg --from 2027-04-01 --to 2027-10-31'"
        )
    until = scene.today + timedelta(weeks=weeks)
    aims = [goal for goal in aims if goal.first < until]
    if not aims:
        raise Refusal(f"no goal begins within the {weeks} weeks planned; plan further ahead")
    told = season_of(scene, aims, weeks)
    effort = Effort(seconds=seconds, clock=monotonic, stop=stop, progress=progress)
    with _without_banner():
        planned = plan_season(told.season, effort)
    plan = _as_held(scene, told, planned, weeks)
    proposal = Proposal(
        plan=plan,
        status=planned.status.value,
        gap=planned.gap_of_wanted,
        bound=planned.bound / planned.wanted,
        shortfall=planned.cost.shortfall / planned.wanted,
        thin=planned.thin,
        monday=told.monday,
        units={goal.crop: scene.catalogue.crops[goal.crop].pick_unit for goal in aims},
        changed=_differences(holding.plan, plan, today),
    )
    _keep(desk, plan)
    return proposal


def accept(desk: Desk) -> Outcome:
    """Put the proposal in force: its strikes go into the rounds and the calendar."""
    plan = _kept(desk)
    holding = desk.record.snapshot(living_only=True)
    today = day_done(desk, holding, None)
    if plan.made < today - timedelta(days=14):
        raise Refusal(
            f"the proposal is of {plan.made}, and much may have changed; "
            "make a new one with 'cropplan season plan'"
        )
    _, entries = write(desk, today, [SeasonAccepted(plan=plan)])
    proposal_of(desk.record.path).unlink(missing_ok=True)
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
        plan = _kept(desk)
    crops = read_catalogue({week.crop for week in plan.weeks}, desk.own_figures).crops
    return plan, {crop.id: crop.pick_unit for crop in crops.values()}, in_force


@contextmanager
def _without_banner() -> Iterator[None]:
    """Keeps standard output clean while the solver runs.

    HiGHS 1.16 prints its name and licence on the process's own standard output on its first run,
    whatever its options say, and a program that reads our JSON would choke on it.
    """
    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _as_held(scene: Scene, told: Told, planned: Planned, weeks: int) -> SeasonPlan:
    """The planner's weeks as days, its counts as places and tags, its strikes with numbers."""
    holding = scene.holding
    berths = lay_out(
        told.season,
        planned.draft,
        _places(scene),
        {crop.id: crop.family for crop in scene.catalogue.crops.values()},
        {
            p.tag: [p.place] * p.count
            for p in holding.plantings.values()
            if p.alive and holding.places[p.place].kind.value == _kind_of(told, p.tag)
        },
    )
    old = holding.plan
    numbered = _Numbers(old)
    strikes = []
    for index, strike in enumerate(planned.strikes):
        way = usual_way(scene.catalogue.crops[strike.crop])
        way = Origin.SEED if strike.origin.value == "sown" else way
        on = max(scene.today, told.day(strike.strike))
        strikes.append(
            PlannedStrike(
                number=numbered.of(strike.crop, way, on),
                crop=strike.crop,
                way=way,
                on=on,
                count=strike.cuttings,
                plants=strike.plants,
                mothers=tuple(
                    taken.mother for taken in strike.mothers if isinstance(taken.mother, str)
                ),
                place=_tray(holding),
                places=_codes(berths, index),
                set_out=told.day(strike.set_out),
                first_pick=told.day(strike.first_pick),
                last_pick=told.day(strike.pulled) - timedelta(days=1),
            )
        )
    return SeasonPlan(
        made=scene.today,
        until=told.day(weeks) - timedelta(days=1),
        last_number=numbered.last,
        strikes=tuple(strikes),
        ends=tuple(
            PlannedEnd(tag=keep.tag, on=max(scene.today, told.day(keep.pulled)))
            for keep in planned.early_pulls
        ),
        weeks=tuple(
            PlannedWeek(
                week=told.day(week.week),
                crop=week.goal,
                goal=week.wanted,
                expected=week.expected,
                low=week.low,
                high=week.high,
            )
            for week in planned.weeks
        ),
    )


class _Numbers:
    """Numbers for strikes: those of the plan before where they are the same, new ones after."""

    def __init__(self, old: SeasonPlan | None) -> None:
        self._free = list(old.strikes) if old else []
        self.last = old.last_number if old else 0

    def of(self, crop: str, way: Origin, on: date) -> int:
        """The number of a strike."""
        for strike in self._free:
            if (strike.crop, strike.way) == (crop, way) and abs(strike.on - on) <= _SAME:
                self._free.remove(strike)
                return strike.number
        self.last += 1
        return self.last


def _kind_of(told: Told, tag: str) -> str:
    return next((s.kind for s in told.season.standing if s.tag == tag), "")


def _places(scene: Scene) -> list[Place]:
    families = {crop.id: crop.family for crop in scene.catalogue.crops.values()}
    last = {p.place: p.crop for p in scene.holding.plantings.values() if p.stage not in ENDED}
    return [
        Place(
            code=place.code,
            kind=place.kind.value,
            holds=max(place.holds, sum(p.count for p in scene.holding.standing_in(place.code))),
            walk=place.walk,
            diseased=place.disease_on is not None,
            last_family=families.get(last.get(place.code, "")),
        )
        for place in scene.holding.places.values()
        if place.retired_on is None
    ]


def _tray(holding: Holding) -> str | None:
    trays = [p for p in holding.places.values() if p.kind.value == "tray" and not p.retired_on]
    return min(trays, key=lambda place: place.walk).code if trays else None


def _codes(berths: tuple[Berth, ...], index: int) -> tuple[str, ...]:
    return tuple(dict.fromkeys(berth.code for berth in berths if berth.item == index))


def _differences(old: SeasonPlan | None, new: SeasonPlan, today: date) -> tuple[str, ...]:
    """What a new plan changes of the one in force, strike by strike."""
    if old is None:
        return ()
    before = {strike.number: strike for strike in old.strikes if strike.on >= today}
    after = {strike.number: strike for strike in new.strikes}
    said = []
    for number, strike in after.items():
        was = before.pop(number, None)
        what = f"{strike.count} {strike.crop}"
        if was is None:
            said.append(f"new: {what} on {day_text(strike.on, today)}")
        elif (was.on, was.count) != (strike.on, strike.count):
            said.append(
                f"{was.count} {was.crop} on {day_text(was.on, today)} becomes {strike.count} "
                f"on {day_text(strike.on, today)}"
            )
    said += [
        f"dropped: {was.count} {was.crop} on {day_text(was.on, today)}" for was in before.values()
    ]
    return tuple(said)


def proposal_of(record: Path) -> Path:
    """Where the proposal of a record is kept until it is accepted: beside it."""
    return record.with_suffix(".season.json")


def _keep(desk: Desk, plan: SeasonPlan) -> None:
    from cropplan.record.acts import to_text

    file = proposal_of(desk.record.path)
    try:
        handle, beside = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(to_text(SeasonAccepted(plan=plan)))
        Path(beside).replace(file)
    except OSError as fault:
        raise Refusal(f"cannot keep the proposal in '{file}': {fault.strerror}") from fault


def _kept(desk: Desk) -> SeasonPlan:
    from cropplan.record.acts import from_text

    file = proposal_of(desk.record.path)
    try:
        act = from_text("season-accepted", file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise Refusal("there is no season plan yet; make one with 'cropplan season plan'") from None
    except ValueError as fault:
        raise BadData(f"{file}: is no season plan ({fault}); make a new one") from fault
    if not isinstance(act, SeasonAccepted):
        raise BadData(f"{file}: is no season plan; make a new one")
    return act.plan
