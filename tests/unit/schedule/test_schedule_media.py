"""Media renewal: its age is the place's, its day the gap between crops, its limit hard."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from cropplan.catalogue.model import Medium
from cropplan.catalogue.read import read_catalogue
from cropplan.holding.entry import Entry, PlaceRetired, PlaceSet, Pulled, Skipped, Tended
from cropplan.holding.place import Care
from cropplan.holding.planting import Stage
from cropplan.holding.span import Basis
from cropplan.holding.task import State, SubjectKind, Task, subject
from tests.asking import asked, surely
from tests.builders import (
    START,
    after,
    bare_house,
    bearing,
    on,
    saw,
    seen_from,
    standing,
    struck,
)

PERLITE = read_catalogue([]).media["perlite"]


def days(medium: Medium, key: str) -> int:
    """A figure of a medium in whole days."""
    return round(medium.values[key].most if key == "hard_maximum" else medium.values[key].typical)


SOONEST = START + timedelta(days=round(PERLITE.values["life"].least))
USUAL = START + timedelta(days=days(PERLITE, "life"))
HARD = START + timedelta(days=days(PERLITE, "hard_maximum"))


def renewal_of(place: str, *entries: Iterable[Entry], today: date) -> Task:
    """The renewal of a place, where it must be asked for."""
    return surely("renew-medium", place, *entries, today=today)


def test_an_empty_place_is_renewed_once_its_medium_is_old_enough() -> None:
    """Better in the gap than under the next crop."""
    young = renewal_of("B1", today=after(30))
    assert (young.due, young.state) == (SOONEST, State.COMING)
    old = renewal_of("B1", today=SOONEST + timedelta(days=9))
    assert (old.due, old.state) == (SOONEST + timedelta(days=9), State.TODAY)
    older = renewal_of("B1", today=USUAL + timedelta(days=9))
    assert (older.due, older.latest, older.state) == (USUAL, HARD, State.TODAY)
    assert renewal_of("B1", today=HARD + timedelta(days=1)).state is State.LATE


def test_a_renewal_waits_for_the_end_of_the_crop() -> None:
    """It is not ordered while a crop is at full bearing."""
    start = SOONEST - timedelta(days=200)
    crop = bearing(start=start)
    today = start + timedelta(days=100)
    ends = seen_from(bare_house(), crop, today=today).timelines["tom1"].dates[Stage.SPENT]
    assert SOONEST <= ends.likely <= HARD
    renewal = renewal_of("B1", crop, today=today)
    assert (renewal.due, renewal.latest, renewal.basis) == (ends.likely, HARD, Basis.PREDICTED)
    assert renewal.why.endswith("kept for the gap when the crop ends")
    overdue = renewal_of("B1", crop, today=ends.likely + timedelta(days=3))
    assert overdue.due == ends.likely + timedelta(days=3)


def test_no_crop_puts_it_off_past_the_hard_maximum() -> None:
    """`Change between crops` is the rule, with a hard maximum."""
    start = HARD - timedelta(days=150)
    renewal = renewal_of("B1", bearing(start=start), today=start + timedelta(days=100))
    assert (renewal.due, renewal.latest) == (HARD, HARD)
    assert "no gap known before the hard limit" in renewal.why


def test_a_crop_whose_end_is_unknown_leaves_only_the_limit() -> None:
    """One plant of unknown age among others leaves the gap unknown."""
    both = [*standing("tom1", "W1"), *bearing("tom2", "W1")]
    tended = on(START, PlaceSet(place="W1", medium="perlite", filled=START))
    assert renewal_of("W1", tended, both, today=after(120)).due == HARD


def test_the_age_is_the_places_own() -> None:
    """Changed early, in one bucket only: that clock restarts, and no other."""
    changed = on(after(100), Tended(places=("B1",), care=Care.CHANGE))
    assert renewal_of("B1", changed, today=after(101)).due == SOONEST + timedelta(days=100)
    assert renewal_of("B1", changed, today=after(101)).key.turn == 2
    assert renewal_of("B2", changed, today=after(101)).due == SOONEST


def test_flushing_and_topping_up_leave_the_renewal_where_it_was() -> None:
    """Different marks; they do not restart the cycle."""
    before = renewal_of("B1", today=after(101))
    for care in (Care.FLUSH, Care.TOP_UP):
        tended = on(after(100), Tended(places=("B1",), care=care))
        assert renewal_of("B1", tended, today=after(101)) == before


def test_a_medium_found_good_begins_its_time_anew() -> None:
    """Not needed is not the same as skipped."""
    place = subject(SubjectKind.PLACE, "B1")
    good = on(
        USUAL,
        Skipped(duty="renew-medium", subjects=(place,), why="still open", not_needed=True),
    )
    assert renewal_of("B1", good, today=USUAL).due == SOONEST + (USUAL - START)


def test_a_skipped_renewal_is_asked_about_a_week_later() -> None:
    """Skipping is not doing."""
    place = subject(SubjectKind.PLACE, "B1")
    skip = on(USUAL, Skipped(duty="renew-medium", subjects=(place,), why="no perlite"))
    again = renewal_of("B1", skip, today=USUAL)
    assert (again.due, again.key.turn) == (USUAL + timedelta(days=7), 2)
    assert "(no perlite)" in again.why


def test_disease_makes_it_urgent_until_the_place_is_cleansed() -> None:
    """Change or disinfect now; a disinfected place keeps its old day."""
    ill = [*bearing(), *on(after(90), Pulled(tag="tom1", why="disease"))]
    urgent = renewal_of("B1", ill, today=after(90))
    assert (urgent.due, urgent.state) == (after(90), State.TODAY)
    assert renewal_of("B1", ill, today=after(92)).state is State.LATE
    clean = on(after(91), Tended(places=("B1",), care=Care.DISINFECT))
    assert renewal_of("B1", ill, clean, today=after(92)).due == SOONEST
    changed = on(after(91), Tended(places=("B1",), care=Care.CHANGE))
    assert renewal_of("B1", ill, changed, today=after(92)).due == SOONEST + timedelta(days=91)


def test_places_without_a_medium_or_a_date_or_a_use_ask_for_nothing() -> None:
    """Unknown stays unknown; what is out of service is left alone."""
    unknown = on(START, PlaceSet(place="T1", medium="perlite"))
    assert asked("renew-medium", "T1", unknown, today=after(900)) is None
    assert asked("renew-medium", "C1", today=after(900)) is None
    gone = on(after(9), PlaceRetired(place="B1"))
    assert asked("renew-medium", "B1", gone, today=after(900)) is None


def test_a_tray_is_free_when_its_plants_are_set_out() -> None:
    """Cuttings leave their tray when they are set out, not when they are spent."""
    tray = on(START, PlaceSet(place="T1", medium="perlite", filled=START))
    late = SOONEST - timedelta(days=5)
    cuttings = struck("tom1", late)
    day = seen_from(bare_house(), cuttings, today=late).timelines["tom1"].dates[Stage.SET_OUT]
    assert renewal_of("T1", tray, cuttings, today=late).due == day.likely
    rooted = saw("tom1", Stage.ROOTED, late + timedelta(days=9))
    assert renewal_of("T1", tray, cuttings, rooted, today=late + timedelta(days=9)).due > late


def test_the_words_name_the_medium_and_carry_its_cautions() -> None:
    """Perlite dust and hot water are the perlite's own dangers."""
    renewal = renewal_of("B1", today=after(30))
    assert renewal.job == "Renew the perlite"
    assert {"lifting", "dust", "hot-water-perlite"} <= set(renewal.cautions)
    coir = on(START, PlaceSet(place="B2", medium="coir"))
    assert "hot-water-perlite" not in renewal_of("B2", coir, today=after(30)).cautions
