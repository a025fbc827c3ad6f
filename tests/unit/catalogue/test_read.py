"""The catalogue's files as values, and crops by whatever name they go."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from cropplan.catalogue import read
from cropplan.catalogue.model import Habit, Pollination, Trigger, Trust
from cropplan.catalogue.read import (
    catalog_dir,
    crop_index,
    find_crop,
    read_catalogue,
    read_figures,
    read_sources,
)
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.task import Rank
from cropplan.problems import BadData, Refusal


@pytest.fixture
def catalog(tmp_path: Path) -> Path:
    """A copy of the catalogue that may be changed."""
    return Path(shutil.copytree(catalog_dir(), tmp_path / "catalog"))


def test_only_the_crops_asked_for_are_read() -> None:
    """The morning list reads what the house grows, and no more."""
    crops = read_catalogue(["tomato", "basil", "tomato"]).crops
    assert list(crops) == ["basil", "tomato"]


def test_a_crop_is_read_with_its_words_as_the_trades_own() -> None:
    """Text in the file becomes the nouns of the holding."""
    tomato = read_catalogue(["tomato"]).crops["tomato"]
    assert (tomato.habit, tomato.pollination) == (Habit.FRUIT, Pollination.SHAKE)
    assert tomato.ways == (Origin.CUTTING, Origin.SEED, Origin.BOUGHT_IN)
    assert PlaceKind.BUCKET in tomato.places
    ripening = tomato.values["flower_to_pick"]
    assert (ripening.typical, ripening.unit, ripening.trust) == (46, "d", Trust.READ)
    assert ripening.points[0] == (14, 95)


def test_duties_cautions_media_and_fish_come_with_any_crop() -> None:
    """What is small is read whole."""
    catalogue = read_catalogue([])
    assert catalogue.crops == {}
    assert catalogue.duties["first-flower"].awaits is Stage.FLOWERING
    assert catalogue.duties["fish"].rank is Rank.FISH
    assert catalogue.duties["pull"].trigger is Trigger.PULL
    assert "RCD" in catalogue.cautions["electricity-and-water"].text
    assert catalogue.media["perlite"].reuse
    assert catalogue.media["rockwool-cube"].reuse is None
    assert catalogue.fish["tilapia"].values["temperature"].low == 22


def test_of_fish_and_media_those_asked_for_can_be_read_alone() -> None:
    """Fish have two hundred figures; a house has one species. An unknown one is left out."""
    catalogue = read_catalogue([], fish_ids=["carp", "newt"], medium_ids=["perlite"])
    whole = read_catalogue([])
    assert catalogue.fish == {"carp": whole.fish["carp"]}
    assert catalogue.media == {"perlite": whole.media["perlite"]}


def test_figures_of_loops_and_filters_are_read_by_name() -> None:
    """What is neither crop nor fish has figures too."""
    assert "feed_ratio_leafy" in read_figures("fish.toml", "loop", "any")
    with pytest.raises(BadData, match=r"^fish\.toml: \[loop\.none\] is missing$"):
        read_figures("fish.toml", "loop", "none")


@pytest.mark.parametrize(
    ("typed", "crop"),
    [
        ("tomato", "tomato"),
        ("Tomatoes", "tomato"),
        ("CHERRY  TOMATO", "tomato"),
        ("seedless cucumber", "cucumber"),
        ("seeded cucumber", "seeded-cucumber"),
        ("June strawberries", "june-strawberry"),
        ("day neutral strawberry", "strawberry"),
        ("sweet_pepper", "pepper"),
        ("Swiss chard", "chard"),
    ],
)
def test_a_crop_is_found_by_any_name_it_goes_by(typed: str, crop: str) -> None:
    """Capitals and hyphens make no difference to a grower."""
    assert find_crop(typed) == crop


def test_a_mistyped_crop_is_answered_with_the_nearest() -> None:
    """The message holds the typed text and what was probably meant."""
    with pytest.raises(Refusal, match=r"^no crop 'tomatto' in .*; did you mean 'tomato'\?$"):
        find_crop("tomatto")
    with pytest.raises(Refusal, match=r"^no crop 'zzzz' in .*; 'cropplan crops list' shows"):
        find_crop("zzzz")
    with pytest.raises(Refusal, match=r"^no crop 'tomatoe' in .*; did you mean 'tomato'\?$"):
        read_catalogue(["tomatoe"])


def test_the_index_of_names_agrees_with_the_files_read_whole() -> None:
    """Only heads are read for it; no name may differ for that."""
    crops = read_catalogue().crops
    assert crop_index() == {
        crop.id: (crop.id, crop.name, crop.plural, *crop.aliases) for crop in crops.values()
    }


def test_a_broken_crop_is_refused_with_file_and_line(catalog: Path) -> None:
    """A bad file never gives half a crop: the first fault and how many more."""
    file = catalog / "crops" / "basil.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("typical = 10", 'typical = "ten"', 1), encoding="utf-8")
    line = text[: text.index("typical = 10")].count("\n") + 1
    with pytest.raises(
        BadData, match=rf"^basil\.toml:{line}: 'typical' must be a number, got 'ten'$"
    ):
        read_catalogue(["basil"], folder=catalog)
    assert read_catalogue(["tomato"], folder=catalog).crops


def test_a_file_that_is_no_toml_is_refused_with_what_to_write(catalog: Path) -> None:
    """A decimal comma in a file that is otherwise right."""
    file = catalog / "crops" / "basil.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("typical = 10", "typical = 10,5", 1), encoding="utf-8")
    with pytest.raises(BadData, match=r"^basil\.toml:\d+: a number is written with a point: 10\.5"):
        read_catalogue(["basil"], folder=catalog)


def test_a_fault_in_one_fish_is_told_on_the_line_of_the_whole_file(catalog: Path) -> None:
    """Reading a part of a file does not shift its lines."""
    file = catalog / "fish.toml"
    text = file.read_text(encoding="utf-8")
    start = text.index("typical", text.index("[fish.carp.values.ph]"))
    end = text.index("\n", start)
    for spoilt, said in (("typical = true", "must be a number"), ("typical = 6,5", "a point: 6.5")):
        file.write_text(text[:start] + spoilt + text[end:], encoding="utf-8")
        line = text[:start].count("\n") + 1
        with pytest.raises(BadData, match=rf"^fish\.toml:{line}: .*{said}"):
            read_catalogue([], fish_ids=["carp"], folder=catalog)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('name = "Basil"', "name = 7"),
        ('plural = "basil"', 'plurals = "basil"'),
        ('aliases = ["sweet basil"]', "aliases = [7]"),
        ('aliases = ["sweet basil"]', 'aliases = "sweet basil"'),
        ('habit = "leaf"', 'habit = "leaves"'),
        ('"cutting", "seed"', '"cuttings", "seed"'),
        ('pick_unit = "bunches"', 'pick_unit = "bunches"\nnote = 7'),
        ("[values.cuts]", "[values.cut]"),
        ('unit = "share"', 'unit = "kg"'),
        ("low = 7", "low = 99"),
        ("low = 7", "low = 1e300"),
        ("low = 7", "low = true"),
        ("low = 7", "lo = 7"),
        ("at_c = 23", "points = [[23]]"),
        ("[crop]", "[crops]"),
    ],
)
def test_a_crop_that_would_be_built_wrong_is_refused(catalog: Path, old: str, new: str) -> None:
    """Nothing is converted silently: a wrong kind, word, unit or order stops the reading."""
    file = catalog / "crops" / "basil.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadData, match=r"^basil\.toml"):
        read_catalogue(["basil"], folder=catalog)


def test_a_broken_head_is_told_when_a_crop_is_looked_for(catalog: Path) -> None:
    """Finding a crop by name reads all heads; a bad one is a line, not a failure."""
    file = catalog / "crops" / "basil.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('["sweet basil"]', "[7]"), encoding="utf-8")
    with pytest.raises(BadData, match=r"^basil\.toml:\d+: 'aliases' must be a list of texts"):
        find_crop("Tomato", catalog)
    file.write_text("crop = 5\n", encoding="utf-8")
    with pytest.raises(BadData, match=r"^basil\.toml:1: 'crop' must be a table"):
        find_crop("Tomato", catalog)


def test_a_file_in_the_place_of_another_is_said_to_be_that(catalog: Path) -> None:
    """A file that is right in itself but holds something else."""
    shutil.copy(catalog / "cautions.toml", catalog / "duties.toml")
    with pytest.raises(BadData, match=r"^duties\.toml: does not hold what a file of that name"):
        read_catalogue([], folder=catalog)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("survival = true", 'survival = "yes"'),
        ('rank = "fish"', 'rank = "urgent"'),
        ('stages = ["flowering", "fruiting"]', 'stages = "flowering"'),
        ("minutes_each = 0.2", "minutes_each = nan"),
        ("first_after = 0", "first_after = 0.5"),
    ],
)
def test_a_broken_duty_is_refused(catalog: Path, old: str, new: str) -> None:
    """Words and kinds that the schedule does not know are stopped at the door."""
    file = catalog / "duties.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadData, match=r"^duties\.toml:\d+: "):
        read_catalogue([], folder=catalog)


def test_a_file_saved_by_an_editor_of_another_system_is_read(catalog: Path) -> None:
    """A byte-order mark and carriage returns are no fault of the grower's."""
    file = catalog / "crops" / "mint.toml"
    plain = read_catalogue(["mint"], folder=catalog).crops["mint"]
    text = file.read_text(encoding="utf-8").replace("\n", "\r\n")
    file.write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert read_catalogue(["mint"], folder=catalog).crops["mint"] == plain


def test_files_that_cannot_be_read_are_said(catalog: Path) -> None:
    """Not UTF-8, or not there: one line, and the file's name."""
    (catalog / "crops" / "mint.toml").write_bytes(b"\xe9")
    with pytest.raises(BadData, match=r"^mint\.toml: is not UTF-8 text; save it as UTF-8$"):
        read_catalogue(["mint"], folder=catalog)
    (catalog / "duties.toml").unlink()
    with pytest.raises(BadData, match=r"duties\.toml: cannot be read \(No such file"):
        read_catalogue([], folder=catalog)


def test_an_installation_without_a_catalogue_says_where_it_looked(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Beside the package in a checkout, inside it once installed, or a clear refusal."""
    module = tmp_path / "site" / "cropplan" / "catalogue" / "read.py"
    monkeypatch.setattr(read, "__file__", str(module))
    with pytest.raises(BadData, match="install cropplan again"):
        catalog_dir()
    inside = tmp_path / "site" / "cropplan" / "_data" / "catalog"
    inside.mkdir(parents=True)
    (inside / "duties.toml").touch()
    assert catalog_dir() == inside


def test_every_source_has_its_words() -> None:
    """A figure's source can be shown as author, year and title."""
    sources = read_sources()
    assert sources["S05"].cite.startswith("Adams, Cockshull and Cave 2001")
    assert sources["P00"].cite == "Common practice among growers, no source."


def test_the_morning_path_reads_without_the_slow_readers() -> None:
    """At import tomllib costs 11 ms and tomlkit 21; the checker is for wrong files only."""
    code = (
        "import sys\n"
        "from cropplan.catalogue.read import read_catalogue\n"
        "read_catalogue(['tomato', 'basil'], fish_ids=['tilapia'])\n"
        "slow = {'tomllib', 'tomlkit', 'cropplan.catalogue.check', 'cropplan.catalogue.page'}\n"
        "print(sorted(slow & set(sys.modules)))"
    )
    root = Path(__file__).parents[3]
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root
    )
    assert run.stdout.strip() == "[]"
