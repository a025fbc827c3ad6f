"""How many plants of a crop could be struck in a week at the very most.

Mothers come from what stands and from what was struck before, so the most grows week by week from
what is there now. Cuttings are whole: three mothers that give half a shoot each give one cutting.
Rounding down at every step rules out much that fractions of plants would seem to allow, above all
where a crop has few mothers to begin with.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import floor

from cropplan.season.cuttings import reserve
from cropplan.season.demand import CropOption, Origin, Season

_ROUNDING = 1e-6

Pool = tuple[str, int | None]
"""Plants that are mothers alike: crop, and generation where that is capped."""

Way = tuple[int, int | None]
"""One way to raise a crop: the option's index, and the generation where that is capped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Most plants that could be struck or sown, by way and week.

    most : plants. by_mothers : whether it is mothers that limit them, not room.
    """

    most: dict[Way, list[int]]
    by_mothers: dict[Way, list[bool]]


def mother_class(crop: str, generation: int | None) -> Pool:
    """The pool of mothers that cuttings of a generation are taken from."""
    return crop, None if generation is None else generation - 1


def generation_cap(season: Season, crop: str) -> int | None:
    """Highest generation of the crop that may be struck; None without a limit."""
    caps = [
        option.mothering.generation_cap
        for option in season.options
        if option.crop == crop
        and option.mothering is not None
        and option.mothering.generation_cap is not None
    ]
    return min(caps) if caps else None


def shoots_standing(season: Season) -> dict[Pool, list[float]]:
    """Cuttings that what stands could give each week if all of it were kept."""
    shoots: dict[Pool, list[float]] = defaultdict(lambda: [0.0] * season.weeks)
    for planting in season.standing:
        capped = generation_cap(season, planting.crop) is not None
        pool = (planting.crop, planting.generation if capped else None)
        last = min(planting.fit_until, planting.until, season.weeks) if planting.propagate else 0
        for week in range(max(0, planting.fit_from), last):
            shoots[pool][week] += planting.count * planting.shoots
    return shoots


def promised_cuttings(season: Season) -> dict[tuple[str, int | None, int], float]:
    """Cuttings that strikings already decided will take, by mothers' pool and week.

    They are promised no more than the mothers could give if all of them were kept.
    """
    promised: dict[tuple[str, int | None, int], float] = defaultdict(float)
    for planting in season.standing:
        if planting.struck is not None and 0 <= planting.struck < season.weeks:
            capped = generation_cap(season, planting.crop) is not None
            pool = mother_class(planting.crop, planting.generation if capped else None)
            promised[(*pool, planting.struck)] += planting.cuttings
    most = shoots_standing(season)
    return {key: min(owed, most[key[:2]][key[2]]) for key, owed in promised.items()}


def reach_of(season: Season) -> Reach:
    """The most plants that could be struck or sown in every week, every way."""
    reach = Reach(most={}, by_mothers={})
    shoots = shoots_standing(season)
    grown: dict[Pool, list[float]] = defaultdict(lambda: [0.0] * season.weeks)
    promised = promised_cuttings(season)
    ways = [
        (index, generation)
        for index, option in enumerate(season.options)
        for generation in _generations(season, option)
    ]
    for way in ways:
        reach.most[way], reach.by_mothers[way] = [0] * season.weeks, [False] * season.weeks
    for week in range(season.weeks):
        for index, generation in ways:
            option = season.options[index]
            most = room = _room(season, option, week)
            if option.origin is Origin.STRUCK:
                pool = mother_class(option.crop, generation)
                given = shoots[pool][week] + grown[pool][week] - promised.get((*pool, week), 0.0)
                cuttings = reserve(option.success, option.certainty)
                most = max(0, min(room, floor(given / cuttings + _ROUNDING)))
            reach.most[index, generation][week] = most
            reach.by_mothers[index, generation][week] = most < room
            _grow(season, option, week, most, grown[option.crop, generation])
    return reach


def unlimited_reach(season: Season) -> Reach:
    """Every way in every week in which anything may be started, whatever mothers and room allow."""
    ways = [
        (index, generation)
        for index, option in enumerate(season.options)
        for generation in _generations(season, option)
    ]
    free = [int(season.may_start(week)) for week in range(season.weeks)]
    return Reach(
        most={way: list(free) for way in ways},
        by_mothers={way: [False] * season.weeks for way in ways},
    )


def _generations(season: Season, option: CropOption) -> list[int | None]:
    cap = generation_cap(season, option.crop)
    if cap is None:
        return [None]
    return [0] if option.origin is Origin.SOWN else list(range(1, cap + 1))


def _room(season: Season, option: CropOption, week: int) -> int:
    """Most plants the places and trays would take from one week's striking."""
    if not season.may_start(week):
        return 0
    room = {kind.kind: kind.capacity for kind in season.kinds}
    most = sum(max(room[kind]) for kind in option.kinds)
    if option.tray is not None and option.tray_weeks[week] > 0:
        cuttings = reserve(option.success, option.certainty)
        most = min(most, floor(room[option.tray][week] / cuttings + _ROUNDING))
    return most


def _grow(season: Season, option: CropOption, week: int, plants: int, shoots: list[float]) -> None:
    """Add what plants struck in a week could give as mothers, were they kept to the last."""
    mothering = option.mothering
    if mothering is None or not plants:
        return
    room = {kind.kind: max(kind.capacity) for kind in season.kinds}
    most = mothering.shoots * sum(room.values())
    ready = week + option.tray_weeks[week]
    last = ready + option.hold_weeks + mothering.fit_until
    for later in range(max(ready + mothering.fit_from, week + 1), min(last, season.weeks)):
        shoots[later] = min(most, shoots[later] + plants * mothering.shoots)
