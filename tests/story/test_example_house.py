"""The example house: its journal can be made again, is sound, small, real where it says so."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from cropplan.desk import keeping, look, morning
from cropplan.desk.desk import Desk
from cropplan.desk.example import EXAMPLE_DAY, EXAMPLE_MOMENT, build_example, example_dir
from cropplan.holding.entry import Entry, Pulled, SetBack, TemperaturesRead, Tended, Voided
from cropplan.holding.place import Care
from cropplan.record.exchange import JOURNAL_FILE
from cropplan.record.store import open_record
from tests.story import make_example
from tests.story.hands import ONE_DAY
from tests.story.truth import inside

DAYS_LIVED_AGAIN = 25


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """The desk over a fresh example."""
    built = build_example(tmp_path_factory.mktemp("example"))
    return Desk(record=open_record(built.record), clock=lambda: EXAMPLE_MOMENT)


def test_the_example_s_record_is_sound(desk: Desk) -> None:
    """design.md §5: the projection is what the journal adds up to."""
    assert keeping.check(desk) == []


def test_the_year_had_its_troubles(desk: Desk) -> None:
    """Issue A item 7: losses, late entries, an absence; and what story.md tells of besides."""
    journal = desk.record.journal()
    acts = [entry.act for entry in journal]
    kinds = Counter(type(act).__name__ for act in acts)
    assert kinds["Lost"] >= 10
    assert kinds["WentAway"] == 1
    assert kinds["SetBack"] == sum(isinstance(a, SetBack) and a.setback.days > 0 for a in acts) == 1
    assert any(isinstance(act, Pulled) and act.why == "disease" for act in acts)
    assert any(isinstance(act, Tended) and act.care is Care.CHANGE for act in acts)
    assert sum(isinstance(act, Voided) for act in acts) == 2
    assert sum(_written_late(entry) for entry in journal) >= 50
    assert sum(entry.by == "caretaker" for entry in journal) >= 30


def test_the_record_ends_on_the_evening_before_the_example_s_day(desk: Desk) -> None:
    """The example's today is a day on which nothing is done yet."""
    days = [entry.happened for entry in desk.record.journal()]
    assert (min(days), max(days)) == (make_example.FIRST_DAY, EXAMPLE_DAY - ONE_DAY)


def test_the_example_s_morning_fits_a_school_morning(desk: Desk) -> None:
    """There is work of each part of the day, and less than three hours of it."""
    rounds = morning.rounds(desk).rounds[0]
    parts = {line.part.value for line in rounds.lines}
    assert {"morning", "midday", "any"} <= parts
    assert 5 < rounds.minutes < 180


def test_the_weather_is_seattle_s_moved_by_eleven_years(tmp_path: Path) -> None:
    """weather.csv against the file of the vega_datasets package (NOAA, public domain)."""
    make_example.write_weather(tmp_path / "weather.csv")
    kept = (example_dir() / "weather.csv").read_bytes()
    assert (tmp_path / "weather.csv").read_bytes() == kept
    assert kept.count(b"\n") == 1 + (EXAMPLE_DAY - make_example.FIRST_DAY).days


def test_the_house_s_readings_follow_from_the_weather_by_the_stated_rule(desk: Desk) -> None:
    """story.md: the logger reads what `growth.warmth.house_temperature` makes of weather.csv."""
    house = look.houses(desk)[0]
    skies = make_example.read_weather(example_dir() / "weather.csv")
    outages = make_example.heater_out()
    readings = [
        reading
        for entry in desk.record.journal()
        if isinstance(entry.act, TemperaturesRead)
        for reading in entry.act.readings
    ]
    assert len(readings) > 350
    for reading in readings:
        heated = reading.day not in outages
        warmth = inside(house, skies[reading.day], heated=heated)
        assert (reading.low_c, reading.high_c) == (round(warmth.low, 1), round(warmth.high, 1))


def test_the_journal_is_small_and_is_made_the_same_each_time() -> None:
    """Living the first days twice gives the same bytes; the whole stays under 900 kB."""
    first = make_example.journal(DAYS_LIVED_AGAIN)
    assert first == make_example.journal(DAYS_LIVED_AGAIN)
    assert first.count(b"\n") > DAYS_LIVED_AGAIN * 5
    assert len((example_dir() / JOURNAL_FILE).read_bytes()) < 900_000


def _written_late(entry: Entry) -> bool:
    house_day = entry.written.astimezone(EXAMPLE_MOMENT.tzinfo).date()
    return house_day > entry.happened
