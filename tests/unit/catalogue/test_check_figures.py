"""Each kind of fault in a crop's figures is found, on its own line."""

import pytest
from catalogue_samples import FIGURES, GHERKIN, READ, faults_of, figure, line_of

FIGURE_CASES = {
    "source missing": ('typical = 3\nunit = "d"\ntrust = "read"', "[values", "needs 'source'"),
    "source unknown": (
        'typical = 3\nunit = "d"\nsource = "P0"\ntrust = "read"',
        'source = "P0"',
        "no source 'P0' in sources.toml; did you mean 'P00'?",
    ),
    "low above typical": (f'low = 5\ntypical = 3\nunit = "d"\n{READ}', "low = 5", "must rise"),
    "typical above high": (f'typical = 4\nhigh = 3\nunit = "d"\n{READ}', "typical = 4", "'high' 3"),
    "typical missing": (f'low = 3\nunit = "d"\n{READ}', "[values", "needs 'typical', a number"),
    "unit of another kind": (
        f'typical = 3\nunit = "kg"\n{READ}',
        'unit = "kg"',
        "'pick_interval' is in 'd', not in 'kg'",
    ),
    "text for a number": (
        f'typical = "3"\nunit = "d"\n{READ}',
        'typical = "3"',
        "'typical' must be a number, got '3'",
    ),
    "true for a number": (
        f'typical = 3\nlow = true\nunit = "d"\n{READ}',
        "low = true",
        "'low' must be a number, got 'true'",
    ),
    "no number at all": (f'typical = nan\nunit = "d"\n{READ}', "typical = nan", "got 'nan'"),
    "number beyond all bounds": (
        f'typical = 99999999999999\nunit = "d"\n{READ}',
        "typical = 99",
        "beyond all bounds",
    ),
    "number too long to be written out": (
        f'typical = [0x{"f" * 4000}]\nunit = "d"\n{READ}',
        "typical = [",
        "'typical' must be a number, got a value beyond all bounds",
    ),
    "number for a text": (
        'typical = 3\nunit = "d"\nsource = 5\ntrust = "read"',
        "source = 5",
        "'source' must be text in quotes",
    ),
    "unknown key": (
        f'typical = 3\nhihg = 5\nunit = "d"\n{READ}',
        "hihg",
        "unknown key 'hihg'; did you mean 'high'?",
    ),
    "below what a unit can be": (f'typical = -3\nunit = "d"\n{READ}', "typical = -3", "below 0"),
    "an interval of nothing": (f'typical = 0\nunit = "d"\n{READ}', "typical = 0", "above 0"),
    "trust a word of its own": (
        'typical = 3\nunit = "d"\nsource = "S01"\ntrust = "red"',
        'trust = "red"',
        "'trust' cannot be 'red'; did you mean 'read'?; choose from read, memory, practice",
    ),
    "practice with a source": (
        'typical = 3\nunit = "d"\nsource = "S01"\ntrust = "practice"',
        'source = "S01"\ntrust = "practice"',
        "common practice goes with source P00",
    ),
    "memory called read": (
        'typical = 3\nunit = "d"\nsource = "M00"\ntrust = "read"',
        'source = "M00"',
        "trust must be 'memory'",
    ),
    "points that fall": (
        f'typical = 3\npoints = [[20, 3], [15, 4]]\nunit = "d"\n{READ}',
        "points",
        "'points' must rise in °C; 15 follows 20",
    ),
    "points that are no pairs": (
        f'typical = 3\npoints = [[20, 3, 1]]\nunit = "d"\n{READ}',
        "points",
        "'points' must be pairs of °C and value",
    ),
    "a point of no days": (
        f'typical = 3\npoints = [[20, 3], [25, 0]]\nunit = "d"\n{READ}',
        "points",
        "the point [25, 0] cannot be",
    ),
    "typical outside its points": (
        f'typical = 9\npoints = [[20, 3], [25, 2]]\nunit = "d"\n{READ}',
        "typical = 9",
        "outside its points, 2 to 3",
    ),
    "base without a sum of warmth": (
        f'typical = 3\nbase_c = 5\nunit = "d"\n{READ}',
        "base_c",
        "'base_c' belongs only to a sum in 'degC d'",
    ),
    "a temperature that cannot be": (
        f'typical = 3\nat_c = 210\nunit = "d"\n{READ}',
        "at_c = 210",
        "'at_c' 210 is above 60",
    ),
    "light of nothing": (
        f'typical = 3\nlight_enough = 0\nunit = "d"\n{READ}',
        "light_enough",
        "must be above 0",
    ),
}


@pytest.mark.parametrize("case", FIGURE_CASES)
def test_a_spoilt_figure_is_found_on_its_line(case: str) -> None:
    """Every figure has a source, rises, and is in a unit its key allows (design, rule 8)."""
    lines, at, said = FIGURE_CASES[case]
    text = figure("pick_interval", lines)
    start = text.index("[values.pick_interval]")
    place = text[:start].count("\n") + line_of(text[start:], at)
    found = faults_of(text)
    assert len(found) == 1, found
    assert found[0].startswith(f"gherkin.toml:{place}: "), found
    assert said in found[0]


def test_a_sum_of_warmth_needs_its_base() -> None:
    """Degree-days mean nothing without the temperature above which they count."""
    text = figure("flower_to_pick", f'typical = 700\nunit = "degC d"\n{READ}')
    assert faults_of(text) == [
        (
            f"gherkin.toml:{line_of(text, '[values.flower_to_pick]')}: "
            "a sum in 'degC d' needs 'base_c', the °C above which it counts"
        )
    ]


def test_a_ceiling_under_its_base_is_found() -> None:
    """Between base and ceiling there must be room to grow."""
    lines = f'typical = 700\nbase_c = 12\nceiling_c = 10\nunit = "degC d"\n{READ}'
    text = figure("flower_to_pick", lines)
    assert faults_of(text) == [
        f"gherkin.toml:{line_of(text, 'ceiling_c')}: 'ceiling_c' 10 must be above 12"
    ]


@pytest.mark.parametrize("key", [key for key, _, _ in FIGURES])
def test_a_figure_that_the_schedule_needs_is_missed(key: str) -> None:
    """A crop cannot be scheduled with a stage left out; the fault stands at its figures."""
    start = GHERKIN.index(f"\n[values.{key}]")
    end = GHERKIN.find("\n[", start + 1)
    text = GHERKIN[:start] + (GHERKIN[end:] if end > 0 else "")
    found = faults_of(text)
    assert len(found) == 1, found
    assert found[0].startswith(f"gherkin.toml:{line_of(text, '[values.')}: ")
    assert f"[values.{key}] is missing" in found[0].replace(" or [values.cuts]", "")


def test_yield_is_in_the_unit_of_picking() -> None:
    """What is picked in kg cannot be promised in bunches."""
    text = GHERKIN.replace('unit = "kg/plant/week"', 'unit = "bunches/plant/week"')
    place = line_of(text, 'unit = "bunches/plant/week"')
    assert faults_of(text) == [
        (
            f"gherkin.toml:{place}: a crop picked in 'kg' gives 'kg/plant/week', "
            "not 'bunches/plant/week'"
        )
    ]


def test_a_figure_that_is_no_table_is_found() -> None:
    """`runner_interval = 3` under [values] says neither unit nor source."""
    text = GHERKIN.replace("[values.cutting_days_to_root]", "[values]\nrunner_interval = 3\n[x]")
    found = faults_of(text)
    place = line_of(text, "runner_interval = 3")
    assert (
        f"gherkin.toml:{place}: 'values.runner_interval' must be a table, [values.runner_interval]"
        in found
    )
    place = line_of(text, "[x]")
    assert f"gherkin.toml:{place}: a crop's file holds [crop] and [values], not [x]" in found
