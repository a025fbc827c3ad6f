"""The house's yields as its own pickings show them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cropplan.catalogue.read import read_catalogue
from cropplan.growth.chance import Spread
from cropplan.growth.learning import belief_from
from cropplan.growth.stages import Weather
from cropplan.holding.planting import Planting
from cropplan.schedule.attained import Attained, Pick, WeekSeen, attained_by
from cropplan.schedule.harvest import anchor_of, pick_of_plants
from tests.builders import START, after, bare_house, bearing, seen_from

SCENE = seen_from([*bare_house(), *bearing("tom1", "B1", start=START)], today=after(300))
TOMATO = SCENE.catalogue.crops["tomato"]
FIRST = after(90)


def weather_of(_: Planting) -> Weather:
    """The usual weather of the house."""
    return SCENE.weathers["north"]


def learnt(picks: list[Pick]) -> Spread | None:
    """What picks of the one tomato teach."""
    told = attained_by(TOMATO, SCENE.holding.plantings, picks, weather_of)
    return None if told is None else told.spread


def should_give(day: date, days: int) -> float:
    """What the forecast gives one plant in days up to a day. [kg]"""
    anchor = anchor_of(TOMATO)
    assert anchor is not None
    monday = day - timedelta(days=day.weekday())
    return pick_of_plants(TOMATO, anchor, 1.0, monday, weather_of(None)).likely * days / 7  # type: ignore[arg-type]


def weekly(times: float, weeks: int, *, weighed: bool = True) -> list[Pick]:
    """A pick each week that brings so many times the forecast."""
    days = [FIRST + timedelta(weeks=n) for n in range(weeks)]
    return [
        Pick(tag="tom1", day=day, amount=times * should_give(day, 7) if weighed else None)
        for day in days
    ]


def test_a_house_that_gives_half_as_much_again_is_believed_after_some_weeks() -> None:
    """One week is a hint, forty are a fact, and the span closes."""
    few, many = learnt(weekly(1.5, 3)), learnt(weekly(1.5, 40))
    assert few is not None
    assert many is not None
    assert 1.2 < few.median < 1.5
    assert many.median == pytest.approx(1.5, rel=0.02)
    widths = [told.ratio_at(0.9) - told.ratio_at(0.1) for told in (few, many)]
    assert widths[1] < widths[0]


def test_what_nobody_weighed_teaches_nothing() -> None:
    """A ticked pick says that it was picked, not how much."""
    assert learnt(weekly(1.0, 20, weighed=False)) is None
    assert learnt([]) is None


def test_an_unweighed_pick_still_ends_the_growing_of_the_one_before() -> None:
    """Weighed every second week only: each weighed pick grew for one week, not two."""
    mixed = [
        Pick(tag=p.tag, day=p.day, amount=p.amount if n % 2 else None)
        for n, p in enumerate(weekly(1.0, 40))
    ]
    told = learnt(mixed)
    assert told is not None
    assert told.median == pytest.approx(1.0, rel=0.05)


def test_a_pick_after_a_gap_of_months_says_nothing() -> None:
    """Whatever grew meanwhile was picked unwritten, or rotted."""
    first = Pick(tag="tom1", day=FIRST, amount=1.0)
    late = Pick(tag="tom1", day=FIRST + timedelta(days=60), amount=1.0)
    assert learnt([first, late]) is None


def test_dull_weeks_speak_for_dull_weeks_and_bright_ones_for_bright() -> None:
    """A house that gives twice the forecast in winter and half of it in summer."""
    winter = [WeekSeen(ratio=2.0, dli=6.0)] * 20
    summer = [WeekSeen(ratio=0.5, dli=25.0)] * 20
    told = Attained(prior=belief_from(0.6, 1.0, 1.4), weeks=(*winter, *summer))
    assert told.spread_at(6.0).median == pytest.approx(2.0, rel=0.05)
    assert told.spread_at(25.0).median == pytest.approx(0.5, rel=0.05)
    assert told.spread.median == pytest.approx(1.0, rel=0.05)
    # Of light that was never seen, nothing is known but what the catalogue says.
    assert told.spread_at(80.0).median == pytest.approx(1.0, rel=0.05)


def test_heads_have_no_yield_to_learn() -> None:
    """A lettuce is one lettuce."""
    lettuce = read_catalogue(["lettuce"]).crops["lettuce"]
    assert attained_by(lettuce, SCENE.holding.plantings, weekly(1.0, 9), weather_of) is None
