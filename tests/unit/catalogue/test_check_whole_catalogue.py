"""Faults between the files of a catalogue: names used twice, files missing or not to be read."""

import shutil
from pathlib import Path

import pytest
from catalogue_samples import line_of

from cropplan.catalogue.check import check_catalogue
from cropplan.catalogue.read import catalog_dir
from cropplan.problems import BadData


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    """A copy of the catalogue that may be spoilt."""
    return Path(shutil.copytree(catalog_dir(), tmp_path / "catalog"))


def spoil(file: Path, old: str, new: str) -> int:
    """Replace a piece of a file; answer with the line of what came in its place."""
    text = file.read_text(encoding="utf-8")
    assert old in text
    text = text.replace(old, new, 1)
    file.write_text(text, encoding="utf-8")
    return line_of(text, new)


def test_every_file_of_our_own_catalogue_passes() -> None:
    """What we ship is what we ask of others."""
    assert [str(fault) for fault in check_catalogue()] == []


def test_every_file_passes_on_its_own() -> None:
    """`crops check FILE` finds nothing wrong with a file that is right."""
    files = [*catalog_dir().glob("crops/*.toml"), catalog_dir() / "duties.toml"]
    assert len(files) > 20
    assert {file.name: check_catalogue(file) for file in files} == {f.name: [] for f in files}


def test_tag_letters_are_those_of_one_crop_only(catalog: Path) -> None:
    """A label `tom7` must not be two plants."""
    place = spoil(catalog / "crops" / "pepper.toml", 'tag = "pep"', 'tag = "bas"')
    assert [str(fault) for fault in check_catalogue(catalog)] == [
        f"pepper.toml:{place}: the tag letters 'bas' are those of basil.toml already"
    ]


def test_a_name_is_that_of_one_crop_only(catalog: Path) -> None:
    """A crop typed by name must be one crop."""
    place = spoil(catalog / "crops" / "pepper.toml", '"capsicum"', '"Sweet-Basil"')
    found = [str(fault) for fault in check_catalogue(catalog)]
    assert found == [f"pepper.toml:{place}: 'Sweet-Basil' is a name of basil.toml already"]


def test_a_duty_code_is_that_of_one_duty_only(catalog: Path) -> None:
    """Handles begin with the code, so ticking one could tick the other."""
    spoil(catalog / "duties.toml", 'code = "pk"', 'code = "po"')
    place = line_of((catalog / "duties.toml").read_text(encoding="utf-8"), "[duty.pick]") + 1
    assert [str(fault) for fault in check_catalogue(catalog)] == [
        f"duties.toml:{place}: the code 'po' is that of 'pollinate' already"
    ]


def test_a_duty_that_the_program_names_may_not_go(catalog: Path) -> None:
    """Records and published calendars hold these ids for ever."""
    spoil(catalog / "duties.toml", "[duty.drain]", "[duty.drain-solids]")
    spoil(catalog / "duties.toml", "[duty.drain.every]", "[duty.drain-solids.every]")
    assert [str(fault) for fault in check_catalogue(catalog)] == [
        "duties.toml: the duty 'drain' is missing"
    ]


def test_a_missing_file_is_said(catalog: Path) -> None:
    """Half a catalogue is none."""
    (catalog / "fish.toml").unlink()
    shutil.rmtree(catalog / "crops")
    assert [str(fault) for fault in check_catalogue(catalog)] == [
        "crops: holds no crop file",
        "fish.toml: is missing from the catalogue",
    ]


def test_a_caution_without_a_source_is_found(catalog: Path) -> None:
    """A warning says where it comes from, as a figure does."""
    place = spoil(catalog / "cautions.toml", 'source = "W50"', 'source = "W5O"')
    assert [str(fault).split(";")[0] for fault in check_catalogue(catalog)] == [
        f"cautions.toml:{place}: 'source' cannot be 'W5O'"
    ]


def test_a_file_that_cannot_be_read_does_not_stop_the_rest(catalog: Path) -> None:
    """One file in Latin-1 and one with a decimal comma: both are told, and a third fault too."""
    (catalog / "crops" / "basil.toml").write_bytes(b'name = "caf\xe9"')
    comma = spoil(catalog / "crops" / "mint.toml", "typical = 10", "typical = 10,5")
    tag = spoil(catalog / "crops" / "kale.toml", 'tag = "kal"', 'tag = "k"')
    assert [str(fault) for fault in check_catalogue(catalog)] == [
        "basil.toml: is not UTF-8 text; save it as UTF-8",
        f"kale.toml:{tag}: 'tag' must be two to four small letters, got 'k'",
        f"mint.toml:{comma}: a number is written with a point: 10.5",
    ]


def test_names_that_are_no_texts_are_found_once(catalog: Path) -> None:
    """A number among the other names of a crop is a fault, and no more than that."""
    place = spoil(catalog / "crops" / "basil.toml", '["sweet basil"]', '["sweet basil", 7]')
    spoil(catalog / "crops" / "basil.toml", 'plural = "basil"', "plural = 7")
    found = [str(fault).split(",")[0] for fault in check_catalogue(catalog)]
    assert found == [
        f"basil.toml:{place - 9}: 'plural' must be text in quotes",
        f"basil.toml:{place}: 'aliases' must be a list of texts",
    ]


def test_a_thing_is_called_as_its_table_is(catalog: Path) -> None:
    """The id within a table may not contradict the table's name."""
    place = spoil(catalog / "fish.toml", 'id = "carp"', 'id = "crap"')
    assert [str(fault) for fault in check_catalogue(catalog)] == [
        f"fish.toml:{place}: 'id' must be 'carp', as its table is named"
    ]


def test_what_cannot_be_opened_is_a_fault_like_others(catalog: Path) -> None:
    """A folder with a file's name, alone and among files."""
    (catalog / "crops" / "rue.toml").mkdir()
    assert [str(fault) for fault in check_catalogue(catalog)] == [
        "rue.toml: cannot be read (Is a directory)"
    ]
    (catalog / "rue.toml").write_bytes(b"\xe9")
    assert [str(fault) for fault in check_catalogue(catalog / "rue.toml")] == [
        "rue.toml: is not UTF-8 text; save it as UTF-8"
    ]


def test_checking_nothing_is_refused(tmp_path: Path) -> None:
    """A mistyped path is not a clean bill of health."""
    with pytest.raises(BadData, match="no such file or folder"):
        check_catalogue(tmp_path / "tomatoe.toml")
