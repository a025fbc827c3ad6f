"""What calendars were told: remembered for ever, never taken back."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from record_builders import NOW, notice, record_with

from cropplan.problems import BadData
from cropplan.record.store import Record


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    """A record that has told calendars of two tasks."""
    with record_with(tmp_path / "house.db", []) as record:
        record.publish([notice("a/1", "uid-a"), notice("b/1", "uid-b")], [])
        yield record


def test_what_was_told_is_read_back_as_it_was(record: Record) -> None:
    """Every field, the moments in UTC."""
    assert record.published() == {"a/1": notice("a/1", "uid-a"), "b/1": notice("b/1", "uid-b")}
    assert record.withdrawn() == frozenset()


def test_a_changed_notice_replaces_its_row_only(record: Record) -> None:
    """The one that did not change keeps its stamp."""
    moved = replace(
        notice("a/1", "uid-a", 1),
        stamp=NOW + timedelta(hours=3),
        digest="d2",
        day=date(2026, 3, 4),
        tentative=True,
    )
    record.publish([moved], [])
    assert record.published() == {"a/1": moved, "b/1": notice("b/1", "uid-b")}


def test_a_notice_that_is_gone_keeps_its_uid_and_sequence_for_its_return(record: Record) -> None:
    """RFC 5545 section 3.8.7.4: a returning event must not begin again at a lower sequence."""
    record.publish([notice("a/1", "uid-a", 4)], ["b/1"])
    record.publish([], ["a/1", "never told"])
    assert record.withdrawn() == {"a/1", "b/1"}
    assert record.published()["a/1"] == notice("a/1", "uid-a", 4)
    record.publish([notice("a/1", "uid-a", 5)], [])
    assert record.withdrawn() == {"b/1"}
    assert list(record.published()) == ["a/1", "b/1"]


@pytest.mark.parametrize(
    ("broken", "why"),
    [
        (notice("a/1", "uid-other", 9), "lower SEQUENCE"),
        (notice("a/1", "uid-a", 1), "never lowers SEQUENCE"),
        (notice("c/1", "uid-b"), "UNIQUE"),
    ],
)
def test_a_promise_to_calendars_cannot_be_broken(record: Record, broken: object, why: str) -> None:
    """A UID stays with its key and belongs to no other; a sequence never falls."""
    record.publish([notice("a/1", "uid-a", 2)], [])
    before = record.published()
    with pytest.raises(BadData) as told:
        record.publish([notice("d/1", "uid-d"), broken], ["b/1"])  # type: ignore[list-item]
    assert str(told.value).startswith(f"{record.path}: ")
    assert why.rsplit(maxsplit=1)[-1] in str(told.value)
    assert record.published() == before
    assert record.withdrawn() == frozenset()


def test_a_notice_cannot_be_forgotten_by_plain_sql(record: Record) -> None:
    """The database itself keeps what calendars were told."""
    with (
        closing(sqlite3.connect(record.path)) as other,
        pytest.raises(sqlite3.IntegrityError, match="never forgotten"),
    ):
        other.execute("DELETE FROM published")
    assert len(record.published()) == 2


def test_a_spoilt_identity_is_told_and_no_new_one_is_made_up(record: Record) -> None:
    """A new namespace would show every task twice on the phone."""
    with closing(sqlite3.connect(record.path, isolation_level=None)) as other:
        other.execute("UPDATE record_info SET value = 'mine' WHERE key = 'namespace'")
        other.execute("UPDATE record_info SET value = 'once' WHERE key = 'created'")
    with pytest.raises(BadData, match="identity"):
        _ = record.namespace
    with pytest.raises(BadData, match="the moment the record was made"):
        _ = record.made


def test_a_record_says_when_it_was_made(record: Record) -> None:
    """In UTC, to the second."""
    assert record.made.tzinfo is not None
    assert record.made.utcoffset() == timedelta(0)
