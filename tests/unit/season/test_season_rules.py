"""The two growers' rules are played out under the same limits as a plan."""

from __future__ import annotations

import pytest

from cropplan.season.demand import Season
from cropplan.season.draft import Draft
from cropplan.season.rules import (
    best_interval,
    best_tired,
    play_interval,
    play_tired,
    typical_stay,
)
from cropplan.season.simulate import account, faults
from tests.benchmarks.season_instances import house
from tests.unit.season.season_builders import option, season, standing


def test_the_interval_rule_strikes_the_same_number_every_so_many_weeks() -> None:
    """Two tomatoes every second week, as long as mothers, trays and time allow."""
    lasting = standing(until=12, fit_until=12, picks=(1.0,) * 12)
    played = play_interval(season(places=9, standing=(lasting,)), {"tomato": (2, 2)})
    assert sorted({s.strike for s in played.draft.strikes}) == [0, 2, 4, 6]
    assert {s.plants for s in played.draft.strikes} == {2}
    assert played.struck == 8


def test_the_tired_rule_strikes_one_for_each_ageing_plant() -> None:
    """Two plants that end in week 5 are replaced once each, one stay ahead at trigger 0."""
    played = play_tired(season(), 0.0)
    first = played.draft.strikes[0]
    assert (first.strike, first.plants) == (1, 2)
    late = play_tired(season(), 0.75)
    assert min(s.strike for s in late.draft.strikes) == 4


def test_rooted_plants_take_the_place_of_the_oldest_tired_one() -> None:
    """With two buckets the second batch waits for the first to tire, or is thrown away."""
    lasting = standing("tom0", kind="bed", until=12, fit_until=12, picks=())
    crowded = season(
        places=2,
        kinds=(
            *season(places=2).kinds,
            type(season().kinds[0])(kind="bed", capacity=(2,) * 12),
        ),
        standing=(lasting,),
    )
    played = play_interval(crowded, {"tomato": (1, 2)})
    assert faults_of_room(crowded, played.draft) == []
    assert played.struck > sum(s.plants for s in played.draft.strikes)


def faults_of_room(where: Season, draft: Draft) -> list[str]:
    """Faults other than waiting in the tray, which the rules allow themselves."""
    return [each for each in faults(where, draft) if "waiting" not in each]


@pytest.mark.parametrize("seed", range(3))
def test_what_a_rule_says_it_missed_is_what_the_simulator_finds(seed: int) -> None:
    """Shortfall of the played rule and of its draft agree; no place is over-full."""
    where = house(weeks=40, places=30, tight=0.9, seed=seed)
    for played in (best_tired(where), play_interval(where, {"tomato": (2, 1), "basil": (3, 2)})):
        assert account(where, played.draft).cost.shortfall == pytest.approx(played.shortfall)
        assert faults_of_room(where, played.draft) == []


def test_the_search_for_an_interval_never_makes_it_worse() -> None:
    """The best rhythm misses no more than the one it starts from."""
    where = house(weeks=30, places=25, tight=0.9, seed=1)
    crops = {crop for goal in where.goals for crop in goal.crops}
    start = play_interval(where, dict.fromkeys(crops, (4, 1)))
    assert best_interval(where, passes=1).shortfall <= start.shortfall


def test_a_plant_is_tired_after_the_upper_middle_of_its_stays() -> None:
    """Of 2, 3, 4 and 5 weeks the typical one is 4."""
    assert typical_stay(option(stays=(5, 2, 3, 4), curve=(1.0,) * 5)) == 4
