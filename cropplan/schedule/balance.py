"""Feed against what is planted on a loop: now, in the weeks behind, and along the season plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.catalogue.model import Crop, Figure, Habit
from cropplan.holding.house import Units
from cropplan.holding.loop import Loop, LoopState
from cropplan.holding.place import Place, PlaceKind
from cropplan.holding.planting import RAISING, Planting, Stage
from cropplan.holding.season import PlannedStrike
from cropplan.schedule.measures import mass_text
from cropplan.schedule.planned import begun_for, planned_crops, planned_ends
from cropplan.schedule.ration import fed_a_day, feed_log, ration_for
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text
from cropplan.water.feed import Balance, PlantedArea, Verdict, balance, weekly_balance

#: Weeks looked ahead at what stands and comes on; a season plan in force is looked along whole.
WEEKS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """What the plan in force says of days to come, worked out once for all of them.

    ends : days on which plantings are pulled, by tag. to_come : strikes of which nothing stands.
    crops : that it takes care of; none without a plan.
    """

    ends: Mapping[str, date]
    to_come: Sequence[PlannedStrike]
    crops: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopBalance:
    """How a loop's feed stands against its plants.

    now : this week. area_m2 : planted on the loop. [m²]
    from_log : whether the feed is the mean of what was written; else it is the ration.
    since : the Monday from which the verdict has held without a break; None in balance, or where
        the log does not reach back.
    until : the first Monday to come on which the verdict will differ, at the same feed.
    """

    now: Balance
    area_m2: float
    from_log: bool
    since: date | None
    until: date | None

    def words(self, units: Units, today: date) -> str:
        """The verdict on one line: by how much, since which week, until which."""
        need = f"{mass_text(self.now.need.low, units)} to {mass_text(self.now.need.high, units)}"
        feed = f"{mass_text(self.now.feed, units)} a day"
        source = "fed" if self.from_log else "ration"
        told = f"{source} {feed} for {self.area_m2:.1f} m², which want {need}"
        if self.now.verdict is not Verdict.IN_BALANCE:
            amount = mass_text(abs(self.now.difference), units)
            told = f"{self.now.verdict.value} by {amount}: {told}"
            if self.since is not None:
                told += f"; since the week of {day_text(self.since, today)}"
        else:
            told = f"in balance: {told}"
        if self.until is not None:
            told += f"; changes in the week of {day_text(self.until, today)}"
        return told


def balance_of(scene: Scene, loop: Loop) -> LoopBalance | None:
    """Feed against planted area; None where no feed is known or nothing is planted on the loop."""
    now = balance_now(scene, loop)
    if now is None:
        return None
    monday = scene.today - timedelta(days=scene.today.weekday())
    ahead = ahead_of(scene)
    return LoopBalance(
        now=now,
        area_m2=math.fsum(part.area for part in areas_on(scene, loop, scene.today, ahead)),
        from_log=fed_a_day(scene, loop) is not None,
        since=_since(scene, loop, monday, now.verdict, ahead),
        until=_until(scene, loop, monday, now.verdict, now.feed, ahead),
    )


def balance_now(scene: Scene, loop: Loop) -> Balance | None:
    """Feed against planted area on the scene's day alone; None as for `balance_of`."""
    if loop.state is not LoopState.STOCKED:
        return None
    areas = list(areas_on(scene, loop, scene.today, ahead_of(scene)))
    feed = fed_a_day(scene, loop)
    if feed is None:
        ration = ration_for(scene, loop)
        feed = loop.feed_g if loop.feed_g is not None else (ration.grams if ration else None)
    return None if feed is None or not areas else balance(feed, areas)


def ahead_of(scene: Scene) -> Ahead:
    """What the plan in force says of days to come."""
    return Ahead(
        ends=planned_ends(scene, scene.holding.plantings.values()),
        to_come=[
            strike
            for strike, begun in begun_for(scene)
            if all(planting.stage in RAISING for planting, _ in begun)
        ],
        crops=planned_crops(scene),
    )


def _since(scene: Scene, loop: Loop, monday: date, verdict: Verdict, ahead: Ahead) -> date | None:
    """The first week of the unbroken run of a verdict that ends with this week."""
    if verdict is Verdict.IN_BALANCE:
        return None
    feeds = {week: fed for week, fed in _weekly_feed(scene, loop) if week < monday}
    areas = {week: list(areas_on(scene, loop, week + timedelta(days=3), ahead)) for week in feeds}
    since = monday
    for week, then in reversed(weekly_balance(feeds, areas)):
        if week != since - timedelta(days=7) or then.verdict is not verdict:
            break
        since = week
    return since


def _until(
    scene: Scene, loop: Loop, monday: date, verdict: Verdict, feed: float, ahead: Ahead
) -> date | None:
    """The first week in which what stands and comes on will want another feed than is given."""
    for number in range(1, _weeks_ahead(scene, monday) + 1):
        week = monday + timedelta(days=7 * number)
        areas = list(areas_on(scene, loop, week + timedelta(days=3), ahead))
        if not areas:
            return None
        if balance(feed, areas).verdict is not verdict:
            return week
    return None


def _weeks_ahead(scene: Scene, monday: date) -> int:
    plan = scene.holding.plan
    return WEEKS if plan is None else max(WEEKS, (plan.until - monday).days // 7)


def _weekly_feed(scene: Scene, loop: Loop) -> Iterator[tuple[date, float]]:
    """The mean daily feed of each week of which at least half the days were written."""
    weeks: dict[date, dict[date, float]] = {}
    for fed in feed_log(scene, loop):
        days = weeks.setdefault(fed.day - timedelta(days=fed.day.weekday()), {})
        days[fed.day] = days.get(fed.day, 0.0) + fed.grams
    for week, days in sorted(weeks.items()):
        if len(days) * 2 >= 7:
            yield week, math.fsum(days.values()) / len(days)


def areas_on(scene: Scene, loop: Loop, day: date, ahead: Ahead) -> Iterator[PlantedArea]:
    """What stood, stands, or is likely or planned to stand on a loop's water on a day."""
    yield from _planned_areas(scene, loop, day, ahead)
    plantings = [*scene.holding.plantings.values(), *scene.ended]
    for planting in {p.tag: p for p in plantings}.values():
        place = scene.holding.places.get(planting.place)
        crop = scene.catalogue.crops.get(planting.crop)
        if place is None or crop is None or place.loop != loop.name:
            continue
        plants = planting.count or planting.pulled or planting.lost
        if plants and _stands(scene, planting, day, ahead):
            yield from _area(scene, place, crop, plants)


def _planned_areas(scene: Scene, loop: Loop, day: date, ahead: Ahead) -> Iterator[PlantedArea]:
    """What the season plan in force will have set out by a day to come."""
    for strike in ahead.to_come if day > scene.today else ():
        crop = scene.catalogue.crops.get(strike.crop)
        if crop is None or not strike.set_out <= day <= strike.last_pick:
            continue
        for code in strike.places:
            place = scene.holding.places.get(code)
            if place is not None and place.loop == loop.name:
                yield from _area(scene, place, crop, strike.plants / len(strike.places))


def _area(scene: Scene, place: Place, crop: Crop, plants: float) -> Iterator[PlantedArea]:
    """The ground that plants cover in a place, with the feed that it wants."""
    area, ratio = crop.values.get("planted_area"), _ratio(scene, place, crop.habit)
    if area is not None and ratio is not None:
        yield PlantedArea(area=plants * area.typical, ratio_low=ratio.least, ratio_high=ratio.most)


def _ratio(scene: Scene, place: Place, habit: Habit) -> Figure | None:
    """The feed that a square metre wants: by kind of place first, then by kind of crop."""
    if place.kind is PlaceKind.TRAY:
        return None
    name = {PlaceKind.CHANNEL: "feed_ratio_channel", PlaceKind.HOLE: "feed_ratio_raft"}.get(
        place.kind, "feed_ratio_fruiting" if habit is Habit.FRUIT else "feed_ratio_leafy"
    )
    return scene.catalogue.waters.get("loop.any", {}).get(name)


def _stands(scene: Scene, planting: Planting, day: date, ahead: Ahead) -> bool:
    """Whether a planting is in its place for good on a day, seen or likely."""
    if planting.ended_on is not None and planting.ended_on <= day:
        return False
    pulled = ahead.ends.get(planting.tag)
    if pulled is not None and pulled <= day:
        return False
    begins = planting.seen.get(Stage.SET_OUT)
    if begins is None:
        if planting.stage in RAISING:
            return False
        begins = min(planting.seen.values(), default=planting.since or day)
    if begins > day:
        return False
    if ahead.crops and planting.crop not in ahead.crops:
        # The plan leaves its place to the crop, and what fades there is replaced.
        return True
    timeline = scene.timelines.get(planting.tag)
    ends = None if timeline is None else timeline.likely(Stage.SPENT)
    return ends is None or day < ends or day <= scene.today
