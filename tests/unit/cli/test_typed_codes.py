"""Codes of places as typed, and drawn together again when shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropplan.cli.codes import as_known, codes_from
from cropplan.cli.show import short_codes
from cropplan.problems import Misuse


@pytest.mark.parametrize(
    ("typed", "codes"),
    [
        ("B3", ["B3"]),
        ("B1-B4,C1", ["B1", "B2", "B3", "B4", "C1"]),
        ("B1-4", ["B1", "B2", "B3", "B4"]),
        ("B09-B11", ["B09", "B10", "B11"]),
        ("b1-B2", ["b1", "b2"]),
        ("bench-1", ["bench-1"]),
        ("B1, B2", ["B1", "B2"]),
        ("7-9", ["7", "8", "9"]),
    ],
)
def test_ranges_and_lists_mean_their_places(typed: str, codes: list[str]) -> None:
    """A row of buckets is typed as on its first and last label."""
    assert codes_from(typed) == codes


@pytest.mark.parametrize(
    "typed", ["", ",", "B4-B1", "B1-C4", "B1,B1", "B1-B3,B2", "B1-B100000", "B!", "-B"]
)
def test_places_that_cannot_be_meant_are_refused_with_the_text(typed: str) -> None:
    """Backwards, mixed, doubled or endless ranges are slips of the hand."""
    with pytest.raises(Misuse) as refused:
        codes_from(typed)
    assert "'" in str(refused.value)
    assert typed.split(",", maxsplit=1)[0] in str(refused.value)


def test_capitals_make_no_difference_where_only_they_differ() -> None:
    """Wet fingers type b3; the record knows B3. What is not known stays as typed."""
    assert as_known(["b3", "T1", "x9"], ["B3", "T1", "t2"]) == ["B3", "T1", "x9"]


def test_runs_are_drawn_together_from_three_on() -> None:
    """`B1, B2` is as short as a range and plainer; three become B1-B3."""
    assert short_codes(["B1", "B2", "C2"]) == "B1, B2, C2"
    assert short_codes(["B1", "B2", "B3", "B4", "C2"]) == "B1-B4, C2"
    assert short_codes(["B9", "B10", "B11"]) == "B9-B11"
    assert short_codes(["bench", "B1"]) == "bench, B1"
    assert short_codes([]) == ""


@given(
    st.lists(
        st.tuples(st.sampled_from("BCT"), st.integers(min_value=1, max_value=30)),
        min_size=1,
        max_size=20,
        unique=True,
    )
)
def test_what_is_shown_can_be_typed_again(places: list[tuple[str, int]]) -> None:
    """Drawn together and typed back, codes are the same, none lost and none added."""
    codes = [f"{letter}{number}" for letter, number in places]
    assert codes_from(short_codes(codes)) == codes
