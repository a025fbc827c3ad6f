"""Each kind of fault in a crop's head is found, on its own line, and hides no other."""

from pathlib import Path

import pytest
from catalogue_samples import DUTY, FRUIT, GHERKIN, faults_of, line_of

from cropplan.catalogue.check import first_fault


def test_a_crop_that_holds_all_it_needs_has_no_fault() -> None:
    """The sample that the cases below spoil is sound, so each finds its own fault only."""
    assert faults_of(GHERKIN) == []
    assert faults_of(DUTY, "duties.toml") == []


CROP_CASES = {
    "unknown habit": (
        'habit = "fruit"',
        'habit = "friut"',
        "'habit' cannot be 'friut'; did you mean 'fruit'?; choose from fruit, leaf, head",
    ),
    "unknown way": ('"cutting", "seed"', '"cuting", "seed"', "'ways' cannot be 'cuting'"),
    "unknown place": ('["bucket"]', '["pail"]', "choose from bucket, channel, hole, bed"),
    "unknown pollination": ('"brush"', '"bruhs"', "'pollination' cannot be 'bruhs'"),
    "unknown unit of picking": ('pick_unit = "kg"', 'pick_unit = "lb"', "choose from kg, pieces"),
    "no ways": ('ways = ["cutting", "seed"]', "ways = []", "'ways' must name at least one"),
    "ways as one text": ('["cutting", "seed"]', '"cutting"', "'ways' must be a list of texts"),
    "tag too long": ('tag = "ghe"', 'tag = "gherk"', "'tag' must be two to four small letters"),
    "tag in capitals": ('tag = "ghe"', 'tag = "GHE"', "'tag' must be two to four small letters"),
    "id of another file": ('id = "gherkin"', 'id = "girkin"', "must be called girkin.toml"),
    "caution that is not there": ('["raw-greens"]', '["raw-grens"]', "did you mean 'raw-greens'?"),
    "empty name": ('name = "Gherkin"', 'name = ""', "'name' must not be empty"),
    "unknown key": ('family = "gourd"', 'familiy = "gourd"', "did you mean 'family'?"),
    "figure of unknown name": (
        "[values.picking_life]",
        "[values.piking_life]",
        "no figure is called 'piking_life'; did you mean 'picking_life'?",
    ),
}


@pytest.mark.parametrize("case", CROP_CASES)
def test_a_spoilt_head_is_found_on_its_line(case: str) -> None:
    """Words not in the list are refused with the choices; nothing is taken on trust."""
    old, new, said = CROP_CASES[case]
    assert old in GHERKIN
    text = GHERKIN.replace(old, new, 1)
    found = [fault for fault in faults_of(text) if said in fault]
    assert len(found) == 1, faults_of(text)
    assert found[0].startswith(f"gherkin.toml:{line_of(text, new)}: ")


def test_a_whole_missing_table_is_said() -> None:
    """A crop file without a head, or without figures, is told so."""
    assert faults_of(FRUIT) == ["gherkin.toml: a crop needs its figures, as [values.pick_interval]"]
    assert "gherkin.toml: 'crop' must be a table, [crop]" in faults_of(GHERKIN[len(FRUIT) :])


@pytest.mark.parametrize("pollination", ["none", "forbidden"])
def test_a_crop_that_is_not_pollinated_has_no_interval_for_it(pollination: str) -> None:
    """Parthenocarpic cucumber: pollinated fruit is seedy and bitter (Hochmuth, HS790)."""
    text = GHERKIN.replace('pollination = "brush"', f'pollination = "{pollination}"')
    place = line_of(text, "[values.pollination_interval]")
    assert faults_of(text) == [
        (
            f"gherkin.toml:{place}: a crop whose pollination is '{pollination}' has no "
            "pollination_interval"
        )
    ]


def test_the_first_fault_hides_no_other() -> None:
    """Three faults in one file are three lines of the answer."""
    text = GHERKIN.replace('habit = "fruit"', 'habit = "friut"')
    text = text.replace("typical = 90", "typical = -90").replace('tag = "ghe"', 'tag = "g"')
    assert len(faults_of(text)) >= 3


def test_the_first_fault_of_a_file_says_how_many_more() -> None:
    """A refused reading is one line; the check command shows the rest."""
    text = GHERKIN.replace('habit = "fruit"', 'habit = "friut"').replace('"ghe"', '"g"')
    assert first_fault(Path("gherkin.toml"), text).endswith(
        "(and 1 more; see 'cropplan crops check')"
    )
    assert first_fault(Path("tomato.toml"), FRUIT.replace("gherkin", "tomato")).startswith(
        "tomato.toml: a crop needs its figures"
    )
