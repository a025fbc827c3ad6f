"""Cuttings that wait too long."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from cropplan.holding.entry import Lost, Skipped
from cropplan.holding.planting import Stage
from cropplan.holding.task import State
from cropplan.schedule.giving_up import share_to_come
from tests.builders import (
    START,
    about,
    after,
    bare_house,
    bearing,
    held,
    on,
    saw,
    scene,
    struck,
    task,
)

TRAY = [*bare_house(), *struck("tom1", count=6)]


def test_a_tray_long_past_its_time_is_asked_about() -> None:
    """The question opens when fewer than one in five can still root; it says how few."""
    assert task(scene(held(TRAY), after(10)), "give-up", "tom1") is None
    late = scene(held(TRAY), after(30))
    now = task(late, "give-up", "tom1")
    assert now is not None
    assert now.state is State.TODAY
    day_before = scene(held(TRAY), now.due - timedelta(days=1))
    assert task(day_before, "give-up", "tom1") is None
    assert now.job == "Give up 6 tomato cuttings, strike again"
    chance = share_to_come(late, late.catalogue.crops["tomato"], late.holding.plantings["tom1"])
    assert chance < 0.2
    assert f"{chance:.0%} chance left of rooting" in now.why


def test_what_has_rooted_is_not_given_up() -> None:
    """Of a tray that rooted in part only the rest is asked about, and nothing when all did."""
    part = scene(held(TRAY, saw("tom1", Stage.ROOTED, after(12), 4)), after(60))
    asked = task(part, "give-up", "tom1")
    assert asked is not None
    assert asked.plants == 2
    whole = scene(held(TRAY, saw("tom1", Stage.ROOTED, after(12))), after(60))
    assert task(whole, "give-up", "tom1") is None


def test_the_longer_cuttings_wait_the_fewer_are_counted_on() -> None:
    """A cutting long past its time is likelier dead than slow (the mixture cure model)."""
    shares = []
    for days in (1, 14, 21, 28, 60):
        seen = scene(held(TRAY), after(days))
        crop = seen.catalogue.crops["tomato"]
        shares.append(share_to_come(seen, crop, seen.holding.plantings["tom1"]))
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0.9
    assert shares[-1] < 0.05


def test_a_hopeless_tray_opens_the_strike_again() -> None:
    """Successors that will hardly root are no successors: the strike they stood for comes back."""
    old = [*bare_house(), *bearing("tom1", "B1", start=START - timedelta(days=84))]
    day = scene(held(old), after(1))
    wanted = task(day, "strike", "tom1")
    assert wanted is not None
    followed = [*old, *struck("tom2", wanted.due, count=1, parent="tom1")]
    fresh = scene(held(followed), wanted.due + timedelta(days=1))
    assert task(fresh, "strike", "tom1") is None
    stale = scene(held(followed), wanted.due + timedelta(days=60))
    again = task(stale, "strike", "tom1")
    assert again is not None
    assert again.key == wanted.key


def test_losing_the_last_of_a_tray_ends_the_question() -> None:
    """A closed batch asks for nothing more."""
    gone = held(TRAY, on(after(20), Lost(tag="tom1", count=6, why="damped off")))
    assert task(scene(gone, after(60)), "give-up", "tom1") is None


def test_going_on_waiting_is_asked_about_again_or_settled() -> None:
    """Skipped, the question comes back in a week; found not needed, it does not."""
    asked = task(scene(held(TRAY), after(60)), "give-up", "tom1")
    assert asked is not None
    skip = Skipped(duty="give-up", subjects=(about("tom1"),), why="one swells")
    again = task(scene(held(TRAY, on(after(60), skip)), after(61)), "give-up", "tom1")
    assert again is not None
    assert (again.due, again.key.turn) == (after(67), 2)
    settled = on(after(60), replace(skip, not_needed=True))
    assert task(scene(held(TRAY, settled), after(90)), "give-up", "tom1") is None
