"""What the plants that stand should give."""

from __future__ import annotations

from datetime import timedelta

from cropplan.holding.entry import Pulled
from cropplan.holding.planting import Stage
from cropplan.schedule.harvest import anchor_of, expected_weeks
from tests.builders import START, after, bare_house, bearing, held, on, saw, scene

RIPE = after(84)


def test_a_plant_in_bearing_gives_within_the_catalogues_span_in_the_catalogues_light() -> None:
    """The catalogue's yield is the anchor; the house's light and warmth only move it."""
    summer = START + timedelta(days=0)
    seen = scene(held(bare_house(), bearing("tom1", "B1", start=summer)), after(90))
    week = expected_weeks(seen, 1)[0]
    anchor = anchor_of(seen.catalogue.crops["tomato"])
    assert anchor is not None
    assert 0 < week.plants <= 1
    assert week.pick.low <= week.pick.likely <= week.pick.high
    assert week.pick.high <= anchor.high * 2 * week.plants


def test_twice_the_plants_give_twice_as_much() -> None:
    """Plants add up; the figure is rounded to two digits, no more is known."""
    one = scene(held(bare_house(), bearing("tom1", "B1")), after(95))
    two = scene(held(bare_house(), bearing("tom1", "B1"), bearing("tom2", "B2")), after(95))
    single, double = expected_weeks(one, 2)[1].pick, expected_weeks(two, 2)[1].pick
    assert abs(double.likely - 2 * single.likely) <= 0.11 * double.likely


def test_midwinter_gives_less_than_midsummer() -> None:
    """Less light, less fruit: Marcelis et al. 2006, Acta Hort. 711:97-103."""

    def week_at(month_start: int) -> float:
        start = START + timedelta(days=month_start - 95)
        seen = scene(
            held(bare_house(), bearing("tom1", "B1", start=start)),
            START + timedelta(days=month_start),
        )
        return expected_weeks(seen, 2)[1].pick.likely

    assert week_at(290) < week_at(120) / 2


def test_what_is_pulled_or_resting_gives_nothing() -> None:
    """Only what stands and bears is counted."""
    plants = [*bare_house(), *bearing("tom1", "B1")]
    gone = scene(held(plants, on(after(90), Pulled(tag="tom1"))), after(95))
    assert expected_weeks(gone, 4) == []
    rests = scene(held(plants, saw("tom1", Stage.RESTING, after(90))), after(95))
    assert expected_weeks(rests, 4) == []


def test_plants_not_yet_bearing_count_from_their_likely_first_pick() -> None:
    """The weeks before it stay empty."""
    young = bearing("tom1", "B1")[:4]
    seen = scene(held(bare_house(), young), after(40))
    likely = seen.timelines["tom1"].dates[Stage.FRUITING].likely
    first = expected_weeks(seen, 30)[0]
    assert first.week <= likely < first.week + timedelta(days=7)
