"""Words for days, numbers and places."""

from __future__ import annotations

from datetime import date

import pytest

from cropplan.schedule.wording import (
    ago_text,
    day_text,
    days_text,
    length_text,
    list_text,
    plants_text,
    span_text,
)

MARCH = date(2026, 3, 3)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (days_text(1), "1 day"),
        (days_text(4), "4 days"),
        (plants_text(1), "1 plant"),
        (plants_text(3), "3 plants"),
        (length_text(21), "21 days"),
        (length_text(545), "18 months"),
        (length_text(3650), "10 years"),
        (ago_text(0), "today"),
        (ago_text(1), "yesterday"),
        (ago_text(4), "4 days ago"),
        (day_text(MARCH), "Tue 3 Mar"),
        (day_text(MARCH, date(2026, 12, 1)), "Tue 3 Mar"),
        (day_text(MARCH, date(2027, 1, 1)), "Tue 3 Mar 2026"),
        (span_text(MARCH, MARCH), "3 Mar"),
        (span_text(MARCH, date(2026, 3, 9)), "3–9 Mar"),
        (span_text(date(2026, 2, 28), MARCH), "28 Feb – 3 Mar"),
        (span_text(date(2025, 3, 3), MARCH), "3 Mar 2025 – 3 Mar 2026"),
        (span_text(date(2025, 12, 28), date(2026, 1, 4)), "28 Dec – 4 Jan"),
        (list_text([]), ""),
        (list_text(["B1"]), "B1"),
        (list_text(["B1", "B2"]), "B1 and B2"),
        (list_text(["B1", "B2", "B3", "B4"]), "B1, B2, B3 and B4"),
        (list_text(["B1", "B2", "B3", "B4", "B5"]), "B1, B2, B3 and 2 more"),
    ],
)
def test_things_are_said_as_growers_say_them(said: str, words: str) -> None:
    """The same words on every face."""
    assert said == words
