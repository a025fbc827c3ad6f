"""Three years of an invented house, lived day by day by a forgetful grower.

What must never break is looked at each morning (`watcher`); here it is said, rule by rule, that
nothing broke, and that each rule was put to the test. The weather is Seattle's of 2012 to 2014
(NOAA, public domain, as the vega_datasets package carries it), with its dates moved by 12 years
so that 29 February falls on itself.
"""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import pytest

from cropplan.catalogue.model import Habit
from cropplan.catalogue.read import read_catalogue
from cropplan.holding.entry import Picked, Voided
from cropplan.record.store import Record, open_record
from tests.story.grower import Away, Grower, Stocking
from tests.story.hands import ONE_DAY, Habits
from tests.story.moving_in import Remembering, crop_of, house_of, move_in
from tests.story.truth import Truth, seattle, weather_in
from tests.story.walk import Want
from tests.story.watcher import Watcher

FIRST_DAY, LAST_DAY = date(2024, 1, 6), date(2027, 1, 5)
SETTLED = FIRST_DAY + timedelta(weeks=20)
SEED = 1

AWAY = [
    Away(first=date(2024, 8, 3), last=date(2024, 8, 16), neighbour="Ilse"),
    Away(first=date(2025, 12, 20), last=date(2025, 12, 29)),
]
HEATER_OUT = frozenset({date(2025, 12, 7), date(2025, 12, 8)})

HOUSE = """
places = [
  { codes = "B1-B8", kind = "bucket", medium = "perlite", filled = 2023-03-01 },
  { codes = "C1-C4", kind = "channel" },
  { codes = "R1-R5", kind = "hole" },
  { codes = "W1", kind = "bed", holds = 4, medium = "wicking-mix", filled = 2023-03-01 },
  { codes = "T1-T2", kind = "tray", holds = 20 },
]
plants = [
  { crop = "tomato", places = ["B1", "B2"], stage = "fruiting", age_unknown = true },
  { crop = "tomato", places = ["B3", "B4"], stage = "set-out", started = 2023-12-10 },
  { crop = "cucumber", places = ["B5"], stage = "flowering", started = 2023-11-20 },
  { crop = "pepper", places = ["B6"], stage = "fruiting", started = 2023-06-01, started_give = 15 },
  { crop = "strawberry", places = ["C1", "C2", "C3"], stage = "fruiting", age_unknown = true },
  { crop = "basil", places = ["R1", "R2"], stage = "picking", age_unknown = true },
  { crop = "lettuce", places = ["R3", "R4"], stage = "set-out", started = 2023-12-15 },
  { crop = "chard", count = 4, places = ["W1"], stage = "set-out", started = 2023-12-01 },
]
duties = [
  { text = "look at the roof vents", every_days = 30 },
  { text = "order fish feed", rule = "FREQ=MONTHLY;BYMONTHDAY=31" },
]

[house]
name = "home glass"
latitude = 47.6
longitude = -122.3
zone = "America/Los_Angeles"
day_c = 20.0
night_c = 16.0
lamp_mol = 8.0
outside_low_c = [2.7, 4.1, 4.9, 6.4, 9.6, 12.2, 14.2, 14.8, 12.4, 9.4, 4.7, 3.3]
outside_high_c = [8.2, 9.9, 12.4, 15.0, 19.3, 22.4, 26.0, 26.1, 21.9, 16.4, 11.0, 8.2]

[loop]
name = "pond"
volume_l = 1500.0
species = "goldfish"
fish = 60
weight_g = 120.0
feed_g = 110.0
"""
WANTS = [
    Want(crop="tomato", count=4, home="B"),
    Want(crop="cucumber", count=1, home="B"),
    Want(crop="pepper", count=1, home="B"),
    Want(crop="strawberry", count=3, home="C"),
    Want(crop="basil", count=2, home="R"),
    Want(crop="lettuce", count=2, home="R"),
    Want(crop="chard", count=4, home="W"),
]
STOCKED = [
    Stocking(on=FIRST_DAY, loop="pond", fish=60, weight_g=120.0),
    Stocking(on=date(2025, 6, 14), loop="pond", fish=75, weight_g=170.0),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lived:
    """The three years when they are over."""

    record: Record
    grower: Grower
    watcher: Watcher


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lived]:
    """Three years lived, and what the watcher saw."""
    path = tmp_path_factory.mktemp("three years") / "house.cropplan"
    facts = tomllib.loads(HOUSE)
    house = house_of(facts)
    truth = Truth(
        seed=SEED,
        weather=weather_in(house, seattle(12), HEATER_OUT),
        crop=crop_of,
        fish=[(told.on, told.weight_g) for told in STOCKED],
    )
    with Remembering(), open_record(path, create=True) as record:
        # Each commit of a real record waits for the disk; a story may lose its last minute.
        record.connection.execute("PRAGMA synchronous = OFF")
        grower = Grower(
            record,
            house,
            truth,
            seed=SEED,
            away=AWAY,
            wants=WANTS,
            habits=Habits(weighs=0.1),
            people=["Rui"],
            stockings=STOCKED,
            ahead=400,
        )
        grower.clock.dawn(FIRST_DAY)
        move_in(grower.desk, grower.clock, facts)
        watcher = Watcher(grower, dict(read_catalogue([]).duties), AWAY)
        today = FIRST_DAY
        while today <= LAST_DAY:
            watcher.day(today, grower.day(today))
            if (today + ONE_DAY).day == 1 or today == LAST_DAY:
                watcher.month(today)
            today += ONE_DAY
        yield Lived(record=record, grower=grower, watcher=watcher)


#: How often at least each rule must have been looked at for the story to be a proof of it.
RULES = {
    "one open task a duty and subject": 1000,
    "a handle has one meaning": 10_000,
    "fish come before plants": 1000,
    "nothing is due before its subject was there": 10_000,
    "what lapses is never in arrears": 3000,
    "a turn that was answered stays answered": 30_000,
    "done work does not come back too soon": 5000,
    "what must go on is asked while away": 20,
    "every plant is accounted for": 10_000,
    "the record passes its check": 36,
    "calendars are sound": 36,
    "a notice keeps its name": 3000,
}


@pytest.mark.parametrize("rule", RULES)
def test_on_no_day_of_three_years_was_the_rule_broken(lived: Lived, rule: str) -> None:
    """design.md §4 rules 1, 2, 3 and 9, and situations 21, 56 and 57, on 1096 mornings."""
    broken = lived.watcher.broken[rule]
    assert not broken, f"{rule}: {len(broken)} times, first {broken[:5]}"
    assert lived.watcher.looked[rule] >= RULES[rule]


def test_nothing_but_what_must_go_on_is_asked_while_away(lived: Lived) -> None:
    """Situation 21: during an absence only survival tasks; the rest pauses and is not late, what
    was left undone before it no less.
    """
    assert lived.watcher.broken["nothing else is asked while away"] == []


def test_the_years_were_eventful(lived: Lived) -> None:
    """A story in which nothing goes wrong proves nothing: each trouble came at least once."""
    voided = sum(isinstance(entry.act, Voided) for entry in lived.record.journal())
    late = sum(entry.written.date() > entry.happened + ONE_DAY for entry in lived.record.journal())
    counts = lived.grower.tales.counts
    assert voided >= 3
    assert late >= 10
    assert counts["lost to cold"] >= 1
    assert counts["heater out"] >= 1
    assert counts["disease"] >= 1


#: The longest time at home without a pick after the first 20 weeks. Measured for this seed: 6 and
#: 28 days. The rest is room, for any change of the schedule draws another three years.
LONGEST_GAP = {"tomatoes": 14, "greens": 42}
#: Frost kills tomatoes, and from a cutting or a seed begun in December to a pick takes so long: by
#: the forecast 119 and 138 days for those begun on 25 November in the example house. [d]
AFTER_FROST = 138


@pytest.mark.parametrize("what", LONGEST_GAP)
def test_picking_goes_on(lived: Lived, what: str) -> None:
    """After the first 20 weeks picking never stops for longer than is said in LONGEST_GAP."""
    days = sorted({*_picked(lived.record)[what], LAST_DAY + ONE_DAY})
    gaps = [_days_that_count(a, b) for a, b in pairwise(days) if b >= SETTLED]
    assert len(gaps) > 100
    assert max(gaps) <= LONGEST_GAP[what]


def _days_that_count(first: date, last: date) -> int:
    """Days from one pick to the next, without those away and those on which frost is to blame."""
    days = [first + n * ONE_DAY for n in range((last - first).days)]
    at_home = [day for day in days if not any(away.holds(day) for away in AWAY)]
    return sum(not 0 <= (day - min(HEATER_OUT)).days < AFTER_FROST for day in at_home)


def _picked(record: Record) -> dict[str, set[date]]:
    """The days on which tomatoes, and any leaf or head, were picked."""
    crops = {p.tag: crop_of(p.crop) for p in record.snapshot().plantings.values()}
    voided = record.voided()
    days: dict[str, set[date]] = defaultdict(set)
    for entry in record.journal():
        if isinstance(entry.act, Picked) and entry.id not in voided:
            crop = crops[entry.act.tag]
            if crop.id == "tomato":
                days["tomatoes"].add(entry.happened)
            elif crop.habit in {Habit.LEAF, Habit.HEAD}:
                days["greens"].add(entry.happened)
    return days
