"""What cannot be planned is refused in one clear line that names what is wrong."""

from __future__ import annotations

from typing import Any

import pytest

from cropplan.problems import Refusal
from cropplan.season.demand import Season
from cropplan.season.plan import startable_options
from tests.unit.season.season_builders import goal, option, season, standing

CASES: list[tuple[str, dict[str, Any], str]] = [
    ("no goals", {"goals": ()}, "no goal is set"),
    ("no places", {"places": 0, "standing": ()}, "the house has no places"),
    (
        "a goal that is past",
        {"goals": (goal(from_week=-3, until_week=0),)},
        "goal tomato goal: weeks -3 to 0 lie outside the 12 weeks planned",
    ),
    ("a goal of nothing", {"goals": (goal(amount=0.0),)}, "amount and weight must be above 0"),
    ("an unknown crop", {"goals": (goal("quince"),)}, "nothing is known that gives quince"),
    (
        "a crop wanted twice",
        {"goals": (goal(), goal(name="sauce"))},
        "tomato serves both tomato goal and sauce in the same weeks",
    ),
    (
        "no mothers",
        {"standing": ()},
        "goal tomato goal: no tomato stands to take cuttings from in time",
    ),
    (
        "mothers not to be propagated, and gone",
        {"standing": (standing("pep1", crop="pepper", propagate=False),)},
        "no tomato stands to take cuttings from",
    ),
    ("a kind the house lacks", {"options": (option(kinds=("raft",)),)}, "the house has no raft"),
    (
        "a pick before setting out",
        {"options": (option(lead_weeks=(1,) * 12),)},
        "it cannot be picked before it is set out",
    ),
    ("a stay past the curve", {"options": (option(stays=(9,)),)}, "its stays must lie within"),
    ("an impossible success", {"options": (option(success=1.2),)}, "success must lie in (0, 1]"),
    ("lead weeks cut short", {"options": (option(lead_weeks=(4,)),)}, "a figure for each week"),
    (
        "more plants than places",
        {"places": 1, "standing": (standing(pull_early=False),)},
        "2 plants must stand in bucket in week 0, which holds 1",
    ),
    ("nobody in a planting", {"standing": (standing(count=0),)}, "tom1 has 0 plants"),
    ("a planting on no place", {"standing": (standing(kind="raft"),)}, "tom1 stands in a kind"),
    ("a tag used twice", {"standing": (standing(), standing())}, "two plantings have the tag tom1"),
    ("a planting that is gone", {"standing": (standing(until=0),)}, "tom1 would be pulled before"),
]


@pytest.mark.parametrize(("changes", "words"), [case[1:] for case in CASES], ids=lambda _: "")
def test_an_unplannable_season_is_refused_with_its_reason(
    changes: dict[str, Any], words: str
) -> None:
    """Bad input is answered by one line, lower case, that says what is wrong."""
    with pytest.raises(Refusal) as refused:
        startable_options(season(**changes))
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def test_zero_weeks_cannot_be_planned() -> None:
    """The horizon must have at least one week."""
    empty = Season(weeks=0, goals=(), kinds=(), options=())
    with pytest.raises(Refusal, match="the plan covers 0 weeks"):
        startable_options(empty)


def test_capacities_must_cover_the_horizon() -> None:
    """Each kind of place needs a capacity for every week."""
    whole = season()
    short = season(kinds=(whole.kinds[1], type(whole.kinds[0])(kind="bucket", capacity=(4,))))
    with pytest.raises(Refusal, match="bucket: one capacity of 0 or more is needed"):
        startable_options(short)


def test_a_planting_that_may_be_pulled_at_once_does_not_overfill() -> None:
    """Only what must stay counts against the places."""
    options = startable_options(season(places=1, standing=(standing(pull_early=True),)))
    assert options.endings[0].pulled == 0
