"""Every situation a house brings, by number, and the test that holds the tool to it.

A situation that waits for a later part of the tool names the part instead: B dates and learning,
C the season plan, D fish and water, E the phone. What each situation is, its test says.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]

#: By number: tests as `file::name`, or the letter of the part that will bring them.
SITUATIONS: dict[int, tuple[str, ...]] = {
    22: ("story/test_first_session.py::test_a_time_away_is_written_and_a_page_is_left_behind",),
    23: ("story/test_first_session.py::test_a_neighbours_sheet_is_copied_in_one_go",),
    40: ("unit/schedule/test_schedule_standing.py::test_a_loop_asks_for_what_its_state_needs",),
    43: ("unit/holding/test_holding_things.py::test_the_newest_test_counts_and_zero_is_a_value",),
    44: (
        "unit/cli/test_typed_amounts.py::test_bare_numbers_are_in_the_units_of_the_house",
        "story/test_bad_inputs.py::test_what_cannot_be_is_refused_and_changes_nothing",
    ),
    51: ("story/test_cold_fortnight.py::test_a_setback_moves_the_first_pick_by_the_days_lost",),
    55: ("story/test_cold_fortnight.py::test_a_setback_moves_the_first_pick_by_the_days_lost",),
    70: (
        "unit/growth/test_sun.py::test_the_dark_window_in_the_south_lies_within_the_year",
        "unit/growth/test_sun.py::test_the_dark_window_in_the_north_spans_the_new_year",
    ),
    71: (
        "unit/growth/test_sun.py::test_there_is_no_dark_window_in_the_tropics",
        "unit/growth/test_light.py::test_lamps_that_make_up_the_day_rest_in_summer",
    ),
    72: (
        "unit/growth/test_sun.py::test_polar_night_has_no_day_and_no_radiation",
        "unit/growth/test_light.py::test_polar_night_leaves_only_the_lamps",
    ),
    73: ("unit/schedule/test_schedule_fixed.py::test_other_rules_are_the_standards",),
    74: ("A",),
    75: (
        "unit/ics/test_ics_published.py::test_the_uid_comes_from_the_records_namespace_and_the_key_alone",
        "unit/schedule/test_schedule_outlook.py::test_only_days_worth_a_phone_are_shown",
    ),
}
#: Those with a story of their own are found by the number in its name.
LAST = 75
PARTS = frozenset("ABCDE")


def names_in(file: Path) -> set[str]:
    """The names of the tests in a file."""
    return {
        node.name
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    }


def stories() -> dict[int, list[str]]:
    """The situations that have a story of their own, by number."""
    found: dict[int, list[str]] = {}
    for file in sorted(Path(__file__).parent.glob("test_situations_*.py")):
        for name in sorted(names_in(file)):
            numbered = re.match(r"test_situation_(\d\d)_", name)
            if numbered:
                where = f"story/{file.name}::{name}"
                found.setdefault(int(numbered[1]), []).append(where)
    return found


@pytest.mark.parametrize("number", range(1, LAST + 1))
def test_every_situation_has_its_test_or_the_part_that_brings_it(number: int) -> None:
    """Nothing that a house brings is forgotten."""
    held_to = [*stories().get(number, []), *SITUATIONS.get(number, ())]
    assert held_to, f"situation {number} has neither test nor part"
    for one in held_to:
        if one in PARTS:
            continue
        file, _, name = one.partition("::")
        assert name in names_in(TESTS / file), f"situation {number} names {one}, which is not there"


def test_the_stories_cover_what_needs_no_weather_planner_or_water_sums() -> None:
    """These are held to from the first; none of them may wait for a later part."""
    from_the_first = {*range(1, 31), *range(33, 37), *range(46, 51), *range(56, 67)}
    waiting = {
        number
        for number in from_the_first
        if number not in stories() and set(SITUATIONS.get(number, ("A",))) <= PARTS
    }
    assert waiting == set()


def test_no_situation_is_told_twice() -> None:
    """One number, one story."""
    assert {n: names for n, names in stories().items() if len(names) > 1} == {}
