"""Each kind of fault in the catalogue is found, on its own line, and hides no other."""

import shutil
from pathlib import Path

import pytest

from cropplan.catalogue.check import Known, check_catalogue, check_text, first_fault
from cropplan.catalogue.read import catalog_dir
from cropplan.problems import BadData

KNOWN = Known(
    sources={"S01", "S05", "M00", "P00"}, cautions={"raw-greens", "ladder"}, crops={"tomato"}
)

FRUIT = """\
[crop]
id = "gherkin"
name = "Gherkin"
plural = "gherkins"
tag = "ghe"
family = "gourd"
habit = "fruit"
ways = ["cutting", "seed"]
places = ["bucket"]
pollination = "brush"
pollination_why = "brush each flower"
pick_unit = "kg"
cautions = ["raw-greens"]
"""
FIGURES = (
    ("cutting_days_to_root", 10, "d"),
    ("cutting_success", 0.9, "share"),
    ("seed_days_to_emerge", 5, "d"),
    ("seed_success", 0.9, "share"),
    ("rooted_to_ready", 7, "d"),
    ("emerged_to_ready", 21, "d"),
    ("days_can_hold", 7, "d"),
    ("set_out_to_flower", 30, "d"),
    ("flower_to_pick", 20, "d"),
    ("pollination_interval", 2, "d"),
    ("pick_interval", 3, "d"),
    ("picking_life", 90, "d"),
    ("overlap", 7, "d"),
    ("weekly_yield", 0.5, "kg/plant/week"),
    ("mother_from", 28, "d"),
    ("shoots_per_week", 1, "shoots/plant/week"),
    ("generations", 3, "generations"),
    ("light_target", 20, "mol/m2/d"),
    ("temp_low", 12, "degC"),
    ("temp_high", 32, "degC"),
    ("planted_area", 0.4, "m2/plant"),
)
GHERKIN = FRUIT + "".join(
    f'\n[values.{key}]\ntypical = {typical}\nunit = "{unit}"\nsource = "S01"\ntrust = "read"\n'
    for key, typical, unit in FIGURES
)

DUTY = """\
[duty.pollinate]
code = "po"
job = "Pollinate {crop}"
subject = "planting"
trigger = "interval"
part = "midday"
keeps = "stays"
rank = "now-or-lost"
minutes_each = 0.2
every_key = "pollination_interval"
stages = ["flowering", "fruiting"]
pollinations = ["shake"]
cautions = ["ladder"]
"""


def figure(key: str, lines: str) -> str:
    """The gherkin with one figure written anew."""
    start = GHERKIN.index(f"[values.{key}]")
    end = GHERKIN.find("\n[", start)
    return f"{GHERKIN[:start]}[values.{key}]\n{lines}\n{GHERKIN[end:] if end > 0 else ''}"


def faults_of(text: str, file: str = "gherkin.toml") -> list[str]:
    """The faults as a grower reads them."""
    return [str(fault) for fault in check_text(file, text, KNOWN)]


def line_of(text: str, wanted: str) -> int:
    """The line, from 1, on which a piece of text first stands."""
    assert wanted in text
    return text[: text.index(wanted)].count("\n") + 1


def test_a_crop_that_holds_all_it_needs_has_no_fault() -> None:
    """The sample that the cases below spoil is sound, so each finds its own fault only."""
    assert faults_of(GHERKIN) == []
    assert faults_of(DUTY, "duties.toml") == []


READ = 'source = "S01"\ntrust = "read"'

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


def test_the_first_fault_hides_no_other() -> None:
    """Three faults in one file are three lines of the answer."""
    text = GHERKIN.replace('habit = "fruit"', 'habit = "friut"')
    text = text.replace("typical = 90", "typical = -90").replace('tag = "ghe"', 'tag = "g"')
    assert len(faults_of(text)) >= 3


DUTY_CASES = {
    "code too long": ('code = "po"', 'code = "pol"', "'code' must be two small letters"),
    "job too long": (
        '"Pollinate {crop}"',
        f'"Pollinate {{crop}} {"x" * 60}"',
        "60 fit on a line of the rounds",
    ),
    "job with an unknown blank": ("{crop}", "{plant}", "'job' cannot name '{plant}'"),
    "job as a number": ('"Pollinate {crop}"', "5", "'job' must be text in quotes"),
    "unknown subject": ('"planting"', '"plants"', "choose from planting, place, loop, house"),
    "unknown trigger": ('"interval"', '"intervals"', "did you mean 'interval'?"),
    "unknown part": ('"midday"', '"noon"', "choose from morning, midday, evening, any"),
    "unknown keeps": ('"stays"', '"stay"', "did you mean 'stays'?"),
    "unknown rank": ('"now-or-lost"', '"urgent"', "choose from fish, water, now-or-lost"),
    "minutes as text": ("minutes_each = 0.2", 'minutes_each = "0.2"', "must be a number"),
    "minutes below nothing": ("minutes_each = 0.2", "minutes_each = -1", "must be 0 or more"),
    "unknown key of a figure": (
        '"pollination_interval"',
        '"polination_interval"',
        "did you mean 'pollination_interval'?",
    ),
    "unknown stage": ('"flowering", "fruiting"', '"flowring"', "did you mean 'flowering'?"),
    "unknown pollination": ('["shake"]', '["shak"]', "did you mean 'shake'?"),
    "caution that is not there": ('["ladder"]', '["lader"]', "did you mean 'ladder'?"),
}


@pytest.mark.parametrize("case", DUTY_CASES)
def test_a_spoilt_duty_is_found_on_its_line(case: str) -> None:
    """A duty's words are checked against the lists that the schedule knows."""
    old, new, said = DUTY_CASES[case]
    text = DUTY.replace(old, new, 1)
    found = faults_of(text, "duties.toml")
    assert len(found) == 1, found
    assert found[0].startswith(f"duties.toml:{line_of(text, new)}: ")
    assert said in found[0]


def test_a_duty_counts_in_one_way_only() -> None:
    """An interval is a figure of its own or a figure of the crop, not both and not neither."""
    neither = DUTY.replace('every_key = "pollination_interval"\n', "")
    both = DUTY + '\n[duty.pollinate.every]\ntypical = 2\nunit = "d"\n' + READ
    for text in (neither, both):
        assert faults_of(text, "duties.toml") == [
            "duties.toml:1: a duty with an interval needs either 'every', a figure, or 'every_key'"
        ]


def test_a_watch_says_what_it_waits_for() -> None:
    """A watch without the stage it awaits would never end."""
    text = DUTY.replace('"interval"', '"watch"').replace(
        'every_key = "pollination_interval"\n', 'awaits = ""\n'
    )
    assert any("a watch needs 'awaits'" in fault for fault in faults_of(text, "duties.toml"))


def test_a_duty_done_once_has_no_interval() -> None:
    """Pulling a spent planting does not come round."""
    text = DUTY.replace('"interval"', '"pull"')
    place = line_of(text, "every_key")
    assert faults_of(text, "duties.toml") == [
        f"duties.toml:{place}: a duty of kind 'pull' has no interval"
    ]


OWN = """\
[own.tomato.pick_interval]
typical = 2
unit = "d"
"""


def test_own_figures_need_no_source_but_are_held_to_all_else() -> None:
    """The grower's own file is checked likewise; its source is the grower."""
    assert faults_of(OWN, "own.toml") == []
    spoilt = OWN.replace("typical = 2", "typical = 2\nlow = 3").replace('"d"', '"kg"')
    assert [fault.split(": ")[0] for fault in faults_of(spoilt, "own.toml")] == [
        "own.toml:3",
        "own.toml:4",
    ]


def test_own_figures_of_an_unknown_crop_or_name_are_found() -> None:
    """A slip in the crop's or the figure's name would otherwise be silently without effect."""
    assert faults_of(OWN.replace("tomato", "tomatoe"), "own.toml") == [
        "own.toml:1: no crop 'tomatoe' in the catalogue; did you mean 'tomato'?"
    ]
    assert faults_of(OWN.replace("pick_interval", "pick_intervall"), "own.toml") == [
        "own.toml:1: no figure is called 'pick_intervall'; did you mean 'pick_interval'?"
    ]


def test_a_file_of_no_known_kind_is_said_to_be_none() -> None:
    """A stray file is told what the catalogue's files begin with."""
    assert faults_of("", "x.toml") == [
        "x.toml: holds nothing; a crop begins with [crop], the grower's own figures with [own]"
    ]
    assert faults_of("[dutys.pull]\n", "x.toml") == [
        "x.toml:1: no file of the catalogue holds [dutys]; did you mean 'duty'?"
    ]
    assert faults_of("duty = 5\n", "x.toml") == [
        "x.toml:1: 'duty' must hold tables only, as [duty.name]"
    ]


def test_the_first_fault_of_a_file_says_how_many_more() -> None:
    """A refused reading is one line; the check command shows the rest."""
    text = GHERKIN.replace('habit = "fruit"', 'habit = "friut"').replace('"ghe"', '"g"')
    assert first_fault(Path("gherkin.toml"), text).endswith(
        "(and 1 more; see 'cropplan crops check')"
    )
    assert first_fault(Path("tomato.toml"), FRUIT.replace("gherkin", "tomato")).startswith(
        "tomato.toml: a crop needs its figures"
    )


# --- a whole catalogue -----------------------------------------------------------------------


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
