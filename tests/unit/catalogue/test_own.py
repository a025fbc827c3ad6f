"""The grower's own figures stand over the catalogue's and survive an upgrade."""

import shutil
from pathlib import Path

import pytest

from cropplan.catalogue.check import check_catalogue
from cropplan.catalogue.model import Trust
from cropplan.catalogue.own import set_own
from cropplan.catalogue.read import catalog_dir, read_catalogue
from cropplan.problems import BadData, Refusal


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A file of one's own that is not there yet, in a folder that is not there yet."""
    return tmp_path / "record" / "own.toml"


def test_an_own_figure_stands_over_the_catalogues(own: Path) -> None:
    """The catalogue is wrong for my house: my value overrides, with a note."""
    set_own(own, "Tomatoes", "cutting_days_to_root", 8, "warm bench")
    figure = read_catalogue(["tomato"], own).crops["tomato"].values["cutting_days_to_root"]
    assert (figure.typical, figure.unit, figure.note) == (8, "d", "warm bench")
    assert (figure.trust, figure.source, figure.low, figure.points) == (Trust.OWN, "own", None, ())


def test_other_figures_and_crops_stay_the_catalogues(own: Path) -> None:
    """One own figure changes one figure."""
    before = read_catalogue(["tomato", "basil"]).crops
    set_own(own, "tomato", "pick_interval", 2)
    after = read_catalogue(["tomato", "basil"], own).crops
    assert after["basil"] == before["basil"]
    changed = {k for k, f in after["tomato"].values.items() if f != before["tomato"].values[k]}
    assert changed == {"pick_interval"}


def test_no_file_of_ones_own_is_no_fault(own: Path) -> None:
    """Most growers have none."""
    assert read_catalogue(["tomato"], own) == read_catalogue(["tomato"])


def test_comments_and_other_figures_stay_when_one_is_set(own: Path) -> None:
    """The file is the grower's; what they wrote in it is not ours to lose."""
    own.parent.mkdir()
    own.write_text(
        "# measured in 2025\n[own.basil.cuts]\ntypical = 5 # five, in summer\nhigh = 6\n"
        'unit = "cuts"\nnote = "back bench"\n\n[own.tomato.overlap]\ntypical = 3\n',
        encoding="utf-8",
    )
    set_own(own, "basil", "cuts", 4)
    text = own.read_text(encoding="utf-8")
    assert "# measured in 2025" in text
    assert "# five, in summer" in text
    assert "[own.tomato.overlap]\ntypical = 3" in text
    figure = read_catalogue(["basil"], own).crops["basil"].values["cuts"]
    assert (figure.typical, figure.high, figure.note) == (4, None, "back bench")


def test_a_sum_of_warmth_keeps_its_base(own: Path) -> None:
    """Degree-days of one's own count above the same base as the catalogue's (Le Miere 1998)."""
    set_own(own, "june strawberry", "set_out_to_pick", 850)
    crop = read_catalogue(["june-strawberry"], own).crops["june-strawberry"]
    figure = crop.values["set_out_to_pick"]
    assert (figure.typical, figure.unit, figure.base_c) == (850, "degC d", 2.9)


def test_a_sum_of_warmth_may_become_plain_days(own: Path) -> None:
    """Who counts days in their own house may say so."""
    set_own(own, "june-strawberry", "set_out_to_pick", 62.5, unit="d")
    crop = read_catalogue(["june-strawberry"], own).crops["june-strawberry"]
    figure = crop.values["set_out_to_pick"]
    assert (figure.typical, figure.unit, figure.base_c) == (62.5, "d", None)


def test_light_still_slows_a_stage_of_ones_own(own: Path) -> None:
    """Days counted in summer do not hold in December."""
    catalogued = read_catalogue(["lettuce"]).crops["lettuce"].values["set_out_to_pick"]
    set_own(own, "lettuce", "set_out_to_pick", 30)
    figure = read_catalogue(["lettuce"], own).crops["lettuce"].values["set_out_to_pick"]
    assert catalogued.light_enough is not None
    assert figure.light_enough == catalogued.light_enough


def test_a_figure_the_catalogue_lacks_can_be_added(own: Path) -> None:
    """The unit is then the first that its key allows."""
    set_own(own, "tomato", "strip_flowers_for", 10)
    figure = read_catalogue(["tomato"], own).crops["tomato"].values["strip_flowers_for"]
    assert (figure.typical, figure.unit) == (10, "d")


@pytest.mark.parametrize(
    ("crop", "key", "value", "unit", "said"),
    [
        ("tomatto", "cuts", 5, None, "no crop 'tomatto'"),
        ("basil", "cut", 5, None, "no figure is called 'cut'; did you mean 'cuts'?"),
        ("basil", "zzz", 5, None, "'cropplan crops show basil' lists them"),
        ("basil", "cutting_success", 95, None, "'typical' 95 is above 1, which no share can be"),
        ("basil", "overlap", -1, None, "'typical' -1 is below 0"),
        ("basil", "cuts", float("nan"), None, "must be a number"),
        ("basil", "cuts", 5, "d", "'cuts' is in 'cuts', not in 'd'"),
        ("tomato", "set_out_to_flower", 200, "degC d", "needs 'base_c'"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_written(
    own: Path, crop: str, key: str, value: float, unit: str | None, said: str
) -> None:
    """A refused command changes nothing (design, rule 9)."""
    with pytest.raises(Refusal) as refused:
        set_own(own, crop, key, value, unit=unit)
    assert said in str(refused.value)
    assert not own.exists()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[own.tomato.overlap]\ntypical = 3,5\n", "own.toml:2: a number is written with a point"),
        ('[own.tomato.overlap]\ntypical = "3"\n', "own.toml:2: 'typical' must be a number"),
        ("[own.tomato.overlap]\nlow = 3\n", "own.toml:1: [own.tomato.overlap] needs 'typical'"),
        ("[own.tomato.overlop]\ntypical = 3\n", "own.toml:1: no figure is called 'overlop'"),
        ("[own.tomato.overlap]\ntypical = 3\nlow = 4\n", "own.toml:3: 'low' 4 is above"),
        ('[own.tomato.overlap]\ntypical = 3\nunit = "kg"\n', "own.toml:3: 'overlap' is in 'd'"),
        ("[own]\ntomato = 3\n", "own.toml:1: 'own' must hold tables only"),
    ],
)
def test_a_broken_file_of_ones_own_is_refused_with_its_line(
    own: Path, text: str, said: str
) -> None:
    """Own figures are checked as the catalogue's are, when read and before they are changed."""
    own.parent.mkdir()
    own.write_text(text, encoding="utf-8")
    for use in (
        lambda: read_catalogue(["tomato"], own),
        lambda: set_own(own, "basil", "cuts", 4),
    ):
        with pytest.raises(BadData) as refused:
            use()
        assert str(refused.value).startswith(said)
    assert own.read_text(encoding="utf-8") == text
    assert str(check_catalogue(own)[0]).startswith(said)


def test_a_write_that_fails_leaves_the_old_file_and_no_litter(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Written beside and renamed over: never half a file."""
    set_own(own, "basil", "cuts", 4)
    before = own.read_text(encoding="utf-8")

    def fails(_self: Path, _target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fails)
    with pytest.raises(BadData, match=r"cannot be written \(No space left on device\)$"):
        set_own(own, "basil", "cuts", 5)
    assert own.read_text(encoding="utf-8") == before
    assert [file.name for file in own.parent.iterdir()] == ["own.toml"]


def test_a_file_of_ones_own_that_cannot_be_opened_or_made_is_said(own: Path) -> None:
    """Not UTF-8, a folder in its place, or a folder that cannot be made: one line each."""
    own.parent.mkdir()
    own.write_bytes(b"\xe9")
    with pytest.raises(BadData, match=r"^own\.toml: is not UTF-8 text; save it as UTF-8$"):
        read_catalogue(["tomato"], own)
    own.unlink()
    own.mkdir()
    with pytest.raises(BadData, match=r"cannot be read \(Is a directory\)$"):
        set_own(own, "basil", "cuts", 4)
    own.rmdir()
    own.write_text("", encoding="utf-8")
    with pytest.raises(BadData, match=r"cannot be written \((File exists|Not a directory)\)$"):
        set_own(own / "deeper.toml", "basil", "cuts", 4)


def test_a_sum_of_warmth_keeps_its_ceiling_too(own: Path, tmp_path: Path) -> None:
    """Above the ceiling warmth counts no more, whoever gives the sum."""
    catalog = Path(shutil.copytree(catalog_dir(), tmp_path / "catalog"))
    file = catalog / "crops" / "june-strawberry.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace("base_c = 2.9\n", "base_c = 2.9\nceiling_c = 30\n"), encoding="utf-8"
    )
    figure = set_own(own, "june-strawberry", "set_out_to_pick", 850, folder=catalog)
    assert (figure.base_c, figure.ceiling_c) == (2.9, 30)


def test_the_catalogue_itself_is_never_written(own: Path) -> None:
    """An upgrade replaces the catalogue, so nothing of the grower's may live there."""
    before = {file: file.stat().st_mtime_ns for file in catalog_dir().rglob("*.toml")}
    set_own(own, "basil", "cuts", 4)
    assert {file: file.stat().st_mtime_ns for file in catalog_dir().rglob("*.toml")} == before
