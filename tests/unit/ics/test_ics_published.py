"""What calendars are told when the work changes."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID, uuid5

import pytest

from cropplan.holding.notice import Notice, Published
from cropplan.ics.published import WITHDRAWN, Publishing, compare, feed_revised
from cropplan.problems import BadData

RECORD = UUID("5d0c2f0e-93c6-4d0b-8d4c-6c0b3f9f1a77")
MONDAY = datetime(2027, 3, 1, 6, 30, tzinfo=UTC)
TUESDAY = MONDAY + timedelta(days=1)
CUTTINGS = Notice(
    key="strike/planting:tom7/2",
    day=date(2027, 3, 10),
    summary="Strike 12 cuttings",
    text="From the tops of B3.",
    kinds=("cuttings", "tomato"),
    tentative=True,
)


def told(*publishings: Publishing) -> dict[str, Published]:
    """What the record holds after these publishings."""
    return {row.key: row for each in publishings for row in each.changed}


def first_told() -> Publishing:
    """The notice published for the first time, on Monday."""
    return compare([CUTTINGS], {}, MONDAY, RECORD)


def only(publishing: Publishing) -> Published:
    """What is told of the one live notice."""
    ((_, row),) = publishing.live
    return row


def test_a_new_notice_starts_at_revision_nought() -> None:
    """RFC 5545 §3.8.7.4: when a component is created its sequence number is 0."""
    row = only(first_told())
    assert (row.sequence, row.created, row.stamp) == (0, MONDAY, MONDAY)
    assert first_told().changed == (row,)


def test_the_uid_comes_from_the_records_namespace_and_the_key_alone() -> None:
    """RFC 7986 §5.3 asks for a UUID; the same record gives the same one for ever."""
    row = only(first_told())
    assert row.uid == str(uuid5(RECORD, "task:strike/planting:tom7/2"))
    moved = compare([replace(CUTTINGS, day=date(2027, 4, 1), summary="x")], {}, TUESDAY, RECORD)
    assert only(moved).uid == row.uid
    other = compare([CUTTINGS], {}, MONDAY, UUID(int=1))
    assert only(other).uid != row.uid


def test_the_same_work_again_changes_nothing() -> None:
    """RFC 5545 §3.8.7.2: DTSTAMP is the last revision, so a poll on another day moves no stamp."""
    again = compare([CUTTINGS], told(first_told()), TUESDAY, RECORD)
    assert (again.changed, again.gone) == ((), ())
    assert again.live == first_told().live


@pytest.mark.parametrize(
    ("change", "sequence"),
    [
        ({"day": date(2027, 3, 11)}, 1),
        ({"tentative": False}, 1),
        ({"day": date(2027, 3, 9), "tentative": False}, 1),
        ({"summary": "Strike 14 cuttings"}, 0),
        ({"text": "From the tops of B4."}, 0),
        ({"kinds": ("cuttings",)}, 0),
    ],
)
def test_only_a_new_day_or_certainty_raises_the_sequence(
    change: dict[str, object], sequence: int
) -> None:
    """RFC 5546 §2.1.4 lists DTSTART, DTEND and STATUS; every visible change moves the stamp."""
    changed = replace(CUTTINGS, **change)  # type: ignore[arg-type]
    row = only(compare([changed], told(first_told()), TUESDAY, RECORD))
    assert (row.sequence, row.stamp, row.created) == (sequence, TUESDAY, MONDAY)
    assert row.uid == only(first_told()).uid
    assert (row.day, row.tentative) == (changed.day, changed.tentative)


def test_kinds_in_another_order_are_no_change() -> None:
    """RFC 5545 §3.1.1: there is no significance to the order of values in a list."""
    turned = replace(CUTTINGS, kinds=("tomato", "cuttings", "tomato"))
    assert compare([turned], told(first_told()), TUESDAY, RECORD).changed == ()


def test_what_no_calendar_can_show_is_no_change() -> None:
    """A bell or a trailing space is never written, so it revises nothing."""
    noisy = replace(CUTTINGS, summary="Strike 12\x07 cuttings ", text="From the tops of B3.\r\n")
    assert compare([noisy], told(first_told()), TUESDAY, RECORD).changed == ()


def test_a_notice_that_leaves_is_told_of_once() -> None:
    """It is stored as withdrawn, with all else kept for its return."""
    first = first_told()
    left = compare([], told(first), TUESDAY, RECORD)
    assert (left.live, left.gone) == ((), (CUTTINGS.key,))
    assert left.changed == (replace(only(first), digest=WITHDRAWN, stamp=TUESDAY),)
    after = compare([], told(first, left), TUESDAY, RECORD)
    assert (after.changed, after.gone) == ((), ())


@pytest.mark.parametrize("day", [date(2027, 3, 10), date(2027, 3, 20)])
def test_a_notice_that_returns_is_the_same_event_at_a_higher_revision(day: date) -> None:
    """RFC 5546 §2.1.4 raises SEQUENCE for a cancellation, and §2.1.5 lets the highest win."""
    first = first_told()
    left = compare([], told(first), TUESDAY, RECORD)
    back = replace(CUTTINGS, day=day)
    wednesday = TUESDAY + timedelta(days=1)
    row = only(compare([back], told(first, left), wednesday, RECORD))
    assert (row.uid, row.created) == (only(first).uid, MONDAY)
    assert (row.sequence, row.stamp) == (1, wednesday)


@pytest.mark.parametrize("now", [MONDAY, MONDAY - timedelta(days=400)])
def test_a_clock_set_back_never_takes_a_stamp_back(now: datetime) -> None:
    """RFC 5546 §2.1.5: with equal SEQUENCE the latest DTSTAMP wins, so it only rises."""
    reworded = replace(CUTTINGS, summary="Strike 14 cuttings")
    row = only(compare([reworded], told(first_told()), now, RECORD))
    assert row.stamp == MONDAY + timedelta(seconds=1)


def test_stamps_are_whole_seconds_of_utc() -> None:
    """RFC 5545 §3.3.12 has no fraction: what is stored must be what is written."""
    local = datetime(2027, 3, 1, 7, 30, 0, 987654, tzinfo=timezone(timedelta(hours=1)))
    row = only(compare([CUTTINGS], {}, local, RECORD))
    assert row.stamp == MONDAY
    assert row.stamp.tzinfo is UTC
    assert row.stamp.microsecond == 0


def test_what_is_live_goes_by_day_and_then_by_key() -> None:
    """One order for one state, so that the file has the same octets."""
    late = replace(CUTTINGS, key="a", day=date(2027, 5, 1))
    second = replace(CUTTINGS, key="c", day=date(2027, 3, 2))
    first = replace(CUTTINGS, key="b", day=date(2027, 3, 2))
    for order in ([late, second, first], [first, late, second]):
        live = compare(order, {}, MONDAY, RECORD).live
        assert [notice.key for notice, _ in live] == ["b", "c", "a"]


def test_two_notices_with_one_key_are_refused() -> None:
    """RFC 5545 §3.8.4.7: a UID is unique, so one task may give one notice."""
    with pytest.raises(BadData, match=r"^calendar: two notices are both named 'strike/planting:"):
        compare([CUTTINGS, CUTTINGS], {}, MONDAY, RECORD)


def test_a_time_without_a_zone_is_refused() -> None:
    """A bare local time would be read as this computer's, and the stamps must be UTC."""
    with pytest.raises(ValueError, match="time zone"):
        compare([CUTTINGS], {}, MONDAY.replace(tzinfo=None), RECORD)


def test_the_calendar_is_revised_only_when_something_changed() -> None:
    """RFC 7986 §5.4; a pure removal is a change, or a client would keep what has gone."""
    first = first_told()
    made = MONDAY - timedelta(days=1)
    assert feed_revised([], made=made) == made
    assert feed_revised(told(first).values(), made=made) == MONDAY
    assert compare([CUTTINGS], told(first), TUESDAY, RECORD).changed == ()
    left = compare([], told(first), TUESDAY, RECORD)
    assert feed_revised(left.changed, made=made) == TUESDAY
    back_in_time = compare([], told(first), MONDAY - timedelta(days=3), RECORD)
    assert feed_revised(back_in_time.changed, made=made) == MONDAY + timedelta(seconds=1)
