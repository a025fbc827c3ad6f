"""What a new plan changes, as it is told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from cropplan.holding.planting import Origin
from cropplan.holding.season import PlannedStrike, SeasonPlan
from cropplan.season.differences import differences

TODAY = date(2026, 3, 2)


def strike(number: int, days: int, count: int = 3) -> PlannedStrike:
    """Tomatoes struck so many days from today."""
    on = TODAY + timedelta(days=days)
    return PlannedStrike(
        number=number,
        crop="tomato",
        way=Origin.CUTTING,
        on=on,
        count=count,
        plants=2,
        mothers=("tom1",),
        place="T1",
        places=("B1", "B2"),
        set_out=on + timedelta(days=21),
        first_pick=on + timedelta(days=91),
        last_pick=on + timedelta(days=250),
    )


def told(before: list[PlannedStrike], *after: PlannedStrike) -> list[str]:
    """The changes in words."""
    plan = SeasonPlan(made=TODAY, until=TODAY + timedelta(days=360), strikes=after)
    return [change.words for change in differences(before, plan, TODAY)]


def test_the_same_strikes_are_no_change() -> None:
    """Other places or picks of the same cuttings are none either."""
    same = strike(1, 20)
    moved = replace(same, places=("B5", "B6"), first_pick=same.first_pick + timedelta(days=7))
    assert told([same], same) == told([same], moved) == []


def test_each_sort_of_change_is_told_and_the_nearest_first() -> None:
    """Later, more, new and dropped; what is overdue now has a day of its own."""
    before = [strike(1, -7), strike(2, 20), strike(3, 40), strike(4, 60)]
    after = [strike(1, 0), strike(2, 20, count=5), strike(5, 30), strike(4, 74)]
    assert told(before, *after) == [
        "3 tomato on Mon 23 Feb becomes 3 on Mon 2 Mar",
        "3 tomato on Sun 22 Mar becomes 5",
        "new: 3 tomato on Wed 1 Apr",
        "dropped: 3 tomato on Sat 11 Apr",
        "3 tomato on Fri 1 May becomes 3 on Fri 15 May",
    ]
