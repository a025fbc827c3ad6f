"""What calendars are told: built once a change, cut to a key, done work marked, small enough."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
import vobject

from cropplan.desk import answers, duties, serving
from cropplan.desk.answers import Answer
from cropplan.desk.desk import Desk
from cropplan.desk.serving import DAYS_BACK, Feed, Feeds
from cropplan.holding.entry import Drained
from cropplan.record.keys import Key, KeyKind
from cropplan.record.store import open_record
from tests.builders import bare_house, bearing, on, standing

TODAY = date(2026, 6, 10)
NOW = datetime(2026, 6, 10, 6, 0, tzinfo=UTC)
ALL = Key(id=1, label="wall", kind=KeyKind.FEED, made=TODAY)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """Two houses on a June morning, a tomato in fruit in each, solids drained last week."""
    with open_record(tmp_path / "house.db", create=True) as record:
        for entries in (
            bare_house(second=True),
            bearing("tom1", "B1"),
            standing("tom2", "S1"),
            on(date(2026, 6, 3), Drained(loop="main"), by="Ines"),
        ):
            record.append(entries)
        yield Desk(record=record, clock=lambda: NOW)


def later(desk: Desk, **by: float) -> Desk:
    """The same desk after some time."""
    return replace(desk, clock=lambda: NOW + timedelta(**by))


def events(feed: Feed) -> dict[str, str]:
    """Summary by UID, as a calendar reader of other people reads them."""
    calendar = vobject.readOne(feed.body.decode())
    return {event.uid.value: event.summary.value for event in calendar.contents["vevent"]}


def test_a_calendar_is_built_once_a_change_and_not_once_a_poll(desk: Desk) -> None:
    """Fifty polls, one building; an entry, the next day or a figure of one's own, another."""
    feeds = Feeds()
    first = feeds.feed(desk, ALL)
    assert all(feeds.feed(desk, ALL) is first for _ in range(50))
    assert feeds.built == 1
    assert feeds.feed(later(desk, hours=5), ALL) is first
    duties.stop_duty(desk, "sticky-cards")
    assert feeds.feed(desk, ALL) is not first
    assert feeds.built == 2
    feeds.feed(later(desk, days=1), ALL)
    assert feeds.built == 3
    desk.own_figures.write_text("", encoding="utf-8")
    feeds.feed(later(desk, days=1), ALL)
    assert feeds.built == 4


def test_a_calendar_that_says_the_same_has_the_same_octets(desk: Desk) -> None:
    """Two servers over one record, hours apart, send one file with one validator."""
    one = Feeds().feed(desk, ALL)
    two = Feeds().feed(later(desk, hours=9), ALL)
    assert (one.body, one.packed, one.etag, one.revised) == (
        two.body,
        two.packed,
        two.etag,
        two.revised,
    )


def test_each_change_has_a_later_moment_though_the_clock_stands_still(desk: Desk) -> None:
    """Last-Modified has whole seconds, and a clock may be set back; changes still differ."""
    feeds = Feeds()
    moments = [feeds.feed(desk, ALL).revised]
    for text in ("sweep the path", "oil the vents"):
        duties.add_duty(desk, text, every_days=50, house="north")
        moments.append(feeds.feed(desk, ALL).revised)
    for handle in ("o1", "o2"):
        answers.put_off(desk, Answer(handles=(handle,)), to=TODAY + timedelta(days=1))
        moments.append(feeds.feed(desk, ALL).revised)
    for number, duty in enumerate(("test-water", "drain", "pollinate")):
        duties.stop_duty(desk, duty)
        moments.append(feeds.feed(later(desk, hours=-number), ALL).revised)
    assert moments == sorted(set(moments))


def test_a_house_and_a_kind_of_work_are_parts_of_the_whole(desk: Desk) -> None:
    """Every event of a part is in the whole under the same UID, and the parts make it up."""
    feeds = Feeds()
    whole = events(feeds.feed(desk, ALL))
    north = events(feeds.feed(desk, replace(ALL, house="north")))
    south = events(feeds.feed(desk, replace(ALL, house="south")))
    assert north
    assert south
    assert north.keys().isdisjoint(south)
    assert {**north, **south} == whole
    solids = events(feeds.feed(desk, replace(ALL, works=("solids",))))
    assert solids
    assert solids.items() <= whole.items()
    assert all("rain solids" in summary for summary in solids.values())
    nothing = events(feeds.feed(desk, replace(ALL, works=("clearing",), house="north")))
    assert len(nothing) >= 1


def test_asking_for_a_part_withdraws_nothing_of_the_rest(desk: Desk) -> None:
    """What is told is told of the whole record, whoever asks first."""
    feeds = Feeds()
    feeds.feed(desk, replace(ALL, works=("solids",)))
    assert not desk.record.withdrawn()
    whole = feeds.feed(desk, ALL)
    assert len(events(whole)) > 5
    assert not desk.record.withdrawn()


def test_work_that_was_done_keeps_its_place_with_a_mark_for_two_weeks(desk: Desk) -> None:
    """The event that asked for it moves to the day it was done, says by whom, then leaves."""
    feeds = Feeds()
    asked = events(feeds.feed(desk, ALL))
    uid = next(uid for uid, said in asked.items() if said == "Pollinate tomatoes: B1")
    answers.done(replace(desk, by="Ines"), Answer(handles=("po-tom",)))
    done = feeds.feed(desk, ALL)
    assert events(done)[uid] == "✓ Pollinate tomatoes: B1"
    body = done.body.decode()
    event = body.split(f"UID:{uid}\r\n")[1].split("END:VEVENT")[0]
    assert "DTSTART;VALUE=DATE:20260610" in event
    assert "by Ines" in event
    marked = [said for said in events(done).values() if said.startswith("✓")]
    assert "✓ Drain solids from the main filter until clear" in marked
    duties.stop_duty(desk, "pollinate")
    last = later(desk, days=DAYS_BACK - 7)
    assert (
        "✓ Drain solids from the main filter until clear" in events(feeds.feed(last, ALL)).values()
    )
    gone = later(desk, days=DAYS_BACK - 6)
    assert (
        "✓ Drain solids from the main filter until clear"
        not in events(feeds.feed(gone, ALL)).values()
    )


def test_too_long_a_calendar_is_cut_at_whole_days_and_says_so(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The nearest days stay; neither the number of events nor of octets is passed."""
    whole = Feeds().feed(desk, ALL)
    assert whole.warning is None
    for name, most in (("MOST_EVENTS", 20), ("MOST_OCTETS", 9000)):
        with monkeypatch.context() as limits:
            limits.setattr(serving, name, most)
            cut = Feeds().feed(desk, ALL)
        assert cut.warning is not None
        assert "use a key for a kind of work" in cut.warning
        shown, all_ = events(cut), events(whole)
        assert 0 < len(shown) == cut.events <= 20 or len(cut.body) <= 9000
        assert shown.items() < all_.items()
        last_shown = max(line for line in cut.body.decode().split("\r\n") if "DTSTART" in line)
        on_that_day = [
            part for part in whole.body.decode().split("BEGIN:VEVENT") if last_shown in part
        ]
        assert sum(part.split("UID:")[1][:36] in shown for part in on_that_day) == len(on_that_day)


def test_a_house_without_work_in_the_calendar_has_its_quiet_event(tmp_path: Path) -> None:
    """Never a calendar without a component (RFC 5545 §3.6; collective/icalendar issue 251)."""
    with open_record(tmp_path / "house.db", create=True) as record:
        record.append(bare_house())
        feed = Feeds().feed(
            Desk(record=record, clock=lambda: NOW), replace(ALL, works=("cuttings",))
        )
    assert feed.events == 0
    assert list(events(feed).values()) == ["Nothing falls due"]
