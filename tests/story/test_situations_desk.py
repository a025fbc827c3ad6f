"""Situations as they are typed: asking back, spelling, the house's own day."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from at_the_terminal import Terminal, content_of, small_house, spoken

from cropplan.cli.root import run


@pytest.fixture
def terminal(tmp_path: Path) -> Terminal:
    """A terminal at a small house with fish."""
    made = Terminal(record=tmp_path / "house.db")
    small_house(made)
    return made


def test_typed_two_people_would_feed_twice(terminal: Terminal) -> None:
    """A second feed on one day is asked about, and says who fed."""
    terminal.done("feed main 60g --by Ines")
    before = content_of(terminal.record)
    again = terminal.type("feed main 60g --by Jo")
    assert again.code == 1
    assert "by Ines" in again.err
    assert "--again" in again.err
    assert content_of(terminal.record) == before
    terminal.done("feed main 30g --by Jo --again")


def test_typed_all_but_one_were_pollinated(terminal: Terminal) -> None:
    """One tick for the house, with an exception that stays open."""
    terminal.done("bring-in tomato 3 --in B2-B4 --stage flowering --started 2026-01-10")
    said = terminal.done("done po-tom --except B3")
    assert "B1, B2 and B4" in said
    lines = {line["handle"]: line for line in terminal.lines("--ahead 0")}
    assert lines["po-tom"]["places"] == ["B3"]


def test_typed_the_second_of_two_entries_that_disagree_is_asked_about_once(
    terminal: Terminal,
) -> None:
    """Both are kept, the first stands, and how to put it right is said."""
    terminal.done("strike tomato 3 --from tom1 --in T1 --on 2026-02-10")
    terminal.done("seen tom2 rooted --on 2026-02-22")
    said = terminal.done("seen tom2 rooted --on 2026-02-25")
    assert "that day stands" in said
    assert "journal --tag tom2" in said
    assert terminal.done("journal --tag tom2").count("rooted") == 2
    assert '"rooted": "2026-02-22"' in terminal.done("planting show tom2 --json")


def test_typed_a_day_to_come_is_refused_for_what_was_done(terminal: Terminal) -> None:
    """Doing cannot lie ahead; planning can."""
    refused = terminal.type("pick tom1 300g --on 2026-03-09")
    assert refused.code == 1
    assert "still to come" in refused.err
    terminal.done("away 2026-03-20 2026-03-24")


def test_typed_one_kind_does_not_live_under_two_spellings(terminal: Terminal) -> None:
    """The same letters are the same kind; a near name is asked about; a new one is allowed."""
    terminal.done("sow tomato 2 --in T1 --cultivar 'Sun Gold'")
    assert "'Sun Gold'" in terminal.done("sow tomato 2 --in T1 --cultivar sungold")
    near = terminal.type("sow tomato 2 --in T1 --cultivar 'Sun Golds'")
    assert near.code == 1
    assert "'Sun Gold'" in near.err
    assert "'Sun Golds'" in terminal.done(
        "sow tomato 2 --in T1 --cultivar 'Sun Golds' --new-cultivar"
    )
    crop = terminal.type("sow tomatoe 2 --in T1")
    assert "did you mean 'tomato" in crop.err


def test_situation_69_the_house_s_day_governs_not_the_computer_s(tmp_path: Path) -> None:
    """At 22:00 in London it is tomorrow already in Auckland, and yesterday's list is over."""
    record = tmp_path / "far.db"
    moment = datetime(2026, 3, 2, 22, 0, tzinfo=UTC)

    def typed(line: str) -> str:
        said = spoken(lambda: run(["--record", str(record), *line.split()], lambda: moment))
        assert said.code == 0, said.err
        return said.out

    typed("house new Kauri --at -36.8,174.8 --zone Pacific/Auckland")
    assert date.fromisoformat(json.loads(typed("rounds --json"))["on"]) == date(2026, 3, 3)


def test_a_fruit_crop_seen_picking_is_fruiting(terminal: Terminal) -> None:
    """The bearing stage follows the crop, whichever word was typed, so pollination goes on."""
    terminal.done("bring-in tomato 1 --in B2 --stage picking --started 2025-12-10")
    lines = {line["handle"]: line for line in terminal.lines("--ahead 0")}
    assert lines["po-tom"]["places"] == ["B1", "B2"]
    terminal.done("sow basil 2 --in T1 --on 2026-02-01")
    terminal.done("seen bas1 emerged --on 2026-02-10")
    terminal.done("set-out bas1 --in B3")
    assert "picking" in terminal.done("seen bas1 fruiting")


@pytest.mark.parametrize("typed", ["done di-hole", "renew R1 --how disinfect"])
def test_typed_a_raft_hole_is_cleaned_after_disease(terminal: Terminal, typed: str) -> None:
    """A mouldy lettuce leaves a hole without a medium: the list asks for a clean one, until it is
    ticked or written, and only then may the next plant go in.
    """
    terminal.done("place add R1 --kind hole")
    terminal.done("bring-in lettuce 1 --in R1 --stage set-out --started 2026-02-01")
    terminal.done("bring-in lettuce 1 --in T1")
    terminal.done("pull let1 --why disease")
    (line,) = [line for line in terminal.lines("--ahead 0") if line["duty"] == "disinfect"]
    assert (line["handle"], line["places"]) == ("di-hole", ["R1"])
    assert line["job"] == "Clean and disinfect the raft hole"
    assert terminal.type("set-out let2 --in R1").code == 1
    terminal.done(typed)
    assert "di-hole" not in terminal.rounds("--ahead 30")
    terminal.done("set-out let2 --in R1")
    terminal.done("check")


def test_typed_cuttings_misted_yesterday_have_rooted_since(terminal: Terminal) -> None:
    """The grower misted yesterday, sees roots this morning, and then writes up yesterday: it is
    taken for the day on which the line was open, and asks for no misting of rooted plants.
    """
    terminal.done("strike tomato 3 --from tom1 --in T1")
    terminal.day += timedelta(days=12)
    terminal.done("seen tom2 rooted")
    assert "mi-tom" not in terminal.rounds("--ahead 30")
    said = terminal.done("done mi-tom --on yesterday")
    assert "Mist and air tomato cuttings: T1, done on" in said
    assert "mi-tom" not in terminal.rounds("--ahead 30")
    again = terminal.done("done mi-tom --on yesterday")
    assert "already; nothing changed" in again
    terminal.done("check")


def test_typed_roots_are_written_before_the_days_ticks(terminal: Terminal) -> None:
    """On the walk the tray is misted and then found rooted; roots are written at once, the walk's
    ticks at the end in one command. That the misting has no line any more refuses none of them.
    """
    terminal.done("strike tomato 3 --from tom1 --in T1")
    terminal.day += timedelta(days=12)
    terminal.done("seen tom2 rooted")
    said = terminal.done("done fi-main mi-tom pm-main")
    assert "mi-tom: Mist and air tomato cuttings: T1, done on" in said
    assert "pm-main" in said
    assert "mi-tom" not in terminal.rounds("--ahead 30")
    terminal.done("check")


@pytest.mark.parametrize(
    "typed",
    ["done mi-tom", "done mi-tom --on 2026-02-28", "done mi-tmo --on yesterday"],
)
def test_typed_a_line_that_was_not_open_on_that_day_is_refused(
    terminal: Terminal, typed: str
) -> None:
    """Nothing was misted before it was struck, nor is it the day after its roots were seen."""
    terminal.done("strike tomato 3 --from tom1 --in T1")
    terminal.day += timedelta(days=12)
    terminal.done("seen tom2 rooted")
    terminal.day += timedelta(days=1)
    refused = terminal.type(typed)
    assert refused.code == 1
    assert "no line has the handle" in refused.err


def test_typed_a_tray_that_was_given_up_since_is_not_ticked_for_yesterday(
    terminal: Terminal,
) -> None:
    """What is gone has no line, on whatever day; the refusal says so in one line."""
    terminal.done("strike tomato 3 --from tom1 --in T1")
    terminal.day += timedelta(days=12)
    terminal.done("lost tom2 3 --why rot")
    refused = terminal.type("done mi-tom --on yesterday")
    assert refused.code == 1
    assert refused.err.count("\n") == 1
