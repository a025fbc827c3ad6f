"""Houses, water loops, places and times away: what entries make of them, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from cropplan.holding import entry
from cropplan.holding.entry import (
    Act,
    Drained,
    Fed,
    HouseSet,
    LoopSet,
    LoopTurned,
    Lost,
    PlaceRetired,
    PlacesAdded,
    PlaceSet,
    Pulled,
    SetBack,
    TemperaturesRead,
    Tended,
    WentAway,
)
from cropplan.holding.house import Absence, DayTemperature, Setback
from cropplan.holding.loop import LoopState
from cropplan.holding.place import Care, PlaceKind
from cropplan.problems import Refusal
from tests.builders import HOUSE, LOOP, START, after, bare_house, bearing, held, on, struck


def test_places_stand_in_walking_order_behind_those_there_already() -> None:
    """The walking order is the order in which places were put in, house by house."""
    holding = held(bare_house(second=True))
    assert [holding.places[code].walk for code in ("B1", "B6", "C1", "T2")] == [1, 6, 7, 12]
    assert holding.places["S1"].walk == 1


def test_what_is_known_of_a_place_is_put_right_bit_by_bit() -> None:
    """None leaves a thing as it was."""
    place = held(
        bare_house(), on(START, PlaceSet(place="T1", holds=60, medium="coir", filled=after(-9)))
    ).places["T1"]
    assert (place.holds, place.medium, place.filled, place.loop) == (60, "coir", after(-9), None)


def test_a_change_of_medium_restarts_its_age_and_nothing_else_does() -> None:
    """Flush, top-up and disinfecting are other marks; they do not restart the change cycle."""
    changed = held(
        bare_house(),
        on(after(30), Tended(places=("B1",), care=Care.CHANGE, medium="coir")),
        on(after(40), Tended(places=("B1", "B2"), care=Care.FLUSH)),
        on(after(41), Tended(places=("B1", "B2"), care=Care.TOP_UP)),
        on(after(42), Tended(places=("B1", "B2"), care=Care.DISINFECT)),
    )
    assert (changed.places["B1"].filled, changed.places["B1"].medium) == (after(30), "coir")
    assert (changed.places["B2"].filled, changed.places["B2"].medium) == (START, "perlite")


def test_a_change_written_late_does_not_undo_a_later_one() -> None:
    """The newest change counts, whichever was written first."""
    place = held(
        bare_house(),
        on(after(30), Tended(places=("B1",), care=Care.CHANGE, medium="coir")),
        on(after(20), Tended(places=("B1",), care=Care.CHANGE, medium="perlite")),
    ).places["B1"]
    assert (place.filled, place.medium) == (after(30), "coir")


@pytest.mark.parametrize(
    ("care", "day", "clean"),
    [
        (Care.CHANGE, after(91), True),
        (Care.DISINFECT, after(90), True),
        (Care.FLUSH, after(91), False),
        (Care.TOP_UP, after(91), False),
        (Care.CHANGE, after(89), False),
    ],
)
def test_only_what_cleanses_a_place_after_the_disease_lifts_the_suspicion(
    care: Care, day: date, clean: bool
) -> None:
    """A place stays suspect until its medium was changed or disinfected, not before the disease."""
    holding = held(
        bare_house(),
        bearing(),
        on(after(90), Pulled(tag="tom1", why="disease")),
        on(day, Tended(places=("B1",), care=care)),
    )
    assert (holding.places["B1"].disease_on is None) is clean


def test_feed_adds_up_until_the_solids_are_drained() -> None:
    """The filter's load is what was fed since it was drained."""
    fed = [on(after(1), Fed(loop="main", grams=30)), on(after(2), Fed(loop="main", grams=20))]
    assert held(bare_house(), *fed).loops["main"].fed_since_drain_g == 50
    drained = held(bare_house(), *fed, on(after(2), Drained(loop="main", litres=8)))
    assert drained.loops["main"].fed_since_drain_g == 0


def test_a_feed_or_a_drain_written_late_is_history() -> None:
    """Yesterday's feed does not hide today's feeder, nor load a filter that was emptied since."""
    loop = held(
        bare_house(),
        on(after(3), Fed(loop="main", grams=30), by="Ann"),
        on(after(3), Drained(loop="main")),
        on(after(4), Fed(loop="main", grams=25), by="Ann"),
        on(after(2), Fed(loop="main", grams=40), by="Ben"),
        on(after(1), Drained(loop="main")),
    ).loops["main"]
    assert (loop.last_fed, loop.last_fed_by, loop.fed_since_drain_g) == (after(4), "Ann", 25)


def test_changing_a_loop_keeps_what_was_fed() -> None:
    """Setting a ration says nothing about the last feed."""
    bigger = replace(LOOP, volume_l=1500.0, feed_g=40.0)
    loop = held(
        bare_house(),
        on(after(3), Fed(loop="main", grams=30), by="Ann"),
        on(after(4), LoopSet(loop=bigger)),
    ).loops["main"]
    assert (loop.volume_l, loop.last_fed, loop.fed_since_drain_g) == (1500.0, after(3), 30)


def test_a_loop_turns_fallow_and_back() -> None:
    """Stocked, cycling and fallow are told, not guessed."""
    holding = held(bare_house(), on(after(3), LoopTurned(loop="main", state=LoopState.FALLOW)))
    assert holding.loops["main"].state is LoopState.FALLOW


def test_the_newest_test_counts_and_zero_is_a_value() -> None:
    """Zero is a value, blank is not; an older test written late is history."""
    tests = held(
        bare_house(),
        on(after(5), entry.Tested(loop="main", values={"nitrite": 0.0, "ph": 6.9})),
        on(after(4), entry.Tested(loop="main", values={"ph": 7.4, "ammonia": 0.5})),
    ).tests
    assert {key: test.value for (_, key), test in tests.items()} == {
        "nitrite": 0.0,
        "ph": 6.9,
        "ammonia": 0.5,
    }


def test_a_place_goes_out_of_service_once_it_is_empty() -> None:
    """Its history remains, and it is not offered again."""
    holding = held(bare_house(), on(after(9), PlaceRetired(place="B6", why="cracked")))
    assert holding.places["B6"].retired_on == after(9)


def test_setbacks_and_absences_are_kept_in_the_order_written() -> None:
    """A time away and a time of no growth are given once and hold from then on."""
    lost = Setback(house="north", day=after(5), days=7, why="heater out")
    away = Absence(first=after(9), last=after(12), house="north")
    holding = held(bare_house(), on(after(6), SetBack(setback=lost), WentAway(absence=away)))
    assert (holding.setbacks, holding.absences) == ((lost,), (away,))


def _reading(low: float, high: float, house: str = "north") -> TemperaturesRead:
    return TemperaturesRead(
        readings=(DayTemperature(house=house, day=START, low_c=low, high_c=high),)
    )


_TWELVE = tuple(float(n) for n in range(12))


@pytest.mark.parametrize(
    ("act", "told"),
    [
        (
            HouseSet(house=replace(HOUSE, name="south")),
            "house number 1 is north; give south another",
        ),
        (
            HouseSet(house=replace(HOUSE, name="North", number=2)),
            "a house is called 'north' already; give 'North' another name",
        ),
        (
            HouseSet(house=replace(HOUSE, name="--", number=2)),
            "'--' is no name for a house; use letters or figures",
        ),
        (
            HouseSet(house=replace(HOUSE, clearness=(0.5,))),
            "normals are 12 figures, January to December; got 1",
        ),
        (
            HouseSet(house=replace(HOUSE, outside_low_c=_TWELVE)),
            "normals need both lows and highs",
        ),
        (LoopSet(loop=replace(LOOP, house="east")), "no house is called 'east'"),
        (
            LoopSet(loop=replace(LOOP, name="Ma-in")),
            "a water loop is called 'main' already; give 'Ma-in' another name",
        ),
        (LoopTurned(loop="mian", state=LoopState.FALLOW), "did you mean 'main'?"),
        (
            PlacesAdded(codes=("X1",), house="nort", kind=PlaceKind.POT),
            "no house is called 'nort'; did you mean 'north'?",
        ),
        (
            PlacesAdded(codes=("X1",), house="north", kind=PlaceKind.POT, holds=0),
            "a place holds at least 1 plant, got 0",
        ),
        (
            PlacesAdded(codes=("B1",), house="north", kind=PlaceKind.POT),
            "the place 'B1' is there already, in north",
        ),
        (
            PlacesAdded(codes=("X1", "X1"), house="north", kind=PlaceKind.POT),
            "the place 'X1' is there already",
        ),
        (
            PlacesAdded(codes=("b-1",), house="north", kind=PlaceKind.POT),
            "a place is called 'B1' already; give 'b-1' another name",
        ),
        (
            PlacesAdded(codes=("X1",), house="north", kind=PlaceKind.POT, loop="second"),
            "no water loop is called 'second'",
        ),
        (PlaceSet(place="B1", holds=0), "a place holds at least 1 plant, got 0"),
        (PlaceSet(place="B1", loop="second"), "no water loop is called 'second'"),
        (PlaceSet(place="B9"), "no place is called 'B9'"),
        (PlaceRetired(place="T1"), "T1 cannot be retired while tom1 stands there"),
        (Tended(places=("B1", "B9"), care=Care.FLUSH), "no place is called 'B9'"),
        (Fed(loop="main", grams=-1), "a feed cannot be -1 g"),
        (Fed(loop="pond", grams=1), "no water loop is called 'pond'"),
        (Drained(loop="pond"), "no water loop is called 'pond'"),
        (Drained(loop="main", litres=-2), "a volume of -2 L cannot be drained"),
        (entry.Tested(loop="pond"), "no water loop is called 'pond'"),
        (_reading(12, 4), "north on 2026-03-02: the low (12 °C) is above the high (4 °C)"),
        (_reading(4, 12, "east"), "no house is called 'east'"),
        (
            SetBack(setback=Setback(house="east", day=START, days=3, why="frost")),
            "no house is called 'east'",
        ),
        (
            SetBack(setback=Setback(house="north", day=START, days=0, why="frost")),
            "a setback costs 1 to 60 days of growth, got 0",
        ),
        (
            WentAway(absence=Absence(first=after(9), last=after(8))),
            "away from 2026-03-11 to 2026-03-10: the end is before the beginning",
        ),
        (
            WentAway(absence=Absence(first=after(8), last=after(9), house="east")),
            "no house is called 'east'",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(act: Act, told: str) -> None:
    """A refusal says what is wrong, where, and what would be right."""
    with pytest.raises(Refusal) as refused:
        held(bare_house(), struck("tom1"), on(after(1), act))
    assert told in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_retired_place_cannot_be_retired_or_tended_again() -> None:
    """Out of service means out of service."""
    gone = [bare_house(), on(after(1), PlaceRetired(place="B1"))]
    for act in (PlaceRetired(place="B1"), Tended(places=("B1",), care=Care.CHANGE)):
        with pytest.raises(Refusal, match="B1 is out of service since 2026-03-03"):
            held(*gone, on(after(2), act))


def test_a_house_may_be_set_again_under_its_own_name_and_number() -> None:
    """Changing the heating is no new house."""
    warmer = replace(HOUSE, day_c=24.0, outside_low_c=_TWELVE, outside_high_c=_TWELVE)
    holding = held(bare_house(second=True), on(after(1), HouseSet(house=warmer)))
    assert (holding.houses["north"].day_c, list(holding.houses)) == (24.0, ["north", "south"])


def test_a_loss_without_a_word_says_nothing_against_the_place() -> None:
    """No reason is no suspicion."""
    holding = held(bare_house(), bearing(), on(after(90), Lost(tag="tom1", count=1)))
    assert holding.places["B1"].disease_on is None
