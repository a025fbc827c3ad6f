"""An account of a plan that trusts nothing but the season and the plan itself.

It walks the weeks, stands every plant in its place, counts shoots and picks, and says where the
plan breaks a rule. It shares no code with the programme or the greedy planner, so that a slip in
either shows.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass

from cropplan.season.cost import Cost
from cropplan.season.cuttings import reserve
from cropplan.season.demand import CropOption, Origin, Season, Standing
from cropplan.season.draft import Draft, Keep, Strike

Pool = tuple[str, int | None, int]
"""A pool of mothers: crop, their generation where it is capped, and week."""

_ROUNDING = 1e-6  # Sums of whole plants times a decimal rate.


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """What a plan does, week by week.

    picks : expected pick by goal and week. [unit per week]
    standing : places taken by kind and week, trays among them, resting places counted. [plant]
    cost : what it misses and takes.
    """

    picks: tuple[tuple[float, ...], ...]
    standing: dict[str, tuple[float, ...]]
    cost: Cost


def account(season: Season, draft: Draft) -> Account:
    """Picks, places taken and cost of a plan, recomputed from nothing."""
    picks = [[0.0] * season.weeks for _ in season.goals]
    alive: dict[str, Counter[int]] = defaultdict(Counter)
    for strike in draft.strikes:
        option = option_of(season, strike)
        for week in range(max(0, strike.first_pick), min(strike.pulled, season.weeks)):
            age = week - strike.first_pick
            pick = option.curve[age] * option.light[week] if age < len(option.curve) else 0.0
            _credit(season, picks, strike.crop, week, strike.plants * pick)
        for week in range(strike.strike, strike.pulled):
            alive[strike.crop][week] += strike.plants
    for keep in draft.keeps:
        planting = _planting(season, keep)
        for week in range(min(keep.pulled, season.weeks, len(planting.picks))):
            _credit(season, picks, planting.crop, week, keep.plants * planting.picks[week])
        for week in range(max(0, planting.struck or 0), keep.pulled):
            alive[planting.crop][week] += keep.plants
    return Account(
        picks=tuple(tuple(row) for row in picks),
        standing={kind: tuple(row) for kind, row in _places_taken(season, draft).items()},
        cost=_cost(season, draft, picks, alive),
    )


def faults(season: Season, draft: Draft) -> tuple[str, ...]:
    """Every rule the plan breaks, in words; none when it can be carried out."""
    return (
        *_timing_faults(season, draft),
        *_room_faults(season, draft),
        *_mother_faults(season, draft),
        *_count_faults(season, draft),
    )


def option_of(season: Season, strike: Strike) -> CropOption:
    """The way of raising a crop that a strike follows."""
    for option in season.options:
        same = option.crop == strike.crop and option.origin is strike.origin
        if same and strike.kind in option.kinds and strike.tray == option.tray:
            return option
    raise KeyError(f"no way is known to raise {strike.crop} as planned")


def _planting(season: Season, keep: Keep) -> Standing:
    return next(planting for planting in season.standing if planting.tag == keep.tag)


def _credit(season: Season, picks: list[list[float]], crop: str, week: int, amount: float) -> None:
    for index, goal in enumerate(season.goals):
        if crop in goal.crops and goal.from_week <= week < goal.until_week:
            picks[index][week] += amount


def _cost(
    season: Season, draft: Draft, picks: list[list[float]], alive: dict[str, Counter[int]]
) -> Cost:
    shortfall = glut = 0.0
    for goal, row in zip(season.goals, picks, strict=True):
        for week in range(goal.from_week, min(goal.until_week, season.weeks)):
            shortfall += goal.weight * max(0.0, goal.amount - row[week])
            glut += goal.weight * max(0.0, row[week] - season.glut_from * goal.amount)
    return Cost(
        shortfall=shortfall,
        glut=glut,
        plants=sum(strike.plants for strike in draft.strikes),
        striking_weeks=len({strike.strike for strike in draft.strikes}),
        dead_weeks=sum(
            max(0, wanted - alive[crop][week])
            for crop, wanted in season.kept_alive().items()
            for week in range(season.weeks)
        ),
    )


def _places_taken(season: Season, draft: Draft) -> dict[str, list[float]]:
    taken = {kind.kind: [0.0] * season.weeks for kind in season.kinds}
    gap = {kind.kind: kind.gap_weeks for kind in season.kinds}

    def stand(kind: str, first: int, until: int, plants: float) -> None:
        for week in range(max(0, first), min(until, season.weeks)):
            taken[kind][week] += plants

    for strike in draft.strikes:
        stand(strike.kind, strike.set_out, strike.pulled + gap[strike.kind], strike.plants)
        if strike.tray is not None:
            option = option_of(season, strike)
            kept = strike.plants * reserve(option.success, option.certainty)
            stand(strike.tray, strike.strike, strike.set_out, kept)
    for keep in draft.keeps:
        planting = _planting(season, keep)
        if keep.pulled > planting.set_out:
            until = keep.pulled + gap[planting.kind]
            stand(planting.kind, planting.set_out, until, keep.plants)
    for planting in season.standing:
        if planting.tray is not None:
            stand(planting.tray, planting.struck or 0, planting.set_out, planting.tray_places)
    return taken


def _timing_faults(season: Season, draft: Draft) -> list[str]:
    found = []
    for strike in draft.strikes:
        option = option_of(season, strike)
        name = f"{strike.crop} struck in week {strike.strike}"
        if not season.frozen_weeks <= strike.strike < season.weeks or strike.strike in season.away:
            found.append(f"{name}: nothing may be started that week")
            continue
        hold = strike.set_out - strike.strike - option.tray_weeks[strike.strike]
        if not 0 <= hold <= (option.hold_weeks if strike.tray is not None else 0):
            found.append(f"{name}: set out after {hold} weeks of waiting")
        if strike.set_out in season.away | season.not_setting_out:
            found.append(f"{name}: set out in week {strike.set_out}, when nothing is")
        if strike.first_pick != strike.strike + option.lead_weeks[strike.strike] + hold:
            found.append(f"{name}: first pick in week {strike.first_pick}")
        if strike.pulled <= strike.first_pick:
            found.append(f"{name}: pulled before it is picked")
        if strike.pulled < season.weeks and strike.pulled in season.away:
            found.append(f"{name}: pulled in week {strike.pulled}, when all are away")
    return found


def _room_faults(season: Season, draft: Draft) -> list[str]:
    taken = _places_taken(season, draft)
    return [
        f"week {week}: {taken[kind.kind][week]:g} plants in {kind.capacity[week]} of {kind.kind}"
        for kind in season.kinds
        for week in range(season.weeks)
        if taken[kind.kind][week] > kind.capacity[week] + _ROUNDING
    ]


def _mother_faults(season: Season, draft: Draft) -> list[str]:
    given, promised = _shoots_given(season, draft), _cuttings_promised(season)
    taken: dict[Pool, float] = defaultdict(float)
    found = []
    for strike in draft.strikes:
        option = option_of(season, strike)
        cap = option.mothering.generation_cap if option.mothering is not None else None
        if cap is not None and (strike.generation is None or strike.generation > cap):
            found.append(f"{strike.crop} struck in week {strike.strike}: past generation {cap}")
        if strike.origin is Origin.STRUCK:
            parent = None if strike.generation is None else strike.generation - 1
            kept = strike.plants * reserve(option.success, option.certainty)
            taken[strike.crop, parent, strike.strike] += kept
    for pool in sorted(taken.keys() | promised.keys(), key=repr):
        cuttings = taken[pool] + promised.get(pool, 0.0)
        if cuttings > given[pool] + _ROUNDING:
            found.append(
                f"week {pool[2]}: {cuttings:g} cuttings of {pool[0]} "
                f"from mothers that give {given[pool]:g}"
            )
    return found


def _capped_crops(season: Season) -> set[str]:
    return {
        option.crop
        for option in season.options
        if option.mothering is not None and option.mothering.generation_cap is not None
    }


def _shoots_given(season: Season, draft: Draft) -> dict[Pool, float]:
    """Cuttings the fit mothers of each pool and week can give under the plan."""
    capped = _capped_crops(season)
    given: dict[Pool, float] = defaultdict(float)
    for keep in draft.keeps:
        planting = _planting(season, keep)
        generation = planting.generation if planting.crop in capped else None
        last = min(planting.fit_until, keep.pulled) if planting.propagate else 0
        for week in range(max(0, planting.fit_from), last):
            given[planting.crop, generation, week] += keep.plants * planting.shoots
    for strike in draft.strikes:
        mothering = option_of(season, strike).mothering
        if mothering is not None:
            first = max(strike.set_out + mothering.fit_from, strike.strike + 1)
            for week in range(first, min(strike.pulled, strike.set_out + mothering.fit_until)):
                given[strike.crop, strike.generation, week] += strike.plants * mothering.shoots
    return given


def _cuttings_promised(season: Season) -> dict[Pool, float]:
    """Cuttings of strikings already decided, as far as keeping every mother could serve them."""
    capped = _capped_crops(season)
    promised: dict[Pool, float] = defaultdict(float)
    for planting in season.standing:
        if planting.struck is not None and planting.struck >= 0:
            parent = planting.generation - 1 if planting.crop in capped else None
            promised[planting.crop, parent, planting.struck] += planting.cuttings
    every = Draft(
        strikes=(),
        keeps=tuple(Keep(tag=p.tag, plants=p.count, pulled=p.until) for p in season.standing),
    )
    most = _shoots_given(season, every)
    return {pool: min(cuttings, most[pool]) for pool, cuttings in promised.items()}


def _count_faults(season: Season, draft: Draft) -> list[str]:
    kept: Counter[str] = Counter()
    found = []
    for keep in draft.keeps:
        kept[keep.tag] += keep.plants
        planting = _planting(season, keep)
        early = keep.pulled < planting.until
        if keep.plants < 1 or keep.pulled > planting.until:
            found.append(f"{keep.tag}: {keep.plants} plants until week {keep.pulled}")
        barred = keep.pulled < season.frozen_weeks or keep.pulled in season.away
        if early and (not planting.pull_early or barred or keep.pulled < planting.set_out):
            found.append(f"{keep.tag}: may not be pulled in week {keep.pulled}")
        if not planting.splits and keep.plants != planting.count:
            found.append(f"{keep.tag}: may not be split")
    found.extend(
        f"{planting.tag}: {kept[planting.tag]} of {planting.count} plants end"
        for planting in season.standing
        if kept[planting.tag] != planting.count
    )
    found.extend(
        f"{strike.crop} struck in week {strike.strike}: {strike.plants} plants"
        for strike in draft.strikes
        if strike.plants < 1
    )
    return found
