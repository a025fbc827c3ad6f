"""The plan against two rules growers use, on twenty invented houses, side by side.

The rules are those of `cropplan.season.rules`: a fixed number of each crop every so many weeks, the
best interval and number sought crop by crop; and striking when a plant comes to a certain age, the
best of five ages. Run it with

    python -m tests.benchmarks.season_rules [--houses N] [--seconds S]

For each house it prints how many goal-weeks are short by more than a tenth, the weighted shortfall
and the plants struck. Houses have 30 to 144 places and a year's horizon. The last line counts the
houses in which the plan has fewer short goal-weeks than both rules while striking no more plants
than the better one.
"""

from __future__ import annotations

import argparse
import sys
import time

from cropplan.season.demand import Season
from cropplan.season.draft import Draft
from cropplan.season.options import options_of
from cropplan.season.reasons import THIN
from cropplan.season.rules import best_interval, best_tired
from cropplan.season.search import Effort, best_search
from cropplan.season.simulate import account
from tests.benchmarks.season_instances import house


def short_weeks(season: Season, draft: Draft) -> int:
    """Goal-weeks short by more than a tenth."""
    picks = account(season, draft).picks
    return sum(
        picks[index][week] < (1.0 - THIN) * goal.amount
        for index, goal in enumerate(season.goals)
        for week in range(goal.from_week, min(goal.until_week, season.weeks))
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Season plans against growers' rules.")
    parser.add_argument("--houses", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=15.0, help="for each plan")
    given = parser.parse_args()
    print("            | short goal-weeks     | weighted shortfall         | plants struck")
    print("house places| plan interval  tired |    plan interval    tired  | plan interval tired")
    fewer = frugal = 0
    for seed in range(given.houses):
        places = 30 + 6 * seed
        season = house(weeks=52, places=places, tight=0.9, seed=seed)
        effort = Effort(seconds=given.seconds, clock=time.monotonic)
        plan = best_search(season, options_of(season), effort)
        cost = account(season, plan.draft).cost
        interval, tired = best_interval(season), best_tired(season)
        weeks = [short_weeks(season, each) for each in (plan.draft, interval.draft, tired.draft)]
        better = min(interval, tired, key=lambda each: each.shortfall)
        is_fewer = weeks[0] < min(weeks[1:])
        fewer += is_fewer
        frugal += is_fewer and cost.plants <= better.struck
        print(
            f"{seed:5} {places:6}| {weeks[0]:4} {weeks[1]:8} {weeks[2]:6} | {cost.shortfall:7.1f} "
            f"{interval.shortfall:8.1f} {tired.shortfall:8.1f}  | {cost.plants:4} "
            f"{interval.struck:8} {tired.struck:5}"
        )
        sys.stdout.flush()
    print(
        f"fewer short goal-weeks than both rules on {fewer} of {given.houses} houses; "
        f"on {frugal} of them with no more plants than the better rule"
    )


if __name__ == "__main__":
    main()
