"""The grower's own figures are held to the catalogue's rules; a file of no kind is told so."""

from catalogue_samples import faults_of

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
