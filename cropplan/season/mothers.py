"""How many cuttings each strike takes, and from which plants."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import ceil

from cropplan.season.cuttings import cuttings_for
from cropplan.season.demand import Origin, Season
from cropplan.season.draft import Draft, Strike
from cropplan.season.simulate import option_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """Cuttings taken from one planting: a standing one's tag, or the index of an earlier strike."""

    mother: int | str
    cuttings: int


@dataclass(slots=True)
class _Mother:
    name: int | str
    left: float


def cuttings_of(season: Season, draft: Draft) -> tuple[int, ...]:
    """Cuttings or seeds to start for each strike of a draft. [cutting]

    Plants of one crop started in the same week are one batch: spares serve all of them, so the
    batch needs fewer than its parts would alone. The parts share them in the draft's order.
    """
    plants: dict[tuple[str, Origin, int | None, int], int] = defaultdict(int)
    found = []
    for strike in draft.strikes:
        option = option_of(season, strike)
        batch = (strike.crop, strike.origin, strike.generation, strike.strike)
        before = plants[batch]
        plants[batch] = before + strike.plants
        upto = cuttings_for(before, option.success, option.certainty) if before else 0
        found.append(cuttings_for(plants[batch], option.success, option.certainty) - upto)
    return tuple(found)


def mothers_of(season: Season, draft: Draft) -> tuple[tuple[Taken, ...], ...]:
    """Plants each strike takes its cuttings from, those that can give most first.

    Sown strikes take from none.
    """
    needed = cuttings_of(season, draft)
    found: list[tuple[Taken, ...]] = [()] * len(draft.strikes)
    pools: dict[tuple[str, int | None, int], list[_Mother]] = {}
    for index, strike in enumerate(draft.strikes):
        if strike.origin is Origin.SOWN:
            continue
        key = (strike.crop, strike.generation, strike.strike)
        if key not in pools:
            pools[key] = _fit(season, draft, strike)
        found[index] = _take(pools[key], needed[index])
    return tuple(found)


def _take(pool: list[_Mother], cuttings: int) -> tuple[Taken, ...]:
    taken = []
    for mother in sorted(pool, key=lambda each: -each.left):
        part = min(cuttings, ceil(mother.left - 1e-6))
        if part > 0:
            taken.append(Taken(mother=mother.name, cuttings=part))
            mother.left -= part
            cuttings -= part
    return tuple(taken)


def _fit(season: Season, draft: Draft, strike: Strike) -> list[_Mother]:
    week = strike.strike
    parent = None if strike.generation is None else strike.generation - 1
    pool = []
    plants: dict[str, int] = defaultdict(int)
    for keep in draft.keeps:
        if keep.pulled > week:
            plants[keep.tag] += keep.plants
    for planting in season.standing:
        fit = planting.propagate and planting.fit_from <= week < planting.fit_until
        if planting.crop == strike.crop and fit and parent in {None, planting.generation}:
            pool.append(_Mother(planting.tag, plants[planting.tag] * planting.shoots))
    for index, earlier in enumerate(draft.strikes):
        mothering = option_of(season, earlier).mothering
        if earlier.crop != strike.crop or mothering is None:
            continue
        first = max(earlier.set_out + mothering.fit_from, earlier.strike + 1)
        until = min(earlier.pulled, earlier.set_out + mothering.fit_until)
        if first <= week < until and parent in {None, earlier.generation}:
            pool.append(_Mother(index, earlier.plants * mothering.shoots))
    return pool
