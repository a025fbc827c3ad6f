"""What the season plan asks of the grower week by week: work, feed for the fish, things to buy."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, fsum

from cropplan.catalogue.model import Crop, Trigger
from cropplan.holding.loop import LoopState
from cropplan.holding.planting import RAISING, Origin, Planting, Stage
from cropplan.holding.season import PlannedStrike, SeasonPlan
from cropplan.holding.task import SubjectKind
from cropplan.schedule.balance import Ahead, ahead_of, areas_on
from cropplan.schedule.lengths import bearing_stage, first_stage
from cropplan.schedule.measures import mass_text
from cropplan.schedule.media import media_calls
from cropplan.schedule.planned import begun_for
from cropplan.schedule.planting_calls import concerns, interval_for
from cropplan.schedule.scene import Scene
from cropplan.water.feed import feed_needed

WEEK = timedelta(days=7)
_BOUGHT = {Origin.SEED: "seeds", Origin.BOUGHT_IN: "plants"}
_FEED_WEEKS = 13  # Feed is bought for a quarter of a year; it does not keep much longer.


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWeek:
    """One week of the plan.

    week : its Monday. begin, set_out, pull : plants. minutes : of work on plants. [min]
    feed_low_g, feed_high_g : what the planted area wants the fish to eat in a day. [g]
    """

    week: date
    begin: int
    set_out: int
    pull: int
    minutes: float
    feed_low_g: float
    feed_high_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ToBuy:
    """Something the plan needs in the house by a day."""

    what: str
    by: date


@dataclass(frozen=True, slots=True, kw_only=True)
class _Life:
    """Plants alike from one day on, until another: what they are, and in which stage."""

    crop: Crop
    way: Origin
    stage: Stage
    plants: int
    first: date
    until: date


def plan_weeks(scene: Scene) -> Iterator[PlanWeek]:
    """The weeks of the plan in force, from this one on. Nothing where there is no plan."""
    plan = scene.holding.plan
    if plan is None:
        return
    ahead = ahead_of(scene)
    lives = [*_lives_begun(scene), *_lives_planned(scene)]
    week = scene.today - timedelta(days=scene.today.weekday())
    while week <= plan.until:
        begun = [s for s in plan.strikes if week <= s.on < week + WEEK]
        out = [s for s in plan.strikes if week <= s.set_out < week + WEEK]
        pulled = [*_ends_in(plan, week)]
        low, high = _feed(scene, week + WEEK / 2, ahead)
        yield PlanWeek(
            week=week,
            begin=sum(s.count for s in begun),
            set_out=sum(s.plants for s in out),
            pull=sum(pulled),
            minutes=fsum(
                (
                    *(_care(scene, life) * _days_in(life, week) for life in lives),
                    _once(scene, Trigger.REPLACE) * sum(s.count for s in begun),
                    _setting_out(scene) * sum(s.plants for s in out),
                    _once(scene, Trigger.PULL) * sum(pulled),
                )
            ),
            feed_low_g=low,
            feed_high_g=high,
        )
        week += WEEK


def to_buy(scene: Scene, weeks: Sequence[PlanWeek]) -> list[ToBuy]:
    """Seed, medium and fish feed that the plan in force needs, the first wanted first.

    weeks : of the plan, as `plan_weeks` has them.
    """
    plan = scene.holding.plan
    if plan is None:
        return []
    wanted = [
        *_seed_and_plants(scene, plan),
        *_medium(scene, plan),
        *_fish_feed(scene, weeks[:_FEED_WEEKS]),
    ]
    return sorted(wanted, key=lambda one: (one.by, one.what))


def _seed_and_plants(scene: Scene, plan: SeasonPlan) -> Iterator[ToBuy]:
    bought: dict[tuple[str, str], list[PlannedStrike]] = defaultdict(list)
    for strike in plan.strikes:
        if strike.way in _BOUGHT and strike.on >= scene.today:
            bought[strike.crop, _BOUGHT[strike.way]].append(strike)
    for (crop, what), strikes in bought.items():
        name = scene.catalogue.crops[crop].name.lower()
        count = sum(strike.count for strike in strikes)
        yield ToBuy(what=f"{count} {name} {what}", by=min(strike.on for strike in strikes))


def _medium(scene: Scene, plan: SeasonPlan) -> Iterator[ToBuy]:
    """Medium for the places whose own is at its end within the plan."""
    due: dict[str, list[tuple[date, str]]] = defaultdict(list)
    for call in media_calls(scene):
        if call.window.due <= plan.until:
            due[call.named].append((max(call.window.due, scene.today), call.places[0]))
    for medium, places in due.items():
        codes = ", ".join(code for _, code in sorted(places))
        yield ToBuy(what=f"{medium} for {codes}", by=min(day for day, _ in places))


def _fish_feed(scene: Scene, weeks: Sequence[PlanWeek]) -> Iterator[ToBuy]:
    """Feed for some weeks, by what the planted area wants."""
    units = next(iter(scene.holding.houses.values())).units
    low, high = (7 * fsum(w.feed_low_g for w in weeks), 7 * fsum(w.feed_high_g for w in weeks))
    if high > 0:
        yield ToBuy(
            what=f"{mass_text(low, units)} to {mass_text(high, units)} of fish feed, "
            f"for {len(weeks)} weeks",
            by=scene.today,
        )


def _feed(scene: Scene, day: date, ahead: Ahead) -> tuple[float, float]:
    """What the planted area of all stocked loops wants on a day. [g]"""
    needs = [
        feed_needed(list(areas_on(scene, loop, day, ahead)))
        for loop in scene.holding.loops.values()
        if loop.state is LoopState.STOCKED
    ]
    return fsum(need.low for need in needs), fsum(need.high for need in needs)


def _lives_begun(scene: Scene) -> Iterator[_Life]:
    """What stands already, to its planned or likely end; crops without a goal stay as they are."""
    plan = scene.holding.plan
    if plan is None:
        return
    until = {stand.tag: stand.until for stand in plan.stands}
    planned = {week.crop for week in plan.weeks}
    for planting in scene.holding.plantings.values():
        if not planting.alive:
            continue
        crop, dates = scene.catalogue.crops[planting.crop], scene.timelines[planting.tag].dates
        tag = planting.split_of if planting.split_of in until else planting.tag
        ends = dates.get(Stage.SPENT)
        end = until.get(tag, ends.likely if ends else plan.until)
        if planting.crop not in planned:
            end = plan.until
        out, bears = dates.get(Stage.SET_OUT), dates.get(bearing_stage(crop))
        days = [
            (planting.stage, scene.today),
            *([(Stage.SET_OUT, out.likely)] if planting.stage in RAISING and out else []),
            *([(bearing_stage(crop), bears.likely)] if bears else []),
        ]
        yield from _in_stages(crop, planting.way, planting.count, days, end)


def _lives_planned(scene: Scene) -> Iterator[_Life]:
    """What the plan has still to begin, as far as it is not begun."""
    for strike, begun in begun_for(scene):
        left = strike.count - sum(count for _, count in begun)
        if left <= 0:
            continue
        crop = scene.catalogue.crops[strike.crop]
        raised = [(first_stage(strike.way), strike.on)]
        standing = [(Stage.SET_OUT, strike.set_out), (bearing_stage(crop), strike.first_pick)]
        yield from _in_stages(crop, strike.way, left, raised, strike.set_out)
        plants = ceil(strike.plants * left / strike.count)
        yield from _in_stages(crop, strike.way, plants, standing, strike.last_pick)


def _in_stages(
    crop: Crop, way: Origin, plants: int, days: list[tuple[Stage, date]], end: date
) -> Iterator[_Life]:
    for (stage, first), until in zip(days, [*(day for _, day in days[1:]), end], strict=True):
        if first < until:
            yield _Life(
                crop=crop, way=way, stage=stage, plants=plants, first=first, until=min(until, end)
            )


def _days_in(life: _Life, week: date) -> int:
    return max(0, (min(life.until, week + WEEK) - max(life.first, week)).days)


def _care(scene: Scene, life: _Life) -> float:
    """Work that comes round with plants in a stage. [min per day]"""
    alike = Planting(
        tag="",
        crop=life.crop.id,
        origin=life.way,
        way=life.way,
        place="",
        clone="",
        count=life.plants,
        begun=life.plants,
        stage=life.stage,
        seen={life.stage: life.first},
    )
    minutes = 0.0
    for duty in scene.catalogue.duties.values():
        if duty.trigger is not Trigger.INTERVAL or (duty.stages and life.stage not in duty.stages):
            continue
        if concerns(scene, duty, alike, life.crop):
            every = interval_for(scene, duty, life.crop)
            minutes += 0.0 if every is None else duty.minutes_each * life.plants / every.typical
    return minutes


def _once(scene: Scene, trigger: Trigger) -> float:
    """Minutes of work of a sort that is done once with each plant. [min per plant]"""
    duties = scene.catalogue.duties.values()
    return sum(duty.minutes_each for duty in duties if duty.trigger is trigger)


def _setting_out(scene: Scene) -> float:
    return sum(
        duty.minutes_each
        for duty in scene.catalogue.duties.values()
        if duty.subject is SubjectKind.PLANTING and duty.awaits is Stage.SET_OUT
    )


def _ends_in(plan: SeasonPlan, week: date) -> Iterator[int]:
    for stand in plan.stands:
        if week <= stand.until < week + WEEK:
            yield stand.count
    for strike in plan.strikes:
        if week <= strike.last_pick < week + WEEK:
            yield strike.plants
