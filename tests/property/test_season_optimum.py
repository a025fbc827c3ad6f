"""The planner against every plan there is, on seasons small enough to try them all."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import pytest
from hypothesis import HealthCheck, assume, event, given, settings

from cropplan.problems import Refusal
from cropplan.season.demand import CropOption, Origin, Season
from cropplan.season.draft import Draft, Keep, Strike
from cropplan.season.options import options_of
from cropplan.season.plannable import refuse_unplannable
from cropplan.season.search import exact_search
from cropplan.season.simulate import account, faults
from tests.property.season_strategies import seasons

MOST_PLANS = 4000


def every_strike(season: Season) -> Iterator[Strike]:
    """One plant of everything that could be started, from the season's own figures."""
    for option in season.options:
        for week, hold, stay in product(
            range(season.weeks), range(option.hold_weeks + 1), option.stays
        ):
            if not waits_for_a_reason(season, option, week, hold):
                continue
            first_pick = week + option.lead_weeks[week] + hold
            pulled = first_pick + stay
            while pulled < season.weeks and (pulled in season.away or pulled < season.frozen_weeks):
                pulled += 1
            if first_pick < season.weeks:
                for generation in generations(season, option):
                    yield Strike(
                        crop=option.crop,
                        origin=option.origin,
                        kind="bucket",
                        tray=option.tray,
                        plants=1,
                        strike=week,
                        set_out=week + option.tray_weeks[week] + hold,
                        first_pick=first_pick,
                        pulled=pulled,
                        generation=generation,
                    )


def waits_for_a_reason(season: Season, option: CropOption, week: int, hold: int) -> bool:
    """Plants wait only as long as they must, or where striking that much later is barred."""
    ready = week + option.tray_weeks[week]
    barred = season.away | season.not_setting_out
    needed = next((h for h in range(hold + 1) if ready + h not in barred), hold)
    later = week + hold - needed
    may_strike_later = season.frozen_weeks <= later < season.weeks and later not in season.away
    return hold == needed or not may_strike_later


def generations(season: Season, option: CropOption) -> list[int | None]:
    """Clone generations to try: only a crop with a cap has any."""
    caps = [
        each.mothering.generation_cap
        for each in season.options
        if each.crop == option.crop and each.mothering and each.mothering.generation_cap
    ]
    if not caps:
        return [None]
    return [0] if option.origin is Origin.SOWN else list(range(1, min(caps) + 1))


def every_keep(season: Season) -> list[list[tuple[Keep, ...]]]:
    """For each standing planting, every way to end its plants."""
    ways: list[list[tuple[Keep, ...]]] = []
    for planting in season.standing:
        first = max(0, planting.set_out)
        last = min(planting.until, season.weeks)
        may = [
            week
            for week in range(first, last)
            if week not in season.away and week >= season.frozen_weeks
        ]
        weeks = [*may[:: season.pull_step], planting.until]
        if not planting.pull_early:
            weeks = [planting.until]
        if planting.splits and planting.count == 2:
            pairs = [(a, b) for a in weeks for b in weeks if a <= b]
            ways.append([tuple(keep(planting.tag, 1, week) for week in pair) for pair in pairs])
        else:
            ways.append([(keep(planting.tag, planting.count, week),) for week in weeks])
    return ways


def keep(tag: str, plants: int, pulled: int) -> Keep:
    """Plants kept until a week."""
    return Keep(tag=tag, plants=plants, pulled=pulled)


def possible(season: Season, strike: Strike) -> bool:
    """Whether the strike breaks no rule of time, looked at alone."""
    alone = Draft(strikes=(strike,), keeps=())
    return not any(
        "plants end" not in each and "mothers" not in each for each in faults(season, alone)
    )


def cheapest(season: Season) -> float | None:
    """The least cost of any plan, by trying them all; None when there are too many."""
    strikes = [each for each in every_strike(season) if possible(season, each)]
    tried = 0
    best = float("inf")
    for keeps in product(*every_keep(season)):
        flat = tuple(each for group in keeps for each in group)
        stack: list[tuple[int, tuple[Strike, ...]]] = [(0, ())]
        while stack:
            index, chosen = stack.pop()
            tried += 1
            if tried > MOST_PLANS:
                return None
            draft = Draft(strikes=chosen, keeps=flat)
            broken = faults(season, draft)
            if not broken:
                best = min(best, account(season, draft).cost.total)
            if any(" in " in each and "plants in" in each for each in broken):
                continue  # Places are over-full, and more plants cannot mend that.
            stack.extend((later, (*chosen, strikes[later])) for later in range(index, len(strikes)))
    return best


@settings(
    max_examples=200,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
@given(seasons())
def test_the_optimum_is_that_of_trying_every_plan(season: Season) -> None:
    """Brute force over raw strikes and endings, judged by the simulator, equals the programme."""
    try:
        refuse_unplannable(season)
    except Refusal:
        assume(False)
    least = cheapest(season)
    assume(least is not None)
    outcome = exact_search(season, options_of(season), nodes=100_000)
    event(f"strikes {len(outcome.draft.strikes)}")
    assert faults(season, outcome.draft) == ()
    assert account(season, outcome.draft).cost.total == pytest.approx(outcome.cost, abs=1e-6)
    assert outcome.cost == pytest.approx(least, abs=1e-5)
    assert outcome.bound <= outcome.cost + 1e-6
