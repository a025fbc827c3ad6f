"""A season planned, accepted, shown and drawn, as a grower types it; and what cannot be planned."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import xml.etree.ElementTree as ET
from contextlib import suppress
from datetime import date, timedelta
from pathlib import Path
from subprocess import PIPE

import pytest
from at_the_terminal import Terminal, content_of

_PLANNED = ("strike", "planned")
GOAL = "goal set tomato 1.5kg --from 2026-07-01 --to 2027-02-28"


@pytest.fixture
def house(tmp_path: Path) -> Terminal:
    """A house with buckets, trays and three tomatoes in bearing."""
    terminal = Terminal(record=tmp_path / "house.db")
    terminal.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin")
    terminal.done("place add B1-B10 --kind bucket --medium perlite --filled 2026-01-10")
    terminal.done("place add T1 --kind tray --holds 40")
    terminal.done("bring-in tomato 3 --in B1-B3 --stage set-out --started 2025-12-01")
    for tag in ("tom1", "tom2", "tom3"):
        terminal.done(f"seen {tag} flowering --on 2026-01-10")
        terminal.done(f"seen {tag} fruiting --on 2026-02-25")
    return terminal


def planned(terminal: Terminal) -> dict[str, object]:
    """The proposal for forty weeks, searched for two seconds."""
    value: dict[str, object] = terminal.type("season plan --weeks 40 --seconds 2 --json").value
    return value


def test_a_plan_is_made_accepted_and_followed(house: Terminal) -> None:
    """Its strikes fall due in the rounds, and striking fulfils them."""
    said = house.done(GOAL)
    assert said.startswith("tomato: 1.5 kg a week, Wed 1 Jul to Sun 28 Feb 2027")
    plan = planned(house)
    assert {
        "from",
        "to",
        "status",
        "gap",
        "bound",
        "shortfall",
        "strikes",
        "weeks",
    } <= set(plan)
    strikes = plan["strikes"]
    assert isinstance(strikes, list)
    assert strikes, "such a goal needs new plants"
    assert {
        "on",
        "crop",
        "count",
        "from",
        "in",
        "set_out",
        "first_pick",
        "last_pick",
    } <= set(strikes[0])
    for strike in strikes:
        assert strike["on"] <= strike["set_out"] < strike["first_pick"] <= strike["last_pick"]
    # A proposal changes nothing until it is accepted.
    assert "st-tom" not in {line["handle"] for line in house.lines() if "plan" in line["why"]}
    assert "in force" in house.done("season accept")
    house.day = date.fromisoformat(strikes[0]["on"])
    due = _planned_strikes(house)
    assert due
    assert all(handle.startswith("st-tom") for handle in due)
    for strike in strikes:
        if strike["on"] == strikes[0]["on"]:
            act = "sow tomato" if strike["way"] == "seed" else "strike tomato"
            mother = "" if strike["way"] == "seed" else "--from tom1"
            house.done(f"{act} {strike['count']} {mother} --in T1")
    assert _planned_strikes(house) == []


def _planned_strikes(terminal: Terminal) -> list[str]:
    """The handles of the plan's strikes that are due."""
    lines = terminal.lines("--ahead 0")
    return [line["handle"] for line in lines if (line["duty"], line["basis"]) == _PLANNED]


def test_the_plan_is_shown_in_words_figures_and_bars(house: Terminal) -> None:
    """Every line fits 80 columns, and thin, met and glut can be told without colour."""
    house.done(GOAL)
    planned(house)
    told = house.done("season show --weeks 40")
    assert max(map(len, told.splitlines())) <= 80
    assert "proposed, not accepted yet" in told
    assert {"thin", "met"} <= set(told.split())
    assert "#" in told


def test_the_picture_is_drawn_in_both_forms(house: Terminal, tmp_path: Path) -> None:
    """An SVG that parses and names the crop and a place, and a PNG."""
    house.done(GOAL)
    planned(house)
    svg, png = tmp_path / "season.svg", tmp_path / "season.png"
    house.done(f"season picture {svg}")
    house.done(f"season picture {png}")
    assert ET.parse(svg).getroot().tag.endswith("svg")  # noqa: S314 - our own file
    assert png.read_bytes().startswith(b"\x89PNG")
    first = svg.read_bytes()
    house.done(f"season picture {svg}")
    assert svg.read_bytes() == first


def test_a_replan_says_what_it_changes_and_keeps_the_names_of_what_stays(house: Terminal) -> None:
    """Only the future is planned again; a strike that stays keeps its task."""
    house.done(GOAL)
    planned(house)
    house.done("season accept")
    house.day += timedelta(days=7)
    again = planned(house)
    assert isinstance(again["changed"], list)
    house.done("goal set tomato 0.2kg --from 2026-07-01 --to 2027-02-28")
    less = planned(house)
    assert less["changed"], "a goal of a seventh must change the plan"


def test_a_plant_lost_is_told_and_planning_anew_answers_it(house: Terminal) -> None:
    """The rounds say that the plan counts on it; once the rest is planned anew they are quiet."""
    house.done("goal set tomato 3kg --from 2026-03-02 --to 2027-02-28")
    planned(house)
    house.done("season accept")
    assert not any("season plan" in line for line in house.type("rounds --json").value["remarks"])
    house.day += timedelta(days=1)
    house.done("pull tom1 --why 'stem broken'")
    (told,) = [r for r in house.type("rounds --json").value["remarks"] if "season plan" in r]
    assert told.startswith("season plan: 1 of tom1 gone, which it counts on")
    planned(house)
    house.done("season accept")
    assert not any("season plan" in line for line in house.type("rounds --json").value["remarks"])


def test_the_plan_says_what_work_and_what_purchases_it_brings(house: Terminal) -> None:
    """In words and for programs: plants moved, minutes, feed by week, and what to have by when."""
    house.done("loop add main --volume 1200L --fish rainbow-trout --count 40 --feed 60g")
    house.done(GOAL)
    plan = planned(house)
    told = house.type("season show --json").value
    strikes = plan["strikes"]
    assert isinstance(strikes, list)
    assert sum(week["begin"] for week in told["work"]) == sum(s["count"] for s in strikes)
    assert all(week["minutes"] >= 0 for week in told["work"])
    sown = sum(s["count"] for s in strikes if s["way"] == "seed")
    seeds = [one["what"] for one in told["buy"] if "seeds" in one["what"]]
    assert seeds == ([f"{sown} tomato seeds"] if sown else [])
    words = house.done("season show")
    assert "fish feed a day" in words


def test_strikes_fall_on_the_days_the_grower_works(house: Terminal) -> None:
    """Wednesdays and Saturdays only, once the house says so."""
    house.done("house set --work-days wed,sat")
    assert "on Wednesday, Saturday" in house.done("house show")
    house.done(GOAL)
    strikes = planned(house)["strikes"]
    assert isinstance(strikes, list)
    days = {date.fromisoformat(s[key]).isoweekday() for s in strikes for key in ("on", "set_out")}
    assert days <= {3, 6}
    house.done("house set --work-days all")
    assert "on any day of the week" in house.done("house show")


def test_a_day_that_is_none_is_refused_with_one_that_is(house: Terminal) -> None:
    """Nothing is changed by it."""
    for words in ("wensday", "''", "8"):
        said = house.type(f"house set --work-days {words}")
        assert said.code == 2
        assert "mon,thu,sat" in said.err
    assert "on any day of the week" in house.done("house show")


def test_an_interrupted_search_gives_the_best_so_far_with_its_gap(house: Terminal) -> None:
    """Ctrl-C after eight of two hundred seconds: a whole plan, kept, and what could be won."""
    house.done("place add C1-C60 --kind bucket")
    for crop in ("tomato", "cucumber", "pepper"):
        house.done(f"goal set {crop} 6 --from 2026-07-01 --to 2099-12-31")
    words = ["season", "plan", "--weeks", "104", "--seconds", "200", "--json"]
    command = [sys.executable, "-m", "cropplan", "--record", str(house.record), *words]
    with subprocess.Popen(command, stdout=PIPE, stderr=PIPE, text=True) as running:
        with suppress(subprocess.TimeoutExpired):
            running.wait(timeout=8)
        assert running.returncode is None, "it must not be over before it is interrupted"
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=100)
    assert (running.returncode, err) == (0, "")
    told = json.loads(out)
    assert told["strikes"]
    assert told["status"] == "best found, with a bound"
    assert 0.0 < told["gap"] < 1.0
    assert "proposed" in house.done("season show")


IMPOSSIBLE = {
    "no goal": ("season plan", 1, "no goal is set"),
    "a goal in the past": (
        "goal set tomato 1kg --from 2025-01-01 --to 2025-06-01",
        1,
        "lies in the past",
    ),
    "an end before its beginning": (
        "goal set tomato 1kg --from 2026-09-01 --to 2026-08-01",
        1,
        "before the beginning",
    ),
    "an unknown unit": (
        "goal set tomato 3bushels --from 2026-07-01 --to 2026-08-01",
        2,
        "'3bushels'",
    ),
    "a goal of nothing": ("goal set tomato 0kg --from 2026-07-01 --to 2026-08-01", 1, "above 0"),
    "an unknown crop": (
        "goal set tomatto 1kg --from 2026-07-01 --to 2026-08-01",
        1,
        "did you mean 'tomato'",
    ),
    "a goal that was never set": ("goal drop basil", 1, "no goal is set for 'basil'"),
    "nothing to accept": ("season accept", 1, "no season plan yet"),
    "nothing to show": ("season show", 1, "no season plan yet"),
    "too far ahead": ("season plan --weeks 900", 2, "4 to 156 weeks"),
}


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_what_cannot_be_planned_is_said_in_one_line(house: Terminal, name: str) -> None:
    """Clear words, the right code, nothing saved."""
    line, code, words = IMPOSSIBLE[name]
    before = content_of(house.record)
    said = house.type(line)
    assert (said.code, said.out) == (code, "")
    assert len(said.err.splitlines()) == 1
    assert words in said.err
    assert content_of(house.record) == before


def test_a_house_without_places_and_a_crop_without_mothers_are_told_so(tmp_path: Path) -> None:
    """What is missing is named; basil could be sown, watercress only struck."""
    bare = Terminal(record=tmp_path / "bare.db")
    bare.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin")
    bare.done(GOAL)
    none = bare.type("season plan --seconds 1")
    assert none.code == 1
    assert "place" in none.err
    bare.done("place add R1-R4 --kind hole")
    bare.done("place add T1 --kind tray")
    bare.done("goal drop tomato")
    bare.done("goal set watercress 1 --from 2026-07-01 --to 2026-12-01")
    without = bare.type("season plan --seconds 1")
    assert without.code == 1
    assert "watercress" in without.err
    assert "bring some in first" in without.err
