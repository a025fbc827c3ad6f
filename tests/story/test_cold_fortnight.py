"""A real cold fortnight moves the dates by what the model says, and the list says why.

The weather is Seattle's, daily lows and highs of 2012 to 2015 (NOAA, public domain, as carried by
the vega_datasets package). The coldest fortnight of those winters strikes a house whose heater is
out; all other days the house keeps its set temperatures.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

from cropplan.desk import beginnings, look, plantings, premises
from cropplan.desk.desk import Desk, write
from cropplan.holding.entry import TemperaturesRead
from cropplan.holding.house import DayTemperature, House
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Stage
from cropplan.record.store import open_record

#: Days from open flower to ripe fruit, by temperature: Adams, Cockshull & Cave 2001, Annals of
#: Botany 88:869-877, abstract.
ADAMS = ((14.0, 95.0), (18.0, 65.0), (22.0, 46.0), (26.0, 42.0))
HOUSE = House(
    name="glass",
    latitude=47.6,
    longitude=-122.3,
    zone="America/Los_Angeles",
    day_c=20.0,
    night_c=16.0,
)
#: How far a closed house without heat stays above the air outside, for this story. [K]
UNHEATED = 5.0


def real_days() -> dict[date, tuple[float, float]]:
    """The real lows and highs outside, by day. [°C]"""
    source = files("vega_datasets").joinpath("_data/seattle-weather.csv").read_text()
    return {
        date.fromisoformat(row["date"].replace("/", "-")): (
            float(row["temp_min"]),
            float(row["temp_max"]),
        )
        for row in csv.DictReader(source.splitlines())
    }


def coldest_fortnight(days: dict[date, tuple[float, float]]) -> date:
    """The first day of the fortnight with the lowest mean."""
    starts = [day for day in days if day + timedelta(days=13) in days]

    def warmth(start: date) -> float:
        return sum(sum(days[start + timedelta(days=n)]) for n in range(14))

    return min(starts, key=warmth)


def share_of_a_day(low: float, high: float) -> float:
    """The share of the way to ripe fruit in a day, reckoned afresh: the mean over a sine of
    temperatures of 1/days drawn straight between the printed points, held beyond the outermost.
    """
    steps = 720
    middle, swing = (low + high) / 2, (high - low) / 2
    temps = [middle + swing * math.sin(2 * math.pi * n / steps) for n in range(steps)]
    return sum(_pace(temp) for temp in temps) / steps


def _pace(temp: float) -> float:
    if temp <= ADAMS[0][0]:
        return 1 / ADAMS[0][1]
    for (cold, slow), (warm, quick) in pairwise(ADAMS):
        if temp <= warm:
            part = (temp - cold) / (warm - cold)
            return (1 - part) / slow + part / quick
    return 1 / ADAMS[-1][1]


@contextmanager
def house_in_flower(folder: Path, opened: date, today: date) -> Iterator[Desk]:
    """A house with one tomato in flower since a day, looked at on another."""
    moment = datetime(today.year, today.month, today.day, 20, tzinfo=UTC)
    with open_record(folder / "glass.db", create=True) as record:
        desk = Desk(record=record, clock=lambda: moment)
        premises.new_house(desk, HOUSE)
        premises.add_places(desk, ["B1"], kind=PlaceKind.BUCKET)
        begun = opened - timedelta(days=60)
        beginnings.bring_in(
            desk, "tomato", 1, places=["B1"], stage=Stage.SET_OUT, started=begun, on=begun
        )
        plantings.seen(desk, "tom1", Stage.FLOWERING, on=opened)
        yield desk


def first_pick(desk: Desk) -> date:
    """The first ripe fruit as first expected."""
    timeline = look.life_of(desk, "tom1").timeline
    assert timeline is not None
    return timeline.first_guess[Stage.FRUITING].likely


def test_a_real_cold_fortnight_moves_the_first_pick_as_far_as_the_model_says(
    tmp_path: Path,
) -> None:
    """Adams 2001 interpolated over real daily temperatures; counted again here by hand."""
    days = real_days()
    start = coldest_fortnight(days)
    opened, today = start - timedelta(days=3), start + timedelta(days=14)
    readings = tuple(
        DayTemperature(
            house=HOUSE.name,
            day=day,
            low_c=days[day][0] + UNHEATED,
            high_c=days[day][1] + UNHEATED,
        )
        for day in (start + timedelta(days=n) for n in range(14))
    )
    usual = share_of_a_day(HOUSE.night_c, HOUSE.day_c)
    cold = {reading.day: share_of_a_day(reading.low_c, reading.high_c) for reading in readings}

    def by_hand(shares: dict[date, float]) -> date:
        done, day = 0.0, opened
        while done < 1 - 1e-9:
            done += shares.get(day, usual)
            day += timedelta(days=1)
        return day

    expected = (by_hand(cold) - by_hand({})).days
    with house_in_flower(tmp_path, opened, today) as desk:
        before = first_pick(desk)
        write(desk, today, [TemperaturesRead(readings=readings)])
        moved = (first_pick(desk) - before).days
        # The model reads each day's sine at four hours, the hand count at 720: a day at most.
        assert abs((before - by_hand({})).days) <= 1
        assert abs(moved - expected) <= 1
        assert moved >= 3, "so cold a fortnight must show"
        line = next(
            line
            for each in look.rounds(desk, ahead=120).rounds
            for line in each.lines
            if line.handle == "fr-tom"
        )
    print(f"\n{start} and 13 days: {moved} days later, {expected} by hand: {line.why}")
    assert f"{moved} days later by the temperatures read" in line.why
    assert "\n" not in line.why


def test_a_setback_moves_the_first_pick_by_the_days_lost(tmp_path: Path) -> None:
    """Five days that count for nothing put everything to come five days off, and say so."""
    from cropplan.desk import upkeep

    opened = date(2014, 2, 1)
    with house_in_flower(tmp_path, opened, opened + timedelta(days=10)) as desk:
        before = first_pick(desk)
        upkeep.set_back(desk, 5, why="the heater was out", on=opened + timedelta(days=4))
        assert first_pick(desk) - before == timedelta(days=5)
        lines = [line for each in look.rounds(desk, ahead=120).rounds for line in each.lines]
        why = next(line.why for line in lines if line.handle == "fr-tom")
    assert "5 days later after the heater was out" in why
