"""The house as the planner is told it: dates, figures and plants turned into weeks and counts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil

from cropplan.catalogue.model import Crop, Habit
from cropplan.growth.yields import light_factor
from cropplan.holding.place import PlaceKind as HousePlaceKind
from cropplan.holding.planting import CLONAL, RAISING, Planting, Stage
from cropplan.holding.planting import Origin as Way
from cropplan.holding.season import Goal as Wanted
from cropplan.schedule.backward import first_pick
from cropplan.schedule.harvest import anchor_of
from cropplan.schedule.lengths import bearing_stage, steps_from
from cropplan.schedule.relay import CERTAINTY, usual_way
from cropplan.schedule.scene import Scene
from cropplan.season.demand import (
    CropOption,
    Goal,
    Mothering,
    Origin,
    PlaceKind,
    Season,
    Standing,
)

WEEK = timedelta(days=7)
#: A plant's first week of picking gives half, and one past its usual life ever less: shares of
#: the yield in full bearing. Common practice, no source.
_FIRST_WEEK, _AFTER = 0.5, (0.85, 0.7, 0.55, 0.4, 0.3, 0.2)
#: Lengths of picking to choose from, as shares of the usual one. Common practice, no source.
_STAYS = (0.5, 0.75, 1.0, 1.25)
#: How far plantings of a crop differ in yield, where the catalogue gives a span of 80 %.
_SPREADS_IN_80 = 2.563
_LONGEST = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A season as the planner is told it, and the way back to days.

    monday : the first day of week 0.
    """

    season: Season
    monday: date

    def day(self, week: int) -> date:
        """The Monday of a week."""
        return self.monday + week * WEEK


def season_of(scene: Scene, goals: Sequence[Wanted], weeks: int) -> Told:
    """The season that the house stands before.

    weeks : length of the plan. [week]
    """
    monday = scene.today - timedelta(days=scene.today.weekday())
    crops = {goal.crop: scene.catalogue.crops[goal.crop] for goal in goals}
    kinds = _kinds(scene, weeks)
    return Told(
        season=Season(
            weeks=weeks,
            goals=tuple(_goal(goal, monday, weeks) for goal in goals),
            kinds=kinds,
            options=tuple(
                option for crop in crops.values() for option in _options(scene, crop, monday, weeks)
            ),
            standing=_that_fit(list(_standing(scene, monday, weeks)), kinds, weeks),
            away=_away(scene, monday, weeks),
        ),
        monday=monday,
    )


def _goal(goal: Wanted, monday: date, weeks: int) -> Goal:
    first = max(0, (goal.first - monday).days // 7)
    until = min(weeks, (goal.last - monday).days // 7 + 1)
    return Goal(
        name=goal.crop,
        crops=(goal.crop,),
        amount=goal.amount,
        weight=0.5 ** (goal.priority - 1) / goal.amount,
        from_week=first,
        until_week=until,
    )


def _kinds(scene: Scene, weeks: int) -> tuple[PlaceKind, ...]:
    room: dict[HousePlaceKind, int] = {}
    for place in scene.holding.places.values():
        if place.retired_on is None:
            room[place.kind] = room.get(place.kind, 0) + place.holds
    # What stands may be more than a place is said to hold; it is there all the same.
    for kind, plants in room.items():
        stands = sum(
            planting.count
            for planting in scene.holding.plantings.values()
            if planting.alive and scene.holding.places[planting.place].kind is kind
        )
        room[kind] = max(plants, stands)
    return tuple(
        PlaceKind(kind=kind.value, capacity=(plants,) * weeks) for kind, plants in room.items()
    )


def _options(scene: Scene, crop: Crop, monday: date, weeks: int) -> Iterator[CropOption]:
    there = {place.kind for place in scene.holding.places.values() if place.retired_on is None}
    kinds = tuple(kind.value for kind in crop.places if kind in there)
    tray = HousePlaceKind.TRAY.value if HousePlaceKind.TRAY in there else None
    if not kinds:
        return
    usual = usual_way(crop)
    for way in (usual, Way.SEED) if usual is not Way.SEED else (Way.SEED,):
        if way in crop.ways and way is not Way.BOUGHT_IN:
            option = _option(scene, crop, way, kinds, tray, monday, weeks)
            if option is not None:
                yield option


def _option(
    scene: Scene,
    crop: Crop,
    way: Way,
    kinds: tuple[str, ...],
    tray: str | None,
    monday: date,
    weeks: int,
) -> CropOption | None:
    weather = next(iter(scene.weathers.values()))
    leads, trays = [], []
    for week in range(weeks):
        begun = monday + week * WEEK
        told = first_pick(crop, way, begun, weather, scene.lessons)
        if told is None:
            return None
        lead = max(1, ceil((told.likely - begun).days / 7))
        leads.append(lead)
        trays.append(min(lead, _weeks_in_tray(crop, way)))
    curve = _curve(crop)
    success = crop.values.get(f"{way.value}_success")
    learnt = scene.lessons.successes.get((crop.id, f"{way.value}_success"))
    share = learnt.mean if learnt else (success.typical if success else 1.0)
    clonal = way in CLONAL
    return CropOption(
        crop=crop.id,
        origin=Origin.STRUCK if clonal else Origin.SOWN,
        kinds=kinds,
        tray=tray,
        tray_weeks=tuple(trays),
        lead_weeks=tuple(leads),
        hold_weeks=1,
        curve=curve,
        light=tuple(_light(scene, crop, monday + week * WEEK) for week in range(weeks)),
        stays=_stays(crop, len(curve)),
        success=min(1.0, share),
        certainty=CERTAINTY,
        spread=_spread(crop),
        mothering=_mothering(crop) if clonal else None,
    )


def _weeks_in_tray(crop: Crop, way: Way) -> int:
    days = sum(
        crop.values[key].typical
        for _, end, key in steps_from(crop, way)
        if end in {Stage.ROOTED, Stage.EMERGED, Stage.SET_OUT}
    )
    return ceil(days / 7)


def _life(crop: Crop) -> int:
    """Weeks that a plant is usually picked."""
    figure = crop.values.get("picking_life")
    cuts, apart = crop.values.get("cuts"), crop.values.get("pick_interval")
    days = [figure.typical] if figure else []
    if cuts and apart:
        days.append(cuts.typical * apart.typical)
    return min(_LONGEST, max(1, round(min(days) / 7))) if days else 1


def _curve(crop: Crop) -> tuple[float, ...]:
    """The pick of one plant in full light, week by week from the first. [unit per plant]"""
    figure = crop.values.get("weekly_yield")
    full = 0.0 if figure is None else figure.typical
    if crop.habit is Habit.HEAD:
        return (1.0,)
    life = _life(crop)
    first = [_FIRST_WEEK * full] if life > 1 else []
    return (*first, *[full] * (life - len(first)), *(full * share for share in _AFTER))


def _stays(crop: Crop, longest: int) -> tuple[int, ...]:
    if crop.habit is Habit.HEAD:
        return (1,)
    life = _life(crop)
    return tuple(sorted({min(longest, max(1, round(life * share))) for share in _STAYS}))


def _spread(crop: Crop) -> float:
    figure = crop.values.get("weekly_yield")
    if figure is None or figure.typical <= 0 or crop.habit is Habit.HEAD:
        return 0.0
    return (figure.most - figure.least) / figure.typical / _SPREADS_IN_80


def _light(scene: Scene, crop: Crop, monday: date) -> float:
    """The share of the full yield that the week's light allows."""
    anchor = anchor_of(crop)
    if anchor is None or crop.habit is Habit.HEAD:
        return 1.0
    weather = next(iter(scene.weathers.values()))
    return light_factor(anchor, weather(monday + timedelta(days=3)).dli)


def _mothering(crop: Crop) -> Mothering | None:
    shoots, fit = crop.values.get("shoots_per_week"), crop.values.get("mother_from")
    if shoots is None:
        return None
    cap = crop.values.get("generations")
    begin = 0 if fit is None else ceil(fit.typical / 7)
    lead = sum(
        crop.values[key].typical
        for _, end, key in steps_from(crop, usual_way(crop))
        if end in {Stage.FLOWERING, bearing_stage(crop)}
    )
    return Mothering(
        shoots=shoots.typical,
        fit_from=begin,
        fit_until=max(begin + 1, ceil(lead / 7) + _life(crop)),
        generation_cap=None if cap is None else round(cap.typical),
    )


def _standing(scene: Scene, monday: date, weeks: int) -> Iterator[Standing]:
    """What stands, each kept or pulled early by choice where its crop is aimed at."""
    for planting in scene.holding.plantings.values():
        if planting.alive and planting.count:
            yield _one_standing(scene, planting, monday, weeks)


def _that_fit(
    standing: list[Standing], kinds: tuple[PlaceKind, ...], weeks: int
) -> tuple[Standing, ...]:
    """What stands, and of what waits in trays as many as will find a place.

    Trays often hold more seedlings than there are places; the planner counts on no more.
    """
    room = {kind.kind: list(kind.capacity) for kind in kinds}
    fitting = []
    for planting in sorted(standing, key=lambda each: (each.tray is not None, each.set_out)):
        stands = range(max(0, planting.set_out), min(weeks, planting.until))
        left = min((room[planting.kind][week] for week in stands), default=planting.count)
        count = planting.count if planting.tray is None else min(planting.count, max(0, left))
        for week in stands:
            room[planting.kind][week] -= count
        if count:
            fitting.append(replace(planting, count=count))
    return tuple(fitting)


def _one_standing(scene: Scene, planting: Planting, monday: date, weeks: int) -> Standing:
    crop = scene.catalogue.crops[planting.crop]
    dates = scene.timelines[planting.tag].dates
    place = scene.holding.places[planting.place]
    raising = planting.stage in RAISING
    out = dates.get(Stage.SET_OUT)
    set_out = _week(out.likely, monday) if out else 0
    first = dates.get(bearing_stage(crop))
    ends = dates.get(Stage.SPENT)
    until = max(1, _week(ends.likely, monday) if ends else weeks)
    bears = _week(first.likely, monday) if first else 0
    curve = _curve(crop)
    picks = tuple(
        curve[min(week - bears, len(curve) - 1)] * _light(scene, crop, monday + week * WEEK)
        if bears <= week < until and (crop.habit is not Habit.HEAD or week == max(0, bears))
        else 0.0
        for week in range(weeks)
    )
    mothers = _mothering(crop)
    aimed = planting.crop in scene.holding.goals
    kind = crop.places[0].value if raising else place.kind.value
    there = {p.kind.value for p in scene.holding.places.values() if p.retired_on is None}
    waits = raising and place.kind is HousePlaceKind.TRAY
    return Standing(
        tag=planting.tag,
        crop=planting.crop,
        kind=kind if kind in there else place.kind.value,
        count=planting.count,
        set_out=max(1, set_out) if waits else min(0, set_out),
        until=max(until, max(1, set_out) + 1),
        picks=picks,
        tray=place.kind.value if waits else None,
        tray_places=planting.count if waits else 0,
        shoots=mothers.shoots if mothers else 0.0,
        fit_from=set_out + mothers.fit_from if mothers else 0,
        fit_until=until if mothers else 0,
        generation=planting.generation,
        propagate=planting.barred_why is None,
        pull_early=aimed and not raising,
        spread=_spread(crop),
    )


def _week(day: date, monday: date) -> int:
    return (day - monday).days // 7


def _away(scene: Scene, monday: date, weeks: int) -> frozenset[int]:
    """Weeks in which the grower is away for most of the working days."""
    away = set()
    for week in range(weeks):
        days = [monday + week * WEEK + timedelta(days=n) for n in range(5)]
        gone = sum(any(a.holds(day) for a in scene.holding.absences) for day in days)
        if gone >= 3:
            away.add(week)
    return frozenset(away)
