"""A plan of weeks and counts as one of days, tags and real places, ready to be accepted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from cropplan.holding.holding import Holding
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import ENDED, RAISING, Origin, Stage
from cropplan.holding.season import (
    PlannedEnd,
    PlannedStand,
    PlannedStrike,
    PlannedWeek,
    SeasonPlan,
)
from cropplan.schedule.relay import usual_way
from cropplan.schedule.scene import Scene
from cropplan.season.draft import Keep
from cropplan.season.house import Told, tag_of_kept
from cropplan.season.places import Berth, Place, lay_out
from cropplan.season.plan import PlannedStrike as PlannedWeeks
from cropplan.season.plan import SeasonPlan as Planned

#: A strike of the new plan so near to one of the old is the same one, and keeps its number. [d]
_SAME = timedelta(days=21)


def plan_in_days(scene: Scene, told: Told, planned: Planned) -> SeasonPlan:
    """The planner's weeks as days, its counts as places and tags, its strikes with numbers.

    The strikes of the plan in force that were kept stand among the new ones under their numbers.
    """
    season = told.season
    berths = lay_out(
        season, planned.draft, _places(scene), _families(scene), _stands_where(scene, told)
    )
    numbers = _Numbers(scene.holding.plan, told.kept)
    strikes = [
        *(
            replace(each, places=_codes(berths, tag_of_kept(each)) or each.places)
            for each in told.kept
        ),
        *(
            _strike(scene, told, strike, _codes(berths, index), numbers)
            for index, strike in enumerate(planned.strikes)
        ),
    ]
    plantings = scene.holding.plantings
    return SeasonPlan(
        made=scene.today,
        until=told.day(season.weeks) - timedelta(days=1),
        last_number=numbers.last,
        strikes=tuple(sorted(strikes, key=lambda strike: (strike.on, strike.number))),
        ends=tuple(
            PlannedEnd(tag=keep.tag, on=told.work_day(keep.pulled)) for keep in planned.early_pulls
        ),
        stands=tuple(
            _stand(scene, told, keep, _codes(berths, keep.tag))
            for keep in planned.draft.keeps
            if keep.tag in plantings and plantings[keep.tag].crop in told.aimed
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


def _stand(scene: Scene, told: Told, keep: Keep, places: tuple[str, ...]) -> PlannedStand:
    until, ends = told.day(keep.pulled), scene.timelines[keep.tag].likely(Stage.SPENT)
    raising = scene.holding.plantings[keep.tag].stage in RAISING
    return PlannedStand(
        tag=keep.tag,
        count=keep.plants,
        until=until,
        likely=ends if ends is not None and ends < until else None,
        places=places if raising else (),
    )


def _strike(
    scene: Scene, told: Told, strike: PlannedWeeks, places: tuple[str, ...], numbers: _Numbers
) -> PlannedStrike:
    crop = scene.catalogue.crops[strike.crop]
    fresh = Origin.SEED if Origin.SEED in crop.ways else Origin.BOUGHT_IN
    way = fresh if strike.origin.value == "sown" else usual_way(crop)
    on = told.work_day(strike.strike)
    return PlannedStrike(
        number=numbers.of(strike.crop, way, on),
        crop=strike.crop,
        way=way,
        on=on,
        count=strike.cuttings,
        plants=strike.plants,
        mothers=tuple(_mothers(strike)),
        place=_tray(scene.holding),
        places=places,
        set_out=told.work_day(strike.set_out),
        first_pick=told.day(strike.first_pick),
        last_pick=told.day(strike.pulled) - timedelta(days=1),
    )


def _mothers(strike: PlannedWeeks) -> Iterator[str]:
    """Those of its mothers that stand already; the others are still to be struck."""
    for taken in strike.mothers:
        if isinstance(taken.mother, str):
            yield taken.mother


class _Numbers:
    """Numbers for strikes: those of the plan before where they are the same, new ones after."""

    def __init__(self, old: SeasonPlan | None, kept: tuple[PlannedStrike, ...]) -> None:
        taken = {strike.number for strike in kept}
        self._free = [s for s in old.strikes if s.number not in taken] if old else []
        self.last = old.last_number if old else 0

    def of(self, crop: str, way: Origin, on: date) -> int:
        """The number of a strike."""
        for strike in self._free:
            if (strike.crop, strike.way) == (crop, way) and abs(strike.on - on) <= _SAME:
                self._free.remove(strike)
                return strike.number
        self.last += 1
        return self.last


def _families(scene: Scene) -> dict[str, str]:
    return {crop.id: crop.family for crop in scene.catalogue.crops.values()}


def _stands_where(scene: Scene, told: Told) -> dict[str, list[str]]:
    kinds = {planting.tag: planting.kind for planting in told.season.standing}
    places = scene.holding.places
    return {
        p.tag: [p.place] * p.count
        for p in scene.holding.plantings.values()
        if p.alive and places[p.place].kind.value == kinds.get(p.tag)
    }


def _places(scene: Scene) -> list[Place]:
    families = _families(scene)
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
    trays = [p for p in holding.places.values() if p.kind is PlaceKind.TRAY and not p.retired_on]
    return min(trays, key=lambda place: place.walk).code if trays else None


def _codes(berths: tuple[Berth, ...], item: int | str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(berth.code for berth in berths if berth.item == item))
