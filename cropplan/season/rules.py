"""Two rules that growers use in place of a plan, played out week by week for comparison.

By the first, the same number of each crop is struck every so many weeks. By the second, a plant is
struck whenever one in the house has come to a certain age. Either way rooted plants go to a free
place, or to that of the oldest tired plant; failing that they wait a few weeks in the tray and are
then thrown away. Both rules are bound by the same mothers, trays and places as the plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from math import floor

from cropplan.season.cuttings import reserve
from cropplan.season.demand import CropOption, Origin, Season
from cropplan.season.draft import Draft, Keep, Strike

LONGEST_WAIT = 3  # Weeks rooted plants are kept waiting for a place before they are thrown away.
TRIGGERS = (0.4, 0.55, 0.7, 0.85, 1.0)
INTERVALS = (1, 2, 3, 4, 6)
NUMBERS = (0, 1, 2, 3, 4, 6, 8, 12)


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """What a rule led to.

    draft : everything that was set out. struck : plants struck, those thrown away included.
    shortfall : what was missed. [weighted unit]
    """

    draft: Draft
    struck: int
    shortfall: float


@dataclass(slots=True, kw_only=True)
class _Plant:
    """One plant in its place; `option` is None for one that stood at the start."""

    crop: str
    kind: str
    option: CropOption | None
    tag: str
    struck: int
    set_out: int
    first_pick: int
    tired: int
    last: int
    fit_from: int
    fit_until: int
    shoots: float
    replaced: bool = False


@dataclass(slots=True, kw_only=True)
class _House:
    """The house as the rule runs: plants in their places, batches in trays, what has ended."""

    season: Season
    plants: list[_Plant] = field(default_factory=list)
    trays: list[tuple[int, CropOption, int]] = field(default_factory=list)
    ended: list[tuple[_Plant, int]] = field(default_factory=list)
    struck: int = 0


Wish = Callable[[_House, CropOption, int], int]
"""How many plants of an option the rule wants struck in a week."""


def typical_stay(option: CropOption) -> int:
    """Weeks of picking after which a plant counts as tired: the upper middle of its stays."""
    return sorted(option.stays)[len(option.stays) // 2]


def play_interval(season: Season, rhythm: Mapping[str, tuple[int, int]]) -> Played:
    """The first rule: `rhythm` gives each crop its interval [week] and number [plant]."""

    def wish(_: _House, option: CropOption, week: int) -> int:
        interval, number = rhythm.get(option.crop, (1, 0))
        return number if week % interval == 0 else 0

    return _play(season, wish)


def play_tired(season: Season, trigger: float) -> Played:
    """The second rule: strike for each plant past a share of its typical picking time."""

    def wish(house: _House, option: CropOption, week: int) -> int:
        early = round((1.0 - trigger) * typical_stay(option))
        due = [
            plant
            for plant in house.plants
            if plant.crop == option.crop and not plant.replaced and week >= plant.tired - early
        ]
        can = _strikable(house, option, week)
        for plant in due[:can]:
            plant.replaced = True
        return len(due)

    return _play(season, wish)


def best_tired(season: Season) -> Played:
    """The second rule at the best of five triggers."""
    return min((play_tired(season, each) for each in TRIGGERS), key=lambda each: each.shortfall)


def best_interval(season: Season, *, passes: int = 2) -> Played:
    """The first rule at the best interval and number of each crop, sought crop by crop.

    passes : times to go through the crops.
    """
    crops = sorted({crop for goal in season.goals for crop in goal.crops})
    rhythm = dict.fromkeys(crops, (4, 1))
    best = play_interval(season, rhythm)
    for _ in range(passes):
        for crop in crops:
            for interval in INTERVALS:
                for number in NUMBERS:
                    tried = rhythm | {crop: (interval, number)}
                    played = play_interval(season, tried)
                    if played.shortfall < best.shortfall - 1e-9:
                        best, rhythm = played, tried
    return best


def _play(season: Season, wish: Wish) -> Played:
    house = _House(season=season)
    _fill(house)
    picks = [[0.0] * season.weeks for _ in season.goals]
    for week in range(season.weeks):
        for plant in [each for each in house.plants if each.last <= week]:
            _pull(house, plant, week)
        if season.may_set_out(week):
            _set_out(house, week)
        for option in season.options:
            plants = min(wish(house, option, week), _strikable(house, option, week))
            if plants > 0:
                house.trays.append((week, option, plants))
                house.struck += plants
        _pick(house, week, picks)
    for plant in list(house.plants):
        _pull(house, plant, max(plant.last, season.weeks))
    shortfall = sum(
        goal.weight * max(0.0, goal.amount - picks[index][week])
        for index, goal in enumerate(season.goals)
        for week in range(goal.from_week, min(goal.until_week, season.weeks))
    )
    return Played(draft=_draft(house), struck=house.struck, shortfall=shortfall)


def _fill(house: _House) -> None:
    for planting in house.season.standing:
        house.plants.extend(
            _Plant(
                crop=planting.crop,
                kind=planting.kind,
                option=None,
                tag=planting.tag,
                struck=0,
                set_out=planting.set_out,
                first_pick=0,
                tired=planting.until,
                last=planting.until,
                fit_from=planting.fit_from,
                fit_until=planting.fit_until if planting.propagate else 0,
                shoots=planting.shoots,
            )
            for _ in range(planting.count)
        )


def _pull(house: _House, plant: _Plant, week: int) -> None:
    house.plants.remove(plant)
    house.ended.append((plant, week))


def _strikable(house: _House, option: CropOption, week: int) -> int:
    """Plants that mothers, and tray room for as long as they are sure to stand there, allow."""
    if not house.season.may_start(week) or option.lead_weeks[week] + week >= house.season.weeks:
        return 0
    cuttings = reserve(option.success, option.certainty)
    most = float("inf")
    if option.tray is not None:
        capacity = next(k.capacity for k in house.season.kinds if k.kind == option.tray)
        used = sum(
            plants * reserve(other.success, other.certainty)
            for _, other, plants in house.trays
            if other.tray == option.tray
        )
        most = (capacity[week] - used) / cuttings
    if option.origin is Origin.STRUCK:
        shoots = sum(
            plant.shoots
            for plant in house.plants
            if plant.crop == option.crop and plant.fit_from <= week < plant.fit_until
        )
        taken = sum(
            plants * cuttings
            for struck, other, plants in house.trays
            if struck == week and other is option
        )
        most = min(most, (shoots - taken) / cuttings)
    return max(0, floor(most + 1e-6))


def _set_out(house: _House, week: int) -> None:
    """Set out what is ready, the longest waiting first; throw away what has waited too long."""
    left = []
    for struck, option, plants in sorted(house.trays, key=lambda batch: batch[0]):
        ready = struck + option.tray_weeks[struck]
        remaining = plants
        while week >= ready and remaining and _place_one(house, option, struck, week):
            remaining -= 1
        if remaining and week < ready + LONGEST_WAIT:
            left.append((struck, option, remaining))
    house.trays = left


def _place_one(house: _House, option: CropOption, struck: int, week: int) -> bool:
    kind = next((kind for kind in option.kinds if _free(house, kind, week) > 0), None)
    if kind is None:
        tired = [
            plant for plant in house.plants if plant.kind in option.kinds and plant.tired <= week
        ]
        if not tired:
            return False
        oldest = min(tired, key=lambda plant: plant.set_out)
        kind = oldest.kind
        _pull(house, oldest, week)
        if _free(house, kind, week) < 1:
            return False
    wait = week - struck - option.tray_weeks[struck]
    first_pick = struck + option.lead_weeks[struck] + wait
    mothering = option.mothering
    last = first_pick + len(option.curve)
    house.plants.append(
        _Plant(
            crop=option.crop,
            kind=kind,
            option=option,
            tag="",
            struck=struck,
            set_out=week,
            first_pick=first_pick,
            tired=first_pick + typical_stay(option),
            last=last,
            fit_from=week + mothering.fit_from if mothering else last,
            fit_until=week + mothering.fit_until if mothering else 0,
            shoots=mothering.shoots if mothering else 0.0,
        )
    )
    return True


def _free(house: _House, kind: str, week: int) -> int:
    place = next(each for each in house.season.kinds if each.kind == kind)
    standing = sum(plant.kind == kind for plant in house.plants)
    resting = sum(
        plant.kind == kind and week < ended + place.gap_weeks for plant, ended in house.ended
    )
    return place.capacity[week] - standing - resting


def _pick(house: _House, week: int, picks: list[list[float]]) -> None:
    standing = {planting.tag: planting.picks for planting in house.season.standing}
    for plant in house.plants:
        goal = house.season.goal_of(plant.crop, week)
        if goal is None:
            continue
        if plant.option is None:
            series = standing[plant.tag]
            picks[goal][week] += series[week] if week < len(series) else 0.0
        elif plant.first_pick <= week:
            curve = plant.option.curve[week - plant.first_pick]
            picks[goal][week] += curve * plant.option.light[week]


def _draft(house: _House) -> Draft:
    keeps: Counter[tuple[str, int]] = Counter()
    strikes: Counter[Strike] = Counter()
    for plant, week in house.ended:
        if plant.option is None:
            keeps[plant.tag, week] += 1
        elif week > plant.first_pick:
            strikes[_strike(plant, plant.option, week)] += 1
    return Draft(
        strikes=tuple(replace(strike, plants=plants) for strike, plants in strikes.items()),
        keeps=tuple(
            Keep(tag=tag, plants=plants, pulled=week) for (tag, week), plants in keeps.items()
        ),
    )


def _strike(plant: _Plant, option: CropOption, pulled: int) -> Strike:
    return Strike(
        crop=plant.crop,
        origin=option.origin,
        kind=plant.kind,
        tray=option.tray,
        plants=1,
        strike=plant.struck,
        set_out=plant.set_out,
        first_pick=plant.first_pick,
        pulled=pulled,
    )
