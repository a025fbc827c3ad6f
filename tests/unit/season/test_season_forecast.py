"""How wide a week's span is: what opens it, and that it holds what it says."""

from __future__ import annotations

from math import floor
from random import Random

import pytest

from cropplan.season.demand import Season
from cropplan.season.draft import Draft, Keep, Strike
from cropplan.season.forecast import WeekPick, forecast, lumpiness
from tests.unit.season.season_builders import Origin, goal, option, season, standing

WEEKS = 30
KEPT = Keep(tag="tom1", plants=2, pulled=5)


def strike(first_pick: int, *, plants: int = 3) -> Strike:
    """Plants struck four weeks before their first pick, picked for ten."""
    return Strike(
        crop="tomato",
        origin=Origin.STRUCK,
        kind="bucket",
        tray="tray",
        plants=plants,
        strike=first_pick - 4,
        set_out=first_pick - 2,
        first_pick=first_pick,
        pulled=first_pick + 10,
    )


def house(**changes: object) -> Season:
    """Thirty weeks, and a tomato picked for ten."""
    figures: dict[str, object] = {"curve": (1.0,) * 10, "stays": (10,), "weeks": WEEKS}
    return season(
        weeks=WEEKS,
        places=40,
        trays=40,
        goals=(goal(weeks=WEEKS),),
        options=(option(**(figures | changes)),),
    )


def told(where: Season, *strikes: Strike) -> tuple[WeekPick, ...]:
    """The forecast with the two plants that stand kept to their end."""
    return forecast(where, Draft(strikes=strikes, keeps=(KEPT,)))


def width(week: WeekPick) -> float:
    """How wide its span is. [unit per week]"""
    return week.high - week.low


def test_a_doubtful_date_opens_the_weeks_about_the_first_pick_and_the_end_only() -> None:
    """In the middle of its picking it does not matter whether the first came a week late."""
    weeks = told(house(lead_spread=(1.0,) * WEEKS), strike(8))
    assert width(weeks[8]) > 1.0
    assert 1.5 < weeks[8].expected < 3.0
    assert width(weeks[12]) == pytest.approx(0.0, abs=1e-9)
    assert weeks[7].expected > 0.0
    assert width(told(house(), strike(8))[8]) == 0.0


def test_plants_that_may_have_tired_open_the_span_as_they_grow_old() -> None:
    """Half of them still bear at the end: expected is what half give, and less is sure."""
    bearing = tuple(1.0 - 0.055 * week for week in range(10))
    weeks = told(house(curve=bearing, bearing=bearing), strike(8))
    widths = [width(weeks[week]) for week in range(8, 18)]
    assert widths[0] == 0.0
    assert widths == sorted(widths)
    assert weeks[17].expected == pytest.approx(3 * 0.505)


def test_two_plantings_of_a_crop_yield_more_or_less_together() -> None:
    """Twice the plants have twice the span when the house as a whole gives more or less."""
    one = told(house(spread=(0.2,) * WEEKS), strike(8))[10]
    two = told(house(spread=(0.2,) * WEEKS), strike(8), strike(9))[10]
    assert width(two) == pytest.approx(2 * width(one))
    assert width(one) == pytest.approx(2 * 1.2816 * 0.2 * 3, rel=1e-3)


def test_a_standing_planting_that_may_be_over_is_expected_less_and_doubted_more() -> None:
    """Its pick is the mean of bearing and not; the span holds both or neither."""
    fading = standing(picks=(1.0, 0.5), bearing=(1.0, 0.5), until=5)
    weeks = forecast(season(standing=(fading,)), Draft(strikes=(), keeps=(KEPT,)))
    assert [week.expected for week in weeks[:3]] == [2.0, 1.0, 0.0]
    assert width(weeks[0]) == 0.0
    assert width(weeks[1]) > 1.0


@pytest.mark.parametrize("weeks", [20 / 7, 2.0, 1.0, 10 / 7, 3 / 7, 2 / 7])
def test_what_is_cut_every_third_week_comes_all_at_once_or_not_at_all(weeks: float) -> None:
    """The variance of the whole number of picks in a week, over the square of their mean."""
    chance = Random(3)  # noqa: S311 - no secret
    counts = []
    for _ in range(20_000):
        first = chance.random() * weeks
        counts.append(sum(first + n * weeks < 1.0 for n in range(5)))
    mean = sum(counts) / len(counts)
    variance = sum((count - mean) ** 2 for count in counts) / len(counts)
    assert lumpiness(weeks) == pytest.approx(variance / mean**2, abs=0.05)


def _lived(where: Season, strikes: tuple[Strike, ...], chance: Random) -> list[float]:
    """One season as chance has it: dates, yields and tiring drawn, week by week."""
    (way,) = where.options
    yields = chance.gauss(1.0, way.spread[0])
    picks = [0.0] * WEEKS
    for one in strikes:
        late = chance.gauss(0.0, way.lead_spread[one.strike])
        for _ in range(one.plants):
            # It bears as long as its own draw is among the share that still does.
            draw = chance.random()
            for week in range(one.set_out, min(one.pulled, WEEKS)):
                age = week - one.first_pick - late
                part = age - floor(age)
                for at, share in ((floor(age), 1.0 - part), (floor(age) + 1, part)):
                    if 0 <= at < len(way.bearing) and draw < way.bearing[at]:
                        full = way.curve[at] / way.bearing[at]
                        picks[week] += yields * share * full
    return picks


def test_the_span_holds_four_seasons_of_five() -> None:
    """Five hundred seasons lived by the doubts stated, against the one forecast."""
    bearing = tuple(1.0 - 0.05 * week for week in range(10))
    where = house(
        lead_spread=(0.8,) * WEEKS,
        spread=(0.2,) * WEEKS,
        bearing=bearing,
        curve=bearing,
        success=1.0,
    )
    strikes = tuple(strike(first) for first in range(6, 22, 2))
    weeks = forecast(where, Draft(strikes=strikes, keeps=(KEPT,)))
    chance = Random(7)  # noqa: S311 - no secret
    within = total = 0
    for _ in range(500):
        lived = _lived(where, strikes, chance)
        for week in weeks[9:26]:
            total += 1
            within += week.low <= lived[week.week] <= week.high
    assert 0.76 < within / total < 0.86


def test_plants_that_all_tire_at_once_leave_no_absurd_span_behind() -> None:
    """One in a billion still bears in the last weeks; late first picks reach into them."""
    bearing = (1.0,) * 7 + (1e-9, 1e-12, 1e-15)
    weeks = told(house(curve=bearing, bearing=bearing, lead_spread=(1.5,) * WEEKS), strike(8))
    assert all(week.high <= 2 * 3.0 for week in weeks)
