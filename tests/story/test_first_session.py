"""A new grower's first weeks, typed as the manual shows, with the rounds read after each step."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from at_the_terminal import CHECKOUT, Terminal, content_of, in_a_process

Lines = dict[str, dict[str, Any]]


@pytest.fixture
def terminal(tmp_path: Path) -> Terminal:
    """A terminal at a record that is not there yet."""
    return Terminal(record=tmp_path / "house.db")


def asked_at(lines: Lines, handle: str) -> list[str]:
    """The places where a line is open."""
    return lines[handle]["places"] if handle in lines else []


def test_the_first_weeks_of_a_new_house(terminal: Terminal) -> None:
    """Issue A, acceptance: the rounds after each step are what a grower expects."""
    _moving_in(terminal)
    _striking(terminal)
    _raising(terminal)
    _flowers(terminal)
    _picking_and_undoing(terminal)
    assert terminal.done("check").startswith("all well")


def _moving_in(terminal: Terminal) -> None:
    """New house, six places, and an old tomato in B1 of which nobody knows the age."""
    terminal.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin")
    assert "pk-tom" not in terminal.rounds("--ahead 30")
    terminal.done("place add B1-B5 --kind bucket --medium perlite --filled 2026-01-10")
    terminal.done("place add T1 --kind tray --holds 40")
    assert len(terminal.type("place list --json").value) == 6
    said = terminal.done("bring-in tomato 1 --in B1 --stage fruiting --age-unknown")
    assert said == "tom1: tomatoes in B1, age not known\n"
    lines = terminal.rounds()
    assert asked_at(lines, "pk-tom") == ["B1"]
    assert asked_at(lines, "po-tom") == ["B1"]
    assert lines["po-tom"]["part"] == "midday"
    assert asked_at(lines, "ja-tom") == ["B1"]


def _striking(terminal: Terminal) -> None:
    """Four cuttings: misting is asked for at once, roots are looked for later."""
    said = terminal.done("strike tomato 4 --from tom1 --in T1")
    assert said == "tom2: 4 tomatoes struck in T1 on Mon 2 Mar\n"
    lines = terminal.rounds("--ahead 30")
    assert asked_at(lines, "mi-tom") == ["T1"]
    assert lines["mi-tom"]["state"] == "today"
    roots = lines["cr-tom"]
    assert (roots["state"], roots["basis"], roots["places"]) == ("coming", "predicted", ["T1"])
    assert roots["earliest"] < roots["due"] < roots["latest"]
    assert all(line["due"] > roots["due"] for line in lines.values() if line["duty"] == "set-out")


def _raising(terminal: Terminal) -> None:
    """Two seen rooted, one lost, one set out; the rest stays in the tray, and all tally."""
    terminal.day = date(2026, 3, 12)
    assert terminal.done("seen tom2 rooted 2") == "tom2: 2 of 4 rooted on Thu 12 Mar\n"
    lines = terminal.rounds("--ahead 30")
    assert asked_at(lines, "cr-tom") == ["T1"]
    assert "2 of 4" in lines["cr-tom"]["why"]
    assert asked_at(lines, "so-tom") == ["T1"]
    assert terminal.done("lost tom2 1 --why wilted") == "tom2: 1 gone (wilted), 3 plants left\n"
    assert "4 begun, 1 lost; 3 standing" in terminal.done("planting show tom2")
    assert "2 of 3" in terminal.rounds("--ahead 30")["cr-tom"]["why"]
    terminal.day = date(2026, 3, 24)
    said = terminal.done("set-out tom2 1 --in B2")
    assert said == "tom3: 1 plant set out in B2\ntom2: 2 plants left in T1\n"
    lines = terminal.rounds("--ahead 60")
    assert asked_at(lines, "ff-tom") == ["B2"]
    assert lines["ff-tom"]["basis"] == "predicted"
    assert asked_at(lines, "po-tom") == ["B1"]


def _flowers(terminal: Terminal) -> None:
    """First flowers: from that day on it is pollinated, every other day from when it was done."""
    terminal.day = date(2026, 4, 12)
    assert terminal.done("seen tom3 flowering") == "tom3: flowering on Sun 12 Apr\n"
    assert asked_at(terminal.rounds(), "po-tom") == ["B1", "B2"]
    assert "ff-tom" not in terminal.rounds("--ahead 60")
    said = terminal.done("done po-tom")
    assert said == "po-tom: Pollinate tomatoes: B1 and B2, done on Sun 12 Apr\n"
    pollinating = terminal.rounds()["po-tom"]
    assert (pollinating["state"], pollinating["due"]) == ("coming", "2026-04-14")
    assert "nothing changed" in terminal.done("done po-tom")
    assert terminal.rounds()["po-tom"]["due"] == "2026-04-14"


def _picking_and_undoing(terminal: Terminal) -> None:
    """The cutting's first fruit is written, found to be a mistake, and undone."""
    terminal.day = date(2026, 6, 20)
    before = terminal.lines("--ahead 10")
    said = terminal.done("pick tom3 450g")
    assert said == "tom3: picked 0.45 kg on Sat 20 Jun, 0.45 kg so far\n"
    picks = [line for line in terminal.lines("--ahead 10") if line["handle"] == "pk-tom"]
    assert [(line["state"], line["places"]) for line in picks] == [
        ("today", ["B1"]),
        ("coming", ["B2"]),
    ]
    assert "picked    once, 0.45" in terminal.done("planting show tom3")
    assert "picked tom3" in terminal.done("undo")
    assert terminal.lines("--ahead 10") == before
    assert "picked" not in terminal.done("planting show tom3")
    assert "(undone) tom3: picked 0.45" in terminal.done("journal")


def test_a_house_that_stands_full_is_entered_in_a_few_lines(terminal: Terminal) -> None:
    """Work facts §3: a grower starts with a full house; ranges of places, plants of unknown age."""
    terminal.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin")
    terminal.done("place add B1-B6 --kind bucket")
    terminal.done("place add C1-C12 --kind channel")
    terminal.done("bring-in tomato 6 --in B1-B6 --stage fruiting --started 'about 2025-09'")
    terminal.done("bring-in strawberry 12 --in C1-C12 --stage fruiting --age-unknown")
    listed = terminal.done("planting list")
    assert listed.count("tomato") == 6
    assert listed.count("strawberry") == 12
    assert "give or take 15 days" in terminal.done("planting show tom1")
    assert asked_at(terminal.rounds(), "pk-tom") == ["B1", "B2", "B3", "B4", "B5", "B6"]


def test_a_neighbours_sheet_is_copied_in_one_go(terminal: Terminal) -> None:
    """Ten days of feeding by somebody else: one command, ten entries, one undo."""
    terminal.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin")
    terminal.done("loop add main --volume 1200L --fish carp --feed 60g")
    terminal.day = date(2026, 3, 13)
    said = terminal.done("done fi-main --on 2026-03-03..2026-03-12 --by Ines")
    assert "done on 10 days, Tue 3 Mar to Thu 12 Mar" in said
    assert terminal.rounds()["fi-main"]["why"] == "last fed yesterday by Ines"
    assert terminal.done("journal --last 10").count("main: fed 60 g") == 10
    again = terminal.done("done fi-main --on 2026-03-12..2026-03-13 --by Ines")
    assert "written for Thu 12 Mar already by Ines; nothing changed" in again
    assert "done on Fri 13 Mar" in again
    terminal.done("undo")
    terminal.done("undo")
    assert terminal.rounds()["fi-main"]["why"].startswith("first time")


def test_a_time_away_is_written_and_a_page_is_left_behind(
    terminal: Terminal, tmp_path: Path
) -> None:
    """Before, meanwhile, after; and a page with a box for each day and somebody to ring."""
    terminal.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin")
    terminal.done("loop add main --volume 1200L --fish carp --feed 60g")
    page = tmp_path / "for-ines.txt"
    said = terminal.done(f"away 2026-03-10 2026-03-16 --sheet {page}")
    before, _, rest = said.partition("EACH DAY")
    meanwhile, _, after = rest.partition("ON RETURN")
    assert "tw-main" in before
    assert "fi-main" in meanwhile
    assert "tw-main" not in meanwhile
    assert "fi-main" not in after
    told = page.read_text(encoding="utf-8")
    assert max(map(len, told.splitlines())) <= 80
    assert "Ring if anything is wrong:  ____" in told
    feeding = told.partition("Feed the fish")[2].partition("\n\n")[0]
    assert "60 g" in feeding
    assert feeding.count("[  ]") == 7
    assert "do not feed twice" in " ".join(told.split())
    terminal.day = date(2026, 3, 12)
    assert "tw-main" not in terminal.rounds("--ahead 0")
    # Back home, the lines at the foot of the page copy all of its ticks into the record.
    terminal.day = date(2026, 3, 17)
    boxes = told.count("[  ]")
    typed = [line.strip() for line in told.splitlines() if line.startswith("  cropplan done ")]
    for line in typed:
        terminal.done(line.removeprefix("cropplan ").replace("NAME", "Ines"))
    journal = terminal.type("journal --json --last 100").value
    assert sum(entry["by"] == "Ines" for entry in journal) == boxes
    assert terminal.rounds("--ahead 0")["fi-main"]["why"] == "last fed yesterday by Ines"


def test_a_record_survives_being_written_out_and_read_in(
    terminal: Terminal, tmp_path: Path
) -> None:
    """Backup and export each give back an equal record, and a thermometer's log comes in."""
    terminal.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin")
    terminal.done("place add B1-B3 --kind bucket")
    terminal.done("bring-in tomato 3 --in B1-B3 --age-unknown")
    log = tmp_path / "log.csv"
    log.write_text("date,low,high\n2026-02-27,14,24\n2026-02-28,x,25\n2026-03-01,13,22\n")
    said = terminal.done(f"import temps {log}")
    assert "2 days of temperatures, 2026-02-27 to 2026-03-01" in said
    assert "log.csv:3: 'x' is not a temperature" in said
    terminal.done(f"backup {tmp_path / 'copy.db'}")
    terminal.done(f"export {tmp_path / 'out'}")
    other = Terminal(record=tmp_path / "other.db")
    other.done(f"import {tmp_path / 'out' / 'journal.jsonl'}")
    assert other.done("planting list --json") == terminal.done("planting list --json")
    terminal.done("pull tom1")
    terminal.done(f"restore {tmp_path / 'copy.db'}")
    assert other.done("planting list --json") == terminal.done("planting list --json")
    assert terminal.done("check").startswith("all well")


def test_the_calendar_file_is_written_and_written_again_the_same(
    terminal: Terminal, tmp_path: Path
) -> None:
    """RFC 5545: the same state gives the same octets, so that a phone is told nothing new."""
    terminal.done("house new 'Quay House' --at 53.3,-6.2 --zone Europe/Dublin")
    terminal.done("loop add main --volume 1200L --fish carp --feed 60g")
    file = tmp_path / "house.ics"
    assert "new or changed" in terminal.done(f"calendar write {file}")
    first = file.read_bytes()
    assert first.startswith(b"BEGIN:VCALENDAR\r\n")
    assert "0 new or changed, 0 gone" in terminal.done(f"calendar write {file}")
    assert file.read_bytes() == first


def test_the_real_program_says_the_same_in_a_process_of_its_own(tmp_path: Path) -> None:
    """The story above runs in the tests' process; the installed command must do no less."""
    record = str(tmp_path / "house.db")
    words = ["house", "new", "Quay House", "--at", "53.3,-6.2", "--zone", "Europe/Dublin"]
    assert in_a_process(["--record", record, *words]).out == (
        "Quay House: the house is in the record\n"
    )
    shown = in_a_process(["--record", record, "rounds", "--json"])
    assert (shown.code, shown.err) == (0, "")
    assert shown.value["house"] == "Quay House"
    refused = in_a_process(["--record", record, "seen", "tom1", "rooted"])
    assert (refused.code, refused.out) == (1, "")
    assert refused.err == "cropplan: no planting has the tag 'tom1'\n"


def test_a_newcomer_at_a_terminal_is_led_by_questions(tmp_path: Path) -> None:
    """commands.md: without a record the newcomer is led by questions; a slip is asked again."""
    record = tmp_path / "house.db"
    answers = [
        ("What is the house called?", "Quay House"),
        ("Where does it stand", "here"),
        ("'here' is no position", None),
        ("Where does it stand", "53.3,-6.2"),
        ("Its time zone?", "Europe/Dublin"),
        ("Units, metric or us?", "metric"),
        ("Set temperature by day?", ""),
        ("And by night?", ""),
        ("What is the water called", "main"),
        ("All its water", "1200L"),
        ("Which fish", "carpp"),
        ("Daily ration", "60g"),
        ("did you mean 'carp'?", None),
        ("What is the water called", "main"),
        ("All its water", "1200L"),
        ("Which fish", "carp"),
        ("Daily ration", ""),
        ("main: 1200 L with carp", None),
        ("Codes of places", "B1-B3"),
        ("Their kind", "bucket"),
        ("Filled with", "perlite"),
        ("B1, B2 and B3", None),
        ("Codes of places", ""),
        ("FIRST", None),
    ]
    seen = typed_at_a_terminal(["--record", str(record), "rounds"], answers)
    assert "Quay House ·" in seen
    assert any("Quay House" in line for line in content_of(record))


def test_without_a_terminal_nobody_is_asked(tmp_path: Path) -> None:
    """A script gets a refusal at once, and no record is made."""
    record = tmp_path / "house.db"
    for words in (["rounds"], ["house", "new"]):
        said = in_a_process(["--record", str(record), *words], stdin=subprocess.DEVNULL)
        assert said.code in {1, 2}
        assert "house new" in said.err
        assert said.err.count("\n") == 1
    assert not record.exists()


def typed_at_a_terminal(words: list[str], answers: list[tuple[str, str | None]]) -> str:
    """Run the program at a terminal of its own; type each answer when its question is seen."""
    ours, theirs = pty.openpty()
    env = {**os.environ, "COLUMNS": "80", "PYTHONPATH": str(CHECKOUT), "NO_COLOR": "1"}
    env.pop("CROPPLAN_RECORD", None)
    program = [sys.executable, "-m", "cropplan", *words]
    with subprocess.Popen(program, stdin=theirs, stdout=theirs, stderr=theirs, env=env) as process:
        os.close(theirs)
        try:
            seen = _dialogue(ours, answers)
        finally:
            process.kill()
            os.close(ours)
    return seen


def _dialogue(ours: int, answers: list[tuple[str, str | None]]) -> str:
    """Read up to each question, answer it where there is an answer, and read to the end."""
    seen, at = "", 0
    for question, answer in answers:
        for text in _read(ours):
            seen += text
            if question in seen[at:]:
                break
        assert question in seen[at:], (question, seen[at:])
        at = seen.index(question, at) + len(question)
        if answer is not None:
            os.write(ours, f"{answer}\n".encode())
    return seen + "".join(_read(ours))


def _read(terminal: int) -> Iterator[str]:
    """What is printed, piece by piece, until the program ends or is silent for long."""
    yield ""
    until = time.monotonic() + 30
    while time.monotonic() < until:
        ready, _, _ = select.select([terminal], [], [], 0.5)
        if not ready:
            continue
        piece = b""
        with suppress(OSError):  # Linux says so when the other side has closed.
            piece = os.read(terminal, 4096)
        if not piece:
            return
        yield piece.decode("utf-8", errors="replace")
