"""Whatever can be entered is read back exactly as it was."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import date, datetime, timedelta, timezone
from enum import Enum
from types import NoneType, UnionType
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropplan.holding.entry import Act
from cropplan.holding.notice import Published
from cropplan.holding.task import Subject, SubjectKind
from cropplan.record import acts
from cropplan.record.plain import LARGEST, codec
from cropplan.record.projection import HELD, TEMPERATURE
from cropplan.record.rows import shape

TEXT = st.text(st.characters(codec="utf-8"), max_size=12)
# Not named zones: an hour that a clock change skips or repeats equals no moment of another zone
# (PEP 495), so nothing could be compared.
OFFSETS = st.integers(-14 * 60, 14 * 60).map(lambda m: timezone(timedelta(minutes=m)))
SIMPLE: dict[Any, st.SearchStrategy[Any]] = {
    str: TEXT,
    int: st.integers(-LARGEST, LARGEST),
    float: st.floats(allow_nan=False, allow_infinity=False),
    bool: st.booleans(),
    date: st.dates(),
    datetime: st.datetimes(
        min_value=datetime(2, 1, 1),  # noqa: DTZ001 - the zone is added below
        max_value=datetime(9998, 12, 31),  # noqa: DTZ001
        timezones=OFFSETS,
    ),
    Subject: st.builds(Subject, st.sampled_from([kind.value for kind in SubjectKind]), TEXT),
}


def anything(hint: Any) -> st.SearchStrategy[Any]:
    """Any value of a type hint that the nouns use."""
    if hint in SIMPLE:
        return SIMPLE[hint]
    origin = get_origin(hint)
    if origin is UnionType:
        return st.one_of(
            [st.none() if arg is NoneType else anything(arg) for arg in get_args(hint)]
        )
    if origin is tuple:
        return st.lists(anything(get_args(hint)[0]), max_size=3).map(tuple)
    if origin is Mapping:
        key, value = get_args(hint)
        return st.dictionaries(anything(key), anything(value), max_size=3)
    if issubclass(hint, Enum):
        return st.sampled_from(list(hint))
    hints = get_type_hints(hint)
    return st.builds(hint, **{field.name: anything(hints[field.name]) for field in fields(hint)})


@pytest.mark.parametrize("kind", acts.KINDS)
@given(data=st.data())
def test_any_act_is_read_back_as_it_was_entered(kind: str, data: st.DataObject) -> None:
    """Rule 9 of the design: nothing is lost, not a digit of a number or a sign of a note."""
    act: Act = data.draw(anything(acts.KINDS[kind]))
    assert acts.from_text(acts.kind_of(act), acts.to_text(act)) == act


@pytest.mark.parametrize(
    "noun", [*(table.noun for table in (*HELD, TEMPERATURE)), Published], ids=lambda n: n.__name__
)
@given(data=st.data())
def test_any_row_is_read_back_as_it_was_written(noun: type[Any], data: st.DataObject) -> None:
    """Each column's form is the reverse of its reading; SQLite holds the cells as they are."""
    value = data.draw(anything(noun))
    cells = shape(noun).row(value)
    assert all(cell is None or type(cell) in {str, int, float} for cell in cells)
    assert shape(noun).read(cells) == value


@given(moment=SIMPLE[datetime])
def test_any_moment_is_kept_in_utc_and_is_the_same_moment(moment: datetime) -> None:
    """Wherever the computer stands; text in UTC also sorts by time."""
    text = codec(datetime).write(moment)
    assert text.endswith("+00:00")
    assert codec(datetime).read(text) == moment
