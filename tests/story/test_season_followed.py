"""The example house for three more years, by a grower who follows the season plan.

The year of the example is lived first, so that the house is what its record says. Then the season
is planned and accepted; each quarter, and whenever the rounds say that the plan is in danger and a
month has gone by, the rest is planned anew and accepted. Plants take their own time, cuttings fail
and plants fall ill by chance (`truth`); the weather is Seattle's of November 2012 to November 2015
(NOAA, public domain, as the vega_datasets package carries it), moved by 14 years. What is picked
each week is held against the span that the plan in force gave it before that week began.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

import pytest

from cropplan.desk.example import EXAMPLE_DAY, build_example
from cropplan.desk.goals import set_goal
from cropplan.desk.season import accept, propose
from cropplan.holding.entry import Picked
from cropplan.holding.season import PlannedWeek, SeasonPlan
from cropplan.record.store import Record, open_record
from cropplan.season.demand import Season
from cropplan.season.draft import draft_of
from cropplan.season.greedy import first_plan, improve
from cropplan.season.options import Options
from cropplan.season.search import Outcome
from tests.story.hands import ONE_DAY, Habits
from tests.story.make_example import FOLDER, example_grower, read_facts, read_weather
from tests.story.moving_in import Remembering
from tests.story.truth import seattle

YEARS = 3
LAST_DAY = EXAMPLE_DAY + timedelta(weeks=52 * YEARS)
SKIES = seattle(14) | read_weather(FOLDER / "weather.csv")
TURNS = 500
QUARTER, MONTH = timedelta(weeks=13), timedelta(weeks=4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """A week of a goal as it was planned before it began, and what was picked in it."""

    planned: PlannedWeek
    made: date
    picked: float

    @property
    def within(self) -> bool:
        """Whether the pick lies within the plan's span."""
        return self.planned.low <= self.picked <= self.planned.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """The years when they are over."""

    weeks: tuple[Week, ...]
    plans: int
    strikes: int


@pytest.fixture(scope="module")
def followed(tmp_path_factory: pytest.TempPathFactory) -> Followed:
    """The example's year, then three years by the plan."""
    path = build_example(tmp_path_factory.mktemp("followed")).record
    plans: list[SeasonPlan] = []
    with Remembering(), open_record(path) as record:
        record.connection.execute("PRAGMA synchronous = OFF")
        grower = example_grower(record, SKIES, Habits(weighs=1.0))
        today = EXAMPLE_DAY
        grower.clock.dawn(today)
        for goal in read_facts()["goals"]:
            span = {"first": goal["first"], "last": LAST_DAY}
            set_goal(grower.desk, goal["crop"], goal["amount"], priority=goal["priority"], **span)
        while today < LAST_DAY:
            rounds = grower.day(today)
            danger = any(line.startswith("season plan") for line in rounds.remarks)
            since = today - plans[-1].made if plans else None
            if since is None or since >= QUARTER or (danger and since >= MONTH):
                propose(grower.desk, search=_steady)
                accept(grower.desk)
                print(today, since, [r for r in rounds.remarks if r.startswith("season plan")])
                plans.append(record.snapshot(living_only=True).plan)
            today += ONE_DAY
        return Followed(
            weeks=tuple(_weeks(record, plans)),
            plans=len(plans),
            strikes=sum(
                1
                for p in record.snapshot().plantings.values()
                if p.started and p.started >= EXAMPLE_DAY
            ),
        )


def _steady(season: Season, options: Options) -> Outcome:
    """The same plan on every run and every machine: bettered a number of times, not seconds."""
    race = first_plan(season, options)
    best: list[tuple[list[int], float]] = [(list(race.ledger.counts), race.ledger.cost())]
    improve(
        race,
        chance=Random(0),
        spent=lambda turn: turn / TURNS,
        better=lambda counts, cost: best.append((list(counts), cost)),
    )
    counts, cost = best[-1]
    return Outcome(draft=draft_of(season, options, counts), cost=cost, bound=0.0, proven=False)


def _weeks(record: Record, plans: list[SeasonPlan]) -> Iterator[Week]:
    picked = _picked(record)
    for plan, after in zip(plans, [*plans[1:], None]):
        for week in plan.weeks:
            begun = week.week > plan.made and (after is None or week.week <= after.made)
            if begun and week.week + timedelta(days=6) < LAST_DAY:
                yield Week(planned=week, made=plan.made, picked=picked[week.crop, week.week])


def _picked(record: Record) -> dict[tuple[str, date], float]:
    crops = {p.tag: p.crop for p in record.snapshot().plantings.values()}
    voided = record.voided()
    amounts: dict[tuple[str, date], float] = defaultdict(float)
    for entry in record.journal():
        if isinstance(entry.act, Picked) and entry.id not in voided:
            monday = entry.happened - timedelta(days=entry.happened.weekday())
            amounts[crops[entry.act.tag], monday] += entry.act.amount or 0.0
    return amounts


def test_picks_fall_within_the_span_of_the_plan(followed: Followed) -> None:
    for crop in sorted({w.planned.crop for w in followed.weeks}):
        mine = [w for w in followed.weeks if w.planned.crop == crop]
        print(
            crop,
            len(mine),
            sum(w.within for w in mine) / len(mine),
            sum(w.picked < w.planned.low for w in mine) / len(mine),
            sum(w.picked for w in mine) / sum(w.planned.expected for w in mine),
            sum(w.picked for w in mine) / sum(w.planned.goal for w in mine),
        )
        for w in mine:
            print(
                "  ",
                w.planned.week,
                (w.planned.week - w.made).days // 7,
                f"goal {w.planned.goal:.2f} exp {w.planned.expected:.2f} [{w.planned.low:.2f} {w.planned.high:.2f}] got {w.picked:.2f}",
                "" if w.within else "OUT",
            )
    print(followed.plans, followed.strikes)
    within = sum(week.within for week in followed.weeks)
    assert within >= 0.8 * len(followed.weeks)
