"""How near to the best the season planner comes, by length of the horizon and size of the house.

Each row is one invented house, planned in an interpreter of its own. Run it with

    python -m tests.benchmarks.season_sizes [--seconds S] [WEEKS PLACES TIGHT SEED GOALS]...

It prints when the first whole plan was there, what the best plan misses, the proven bound, and the
gap between them as a share of the shortfall and of all that is wanted; then wall and processor
seconds and peak memory. The solver runs on one thread beside a second one that betters the plan, so
on two free cores processor time is twice the wall time; where it is less, the machine was busy and
the row is worse than it would be. Every plan is checked by the simulator before its row is printed.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

from cropplan.season.options import options_of
from cropplan.season.search import Effort, Progress, best_search
from cropplan.season.simulate import account, faults
from tests.benchmarks.season_instances import house

SWEEP = [
    (weeks, places, tight, seed, 6)
    for weeks in (26, 52, 104)
    for places in (25, 75, 150)
    for tight, seed in ((0.9, 0), (1.2, 1))
]
ORDINARY = [(52, 30, 0.9, seed, 4) for seed in range(3)]
SECONDS = {26: 10.0, 52: 30.0, 104: 120.0}

Row = tuple[int, int, float, int, int]


def measured(row: Row, seconds: float) -> str:
    """One line of the table."""
    weeks, places, tight, seed, goals = row
    season = house(weeks=weeks, places=places, tight=tight, seed=seed, goals=goals)
    began = time.monotonic()
    first: list[float] = []

    def progress(_: Progress) -> None:
        if not first:
            first.append(time.monotonic() - began)

    options = options_of(season)
    effort = Effort(seconds=seconds, clock=time.monotonic, progress=progress)
    outcome = best_search(season, options, effort)
    wall = time.monotonic() - began
    broken = faults(season, outcome.draft)
    if broken:
        raise SystemExit(f"the plan of {row} cannot be carried out: {broken[0]}")
    cost = account(season, outcome.draft).cost
    gap = cost.total - outcome.bound
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"{weeks:5} {places:6} {tight:5} {seed:4} {goals:5} {len(season.standing):8} "
        f"{len(options.cohorts):7} {first[0]:7.2f} {cost.shortfall:9.2f} {outcome.bound:9.2f} "
        f"{100 * gap / cost.total:8.2f} {100 * gap / season.wanted():8.3f} {cost.plants:6} "
        f"{wall:6.1f} {time.process_time():6.1f} {peak:6.0f}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Gap of season plans by size.")
    parser.add_argument("--seconds", type=float, help="for each row, in place of 10, 30 and 120")
    parser.add_argument("numbers", nargs="*", type=float, metavar="WEEKS PLACES TIGHT SEED GOALS")
    given = parser.parse_args()
    numbers = given.numbers
    rows: list[Row] = [
        (int(weeks), int(places), tight, int(seed), int(goals))
        for weeks, places, tight, seed, goals in zip(*[iter(numbers)] * 5, strict=True)
    ] or [*ORDINARY, *SWEEP]
    print(
        "weeks places tight seed goals standing cohorts first_s shortfall     bound gap_sh_% "
        "gap_wa_% plants wall_s  cpu_s     MB"
    )
    for row in rows:
        seconds = given.seconds or (10.0 if row in ORDINARY else SECONDS.get(row[0], 60.0))
        with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn")) as fresh:
            print(fresh.submit(measured, row, seconds).result())
        sys.stdout.flush()


if __name__ == "__main__":
    main()
