"""A real place for every planting, wishes kept where they cost no place."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cropplan.problems import Refusal
from cropplan.season.draft import Draft, Keep, Strike
from cropplan.season.places import Berth, Place, lay_out, places_needed
from tests.unit.season.season_builders import STANDS, TOMATO, option, season, standing

HOUSE = season(options=(option(), option("basil")))
FAMILIES = {"tomato": "nightshades", "basil": "mints"}
BUCKETS = tuple(Place(code=f"B{n}", kind="bucket", holds=1, walk=n) for n in range(1, 5))


def laid(
    *strikes: Strike,
    places: tuple[Place, ...] = BUCKETS,
    keeps: tuple[Keep, ...] = (STANDS,),
    stands: tuple[str, ...] = ("B2", "B3"),
) -> tuple[Berth, ...]:
    """The layout of some strikes beside the two standing tomatoes."""
    return lay_out(HOUSE, Draft(strikes=strikes, keeps=keeps), places, FAMILIES, {"tom1": stands})


def codes(berths: tuple[Berth, ...], item: int | str) -> set[str]:
    """Places that a planting has."""
    return {berth.code for berth in berths if berth.item == item}


def test_what_stands_keeps_its_place_and_the_rest_fills_the_gaps() -> None:
    """The two standing plants are where they are; the two struck ones take the others."""
    berths = laid(TOMATO)
    assert codes(berths, "tom1") == {"B2", "B3"}
    assert codes(berths, 0) == {"B1", "B4"}
    assert [b.until_week for b in berths if b.item == "tom1"] == [5, 5]


def test_a_place_is_taken_again_in_the_week_it_is_freed() -> None:
    """Spans are half open: out in week 5, the next in week 5."""
    berths = laid(replace(TOMATO, plants=4, set_out=5, first_pick=7))
    assert codes(berths, 0) == {"B1", "B2", "B3", "B4"}


def test_a_planting_without_a_place_is_refused() -> None:
    """Five plants find no room in four buckets, and the words say where and when."""
    with pytest.raises(Refusal, match="tomato: no place in any bucket from week 3 to week 9"):
        laid(replace(TOMATO, plants=3))


def test_resting_places_are_not_given_out() -> None:
    """A place that rests two weeks after a planting is free only then."""
    resting = season(gap=2, options=(option(),))
    draft = Draft(strikes=(replace(TOMATO, plants=4, set_out=6),), keeps=(STANDS,))
    with pytest.raises(Refusal, match="no place in any bucket"):
        lay_out(resting, draft, BUCKETS, FAMILIES, {"tom1": ("B2", "B3")})


def test_plants_of_one_planting_stand_together() -> None:
    """From two free ends of the walk, both take the same end."""
    row = tuple(Place(code=f"B{n}", kind="bucket", holds=1, walk=n) for n in (1, 5, 6, 9))
    berths = laid(TOMATO, places=row, keeps=(), stands=())
    assert codes(berths, 0) == {"B1", "B5"}
    shared = (Place(code="T1", kind="bucket", holds=3, walk=1), *row)
    together = laid(TOMATO, places=shared, keeps=(), stands=())
    assert [(b.code, b.plants) for b in together] == [("T1", 2)]


def test_a_planting_goes_beside_its_own_crop() -> None:
    """A place next to standing tomatoes is preferred to the first in the walk."""
    row = tuple(Place(code=f"B{n}", kind="bucket", holds=1, walk=n) for n in range(1, 7))
    berths = laid(replace(TOMATO, plants=1), places=row, stands=("B4", "B5"))
    assert codes(berths, 0) == {"B3"}


def test_a_family_does_not_follow_itself_in_a_sick_place() -> None:
    """The sick bucket goes to the basil; with nothing else free it is used, and marked."""
    sick = (replace(BUCKETS[0], diseased=True, last_family="nightshades"), *BUCKETS[1:])
    one = replace(TOMATO, plants=1)
    assert codes(laid(one, places=sick), 0) == {"B4"}
    basil = replace(one, crop="basil")
    assert codes(laid(basil, places=sick), 0) == {"B1"}
    full = laid(TOMATO, places=sick)
    assert {b.code for b in full if b.again} == {"B1"}


def test_a_place_that_closes_is_not_given_past_that_week() -> None:
    """B1 is taken out in week 8, so what stays until 9 goes elsewhere and a shorter one fits."""
    closing = (replace(BUCKETS[0], closes=8), *BUCKETS[1:])
    one = replace(TOMATO, plants=1)
    assert codes(laid(one, places=closing), 0) == {"B4"}
    assert codes(laid(replace(one, pulled=7), places=closing), 0) == {"B1"}


def test_a_planting_thrown_away_at_once_takes_no_place() -> None:
    """Plants still in the tray that are given up are never set out."""
    waiting = season(standing=(standing("tom2", set_out=2, tray="tray", tray_places=2),))
    draft = Draft(strikes=(), keeps=(Keep(tag="tom2", plants=2, pulled=2),))
    assert lay_out(waiting, draft, BUCKETS, FAMILIES, {}) == ()


def test_places_needed_is_the_most_that_overlap() -> None:
    """Three spans, two at once; spans that only touch do not overlap."""
    assert places_needed([(0, 4), (3, 6), (4, 8)]) == 2
    assert places_needed([(0, 4), (4, 8)]) == 1
    assert places_needed([(2, 2)]) == 0
