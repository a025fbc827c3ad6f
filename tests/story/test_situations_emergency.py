"""Situations 51 to 54: heater out, power cut, no machine at hand, frost on the way."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest
from at_the_terminal import DAY, Terminal, small_house

TIME_SPAN = re.compile(
    r"\b\d+(\.\d+)?\s*(s|sec|seconds?|min|minutes?|h|hrs?|hours?)\b", re.IGNORECASE
)


@pytest.fixture
def typist(tmp_path: Path) -> Terminal:
    """The small house of the stories."""
    terminal = Terminal(record=tmp_path / "house.db")
    small_house(terminal)
    return terminal


def test_situation_51_the_heater_fails(typist: Terminal) -> None:
    """The page first; then one entry of what it cost, and the fish and the alarm are seen to."""
    page = typist.done("emergency heat")
    assert "carbon monoxide" in page
    typist.done("strike tomato 6 --from tom1 --in T1")
    typist.day += timedelta(days=2)
    before = typist.rounds("--ahead 40")["cr-tom"]["due"]
    typist.done("emergency heat --over")
    typist.done("set-back 4 --why 'heater out' --low 2C")
    typist.done("lost tom2 2 --why frost")
    lines = typist.rounds("--ahead 40")
    assert lines["cr-tom"]["due"] > before
    assert lines["al"]["state"] in {"today", "late"}
    assert "heat failed on" in lines["ta-main"]["why"]


def test_situation_52_the_power_is_cut(typist: Terminal) -> None:
    """Air, no feed, look; afterwards ammonia, a little feed, the alarm."""
    typist.done("done al")
    typist.day += timedelta(days=3)
    page = typist.done("emergency power")
    first = page.partition("Once it is back")[0]
    assert first.index("Air first") < first.index("Feed nothing")
    assert "Feed nothing" in first
    typist.done("emergency power --over")
    lines = typist.rounds()
    assert lines["ta-main"]["state"] == "today"
    assert lines["al"]["state"] == "today"
    assert "did it tell you" in lines["al"]["why"]
    assert "begin with a little" in lines["fi-main"]["why"]
    typist.done("test main ammonia=0.1 oxygen=8 ph=7 temperature=15C")
    typist.done("done al")
    after = typist.rounds("--ahead 20")
    assert "ta-main" not in after
    assert "begin with a little" not in after["fi-main"]["why"]
    typist.done("check")


def test_no_time_is_called_safe_without_power(typist: Terminal) -> None:
    """Published times run from minutes to hours with the stocking, so none is printed."""
    for what in ("", "power", "heat"):
        page = typist.done(f"emergency {what}")
        spans = [found[0] for found in TIME_SPAN.finditer(page)]
        assert spans == [], page
    assert "no time is" in " ".join(typist.done("emergency power").split())


def test_the_page_of_first_things_needs_no_record(tmp_path: Path) -> None:
    """In the dark nobody looks for a file."""
    nobody = Terminal(record=tmp_path / "none.db")
    assert "Air first" in nobody.done("emergency power")
    assert not (tmp_path / "none.db").exists()


def test_situation_53_no_machine_for_some_days(typist: Terminal, tmp_path: Path) -> None:
    """The calendar holds the list; what was done meanwhile is entered with its day."""
    file = tmp_path / "house.ics"
    typist.done(f"calendar write {file}")
    assert "Drain solids" in file.read_text(encoding="utf-8")
    typist.day += timedelta(days=6)
    drained = DAY + timedelta(days=2)
    typist.done(f"drain main --on {drained}")
    typist.done(f"feed main 60g --on {drained}")
    assert typist.rounds("--ahead 20")["dr-main"]["due"] > drained.isoformat()
    typist.done("check")


def test_situation_54_frost_is_expected(typist: Terminal) -> None:
    """Only when the grower says so: an evening line for tonight, gone by the morning."""
    typist.done(
        f"duty add 'Frost tonight: heater, fuel, backup, vents shut' "
        f"--rule 'FREQ=DAILY;UNTIL={typist.day:%Y%m%d}' --part evening --lapses"
    )
    lines = [line for line in typist.lines() if line["job"].startswith("Frost tonight")]
    assert [(line["part"], line["state"]) for line in lines] == [("evening", "today")]
    typist.day += timedelta(days=1)
    assert not any(line["job"].startswith("Frost tonight") for line in typist.lines("--ahead 9"))
