"""The calendar of the example house, as other people's programs read it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest

from cropplan.desk import answers, calendar
from cropplan.desk.answers import Answer
from cropplan.desk.desk import Desk
from cropplan.desk.example import EXAMPLE_DAY, EXAMPLE_MOMENT, Example, build_example
from cropplan.problems import Refusal
from cropplan.record.store import open_record
from tests.calendar_octets.octets import ReadEvent, feed_findings, findings_between, read_events
from tests.clients.readers import Line, assert_all_readers_agree

LATE_BY = timedelta(days=1)


@dataclass(slots=True)
class Morning:
    """The example's desk, whose clock can be moved on."""

    desk: Desk
    later: timedelta = timedelta(0)


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Example:
    """The example house, built once."""
    return build_example(tmp_path_factory.mktemp("example"))


@pytest.fixture
def morning(tmp_path: Path) -> Iterator[Morning]:
    """An example of one's own, to change."""
    built = build_example(tmp_path / "own")
    with open_record(built.record) as record:
        held = Morning(Desk(record=record, clock=lambda: EXAMPLE_MOMENT + held.later))
        yield held


def test_the_example_s_calendar_keeps_the_standards(example: Example) -> None:
    """RFC 5545 and RFC 7986, judged octet by octet; some months of work ahead."""
    octets = example.calendar.read_bytes()
    assert feed_findings(octets) == []
    events = read_events(octets)
    assert len(events) == example.events >= 50
    assert max(event.day for event in events) > EXAMPLE_DAY + timedelta(days=60)


def test_the_calendar_holds_the_work_that_phones_should_show(example: Example) -> None:
    """Pollination, cuttings, solids, media or setting out, and first picks (issue A item 6)."""
    kinds = {kind for event in read_events(example.calendar.read_bytes()) for kind in event.kinds}
    assert {"pollinating", "cuttings", "solids", "setting out", "first picks"} <= kinds


def test_predicted_work_is_tentative_and_tells_its_span(example: Example) -> None:
    """A day not yet sure is TENTATIVE with its span in the text (RFC 5545 §3.8.1.11)."""
    events = read_events(example.calendar.read_bytes())
    unsure = [event for event in events if ("STATUS", "TENTATIVE") in event.properties]
    assert unsure
    assert all("not yet sure" in event.text for event in unsure)
    assert all("not yet sure" not in event.text for event in events if event not in unsure)


def test_every_reader_sees_the_example_s_days_alike(example: Example) -> None:
    """icalendar, vobject, ics, khal (import, then list) and ical.js agree on UID, day and words."""
    octets = example.calendar.read_bytes()
    expected: list[Line] = [(e.uid, e.day, e.summary) for e in read_events(octets)]
    assert_all_readers_agree(octets, expected)


def test_the_example_is_built_the_same_twice(example: Example, tmp_path: Path) -> None:
    """Its identity, its clock and its record are given, so its calendar is the same octets."""
    again = build_example(tmp_path)
    assert again.calendar.read_bytes() == example.calendar.read_bytes()


def test_writing_twice_gives_the_same_bytes(morning: Morning, tmp_path: Path) -> None:
    """Nothing done, nothing new told: no stamp moves, though time has passed."""
    first = calendar.write_file(morning.desk, tmp_path / "one.ics")
    morning.later = timedelta(minutes=5)
    second = calendar.write_file(morning.desk, tmp_path / "two.ics")
    assert (second.changed, second.gone) == (0, 0)
    assert (tmp_path / "one.ics").read_bytes() == (tmp_path / "two.ics").read_bytes()
    assert first.events == second.events


def test_work_done_late_moves_the_later_turns_without_a_new_uid(morning: Morning) -> None:
    """Rule 1 of design.md §4: a turn counts from the day it was done; rule 2: it keeps its UID."""
    before = calendar.build(morning.desk).content
    old = _drains(before)
    assert len(old) >= 5
    morning.later = old[0].day - EXAMPLE_DAY + LATE_BY
    answers.done(morning.desk, Answer(handles=("dr-main",)))
    after = calendar.build(morning.desk).content
    new = _drains(after)
    assert findings_between(before, after) == []
    assert old[0].uid not in {event.uid for event in new}
    moved = {event.uid: event.day for event in new}
    for event in old[1:]:
        if event.uid in moved:
            assert moved[event.uid] == event.day + LATE_BY
    kept = [event for event in old[1:] if event.uid in moved]
    assert len(kept) >= len(old) - 2


def test_a_folder_that_holds_an_example_is_left_alone(example: Example) -> None:
    """`demo` twice in one folder is refused in one line, and the record is not touched."""
    before = example.record.read_bytes()
    with pytest.raises(Refusal, match=r"house\.cropplan: is there already"):
        build_example(example.record.parent)
    assert example.record.read_bytes() == before


def _drains(octets: bytes) -> list[ReadEvent]:
    """The solids drains of the main loop, by day."""
    drains = [event for event in read_events(octets) if event.summary.startswith("Drain solids")]
    return sorted(drains, key=lambda event: event.day)
