"""A water loop on one screen, and as a picture that is readable in black and white."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path
from xml.etree import ElementTree

import pytest
from at_the_terminal import Terminal

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


@pytest.fixture
def typist(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """A loop with all that can be known of one."""
    monkeypatch.setenv("COLUMNS", "80")
    terminal = Terminal(record=tmp_path / "house.db")
    terminal.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin --altitude 340m")
    terminal.done("loop add main --volume 1200L --fish tilapia --count 40 --weight 150g --feed 90g")
    terminal.done("loop set main --filter radial-flow --filter-holds 120g")
    terminal.done("place add B1-B5 --kind bucket --medium perlite --filled 2026-01-10")
    terminal.done("bring-in tomato 5 --in B1-B5 --stage fruiting --age-unknown")
    terminal.done("drain main --volume 12L")
    for _ in range(9):
        terminal.day += timedelta(days=1)
        terminal.done("feed main 90g")
    terminal.done("top-up main 160L")
    terminal.done("loop treat main salt --no-water-until 2026-04-01")
    terminal.done("test main ammonia=2 ph=8.2 temperature=28C nitrite=0.3 nitrate=60 oxygen=5.5")
    return terminal


def test_a_loop_stands_on_one_screen(typist: Terminal) -> None:
    """80 columns and no more than 40 rows: balance, filter, drain, tests with range, ration."""
    shown = typist.done("loop show")
    rows = shown.splitlines()
    assert max(map(len, rows)) <= 80
    assert len(rows) <= 40
    for word in ("balance", "next drain", "full", "ration", "top-up", "last fed", "keep to"):
        assert word in shown
    table = {row.split("  ")[0]: row for row in rows}
    assert table["un-ionised ammonia"].endswith("urgent")
    assert table["pH"].endswith("watch")
    assert table["nitrite"].endswith("good")
    assert "up to 0.05 mg/L" in table["un-ionised ammonia"]
    assert "5.5 mg/L (73 %)" in table["oxygen"]


def test_the_sheet_as_json_holds_the_figures_in_si(typist: Terminal) -> None:
    """The same sheet for programs."""
    sheet = typist.type("loop show main --json").value
    assert sheet["fill"] == pytest.approx(8 * 90 * 0.25 * 0.779 / 120 + 0.779 * 90 * 0.25 / 120)
    assert sheet["ration"]["grams"] > 0
    assert sheet["no_feed"].startswith("un-ionised ammonia")
    assert next(row["key"] for row in sheet["tests"]) == "oxygen"


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_the_past_of_a_loop_is_drawn(typist: Terminal, tmp_path: Path, ending: str) -> None:
    """Tests and feeds over time, in greys only."""
    file = tmp_path / f"main.{ending}"
    typist.done(f"loop picture main {file}")
    if ending == "png":
        assert file.read_bytes().startswith(b"\x89PNG")
        return
    text = file.read_text(encoding="utf-8")
    ElementTree.fromstring(text)  # noqa: S314 - our own file
    colours = set(re.findall(r"(?:fill|stroke): ?#([0-9a-f]{6})", text))
    assert colours
    assert all(colour[:2] == colour[2:4] == colour[4:] for colour in colours), colours


def test_a_picture_that_cannot_be_drawn_is_refused(typist: Terminal, tmp_path: Path) -> None:
    """One line, and no file."""
    assert typist.type(f"loop picture main {tmp_path / 'main.txt'}").code == 1
    assert typist.type(f"loop picture man {tmp_path / 'main.svg'}").code == 1
    typist.done("loop add pond --volume 900L --fish carp")
    refused = typist.type(f"loop picture pond {tmp_path / 'pond.svg'}")
    assert refused.code == 1
    assert "no tests and no feeds" in refused.err
    assert not list(tmp_path.glob("*.svg"))
