"""The rounds on the screen: 80 columns, nothing cut off, fish first, cautions once."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from at_the_terminal import Terminal
from hypothesis import given
from hypothesis import strategies as st

from cropplan.catalogue.model import Caution
from cropplan.cli.codes import codes_from
from cropplan.cli.rounds_text import laid_out, plain_list
from cropplan.desk.morning import MorningList
from cropplan.holding.span import Basis
from cropplan.holding.task import Part, Rank, State, SubjectKind, TaskKey, subject
from cropplan.schedule.rounds import Line, Rounds

TODAY = date(2026, 3, 3)
LINE = Line(
    handle="fi-main",
    keys=(TaskKey("fish", subject(SubjectKind.LOOP, "main"), 1),),
    duty="fish",
    subjects=(subject(SubjectKind.LOOP, "main"),),
    places=(),
    house="Quay House",
    job="Feed the fish, watch them eat",
    part=Part.MORNING,
    rank=Rank.FISH,
    due=TODAY,
    earliest=TODAY,
    latest=TODAY,
    state=State.TODAY,
    basis=Basis.SEEN,
    minutes=5,
    survival=True,
    cautions=("gloves",),
    why="last fed yesterday by Ines",
)
CAUTIONS = {
    "gloves": Caution(id="gloves", text="Gloves over cuts. See a doctor about sores.", source="x"),
    "sap": Caution(id="sap", text="Clean blade for each plant. No tobacco.", source="x"),
}


def small_list(*lines: Line, remarks: tuple[str, ...] = ()) -> MorningList:
    """The rounds of one house with these lines."""
    return MorningList(
        rounds=(
            Rounds(
                house="Quay House",
                on=TODAY,
                daylength_h=10.98,
                dli_inside=10.2,
                minutes=sum(line.minutes for line in lines if line.state is not State.COMING),
                lines=lines,
                remarks=remarks,
            ),
        ),
        cautions=CAUTIONS,
    )


def a_day() -> MorningList:
    """A day with something of everything."""
    late = replace(
        LINE,
        handle="lw-tom",
        job="Tie in or lower tomatoes",
        places=("B1", "B2"),
        rank=Rank.WEAR,
        survival=False,
        state=State.LATE,
        due=TODAY - timedelta(days=3),
        latest=TODAY - timedelta(days=2),
        minutes=15,
        cautions=(),
        why="10 days since last, every 7 days",
    )
    picks = replace(
        LINE,
        handle="pk-tom",
        job="Pick tomatoes",
        places=("B1", "B2", "B3", "B4", "C2", "C4", "C6", "C8", "D1", "D3", "E10", "E12", "E14"),
        rank=Rank.NOW_OR_LOST,
        minutes=6.5,
        cautions=("sap", "gloves"),
        why="2 days since last, every 2 days",
    )
    flowers = replace(
        LINE,
        handle="ff-str",
        job="Look for first flowers on strawberries",
        places=("C1",),
        part=Part.MIDDAY,
        rank=Rank.WEAR,
        survival=False,
        basis=Basis.PREDICTED,
        minutes=0.2,
        cautions=(),
        why="looked 7 days ago",
    )
    coming = replace(
        LINE,
        handle="st-tom",
        job="Strike 2 tomatoes",
        places=("B1",),
        part=Part.ANY,
        state=State.COMING,
        basis=Basis.PLANNED,
        due=TODAY + timedelta(days=2),
        minutes=4,
        cautions=("sap",),
        why="to follow B1 and B2",
    )
    return small_list(LINE, late, picks, flowers, coming, remarks=("tom3 in B2 is the last plant",))


GOLDEN = """\
Quay House · Tue 3 Mar 2026 · day 10:59 h · light 10 mol/m² · work 27 min
! tom3 in B2 is the last plant

FIRST
fi-main  Feed the fish, watch them eat [1] - last fed yesterday by Ines    5 min

LATE
lw-tom   Tie in or lower tomatoes: B1, B2                                 15 min
         10 days since last, every 7 days; was due by Sun 1 Mar

MORNING
pk-tom   Pick tomatoes: B1-B4, C2, C4, C6, C8, D1, D3, E10, E12, E14       6 min
         [1,2] - 2 days since last, every 2 days

MIDDAY
ff-str   Look for first flowers on strawberries: C1                       <1 min
         expected: looked 7 days ago

COMING Thu 5 Mar
st-tom   Strike 2 tomatoes: B1 - planned: to follow B1 and B2              4 min

[1] Gloves over cuts.
[2] Clean blade for each plant.
'expected' is reckoned, not yet seen; other days count from what was written.
"""


def test_a_small_house_reads_as_it_should() -> None:
    """Fish lead, then late, then by part of the day, then coming; each caution once, in short."""
    lines = list(laid_out(a_day(), width=80, colour=False))
    assert "".join(f"{line}\n" for line in lines) == GOLDEN


def test_cautions_are_written_out_when_asked_for() -> None:
    """`rounds --cautions` shows all of what the list shows in short."""
    told = "\n".join(laid_out(a_day(), width=80, colour=False, whole_cautions=True))
    assert "[1] Gloves over cuts. See a doctor about sores." in told
    assert "[2] Clean blade for each plant. No tobacco." in told


def test_colour_adds_weight_and_no_word() -> None:
    """Without its colours the coloured list is the plain one: colour never carries anything."""
    import click

    plain = list(laid_out(a_day(), width=80, colour=False))
    weighted = list(laid_out(a_day(), width=80, colour=True))
    assert plain != weighted
    assert plain == [click.unstyle(line) for line in weighted]


def test_a_day_with_nothing_to_do_says_so() -> None:
    """An empty list must not look like a broken one."""
    told = list(laid_out(small_list(), width=80, colour=False))
    assert told[-1] == "Nothing is late and nothing is due today."


def test_two_houses_share_one_numbering_of_cautions() -> None:
    """Each caution stands once at the foot, whichever house asks for it."""
    one = a_day().rounds[0]
    both = MorningList(rounds=(one, replace(one, house="Lean-to")), cautions=CAUTIONS)
    told = list(laid_out(both, width=80, colour=False))
    assert sum(line.startswith("[1]") for line in told) == 1
    assert [line.split(" ·")[0] for line in told if "· day" in line] == ["Quay House", "Lean-to"]


CODES = st.lists(
    st.from_regex(r"[A-Z]{1,3}[0-9]{1,3}", fullmatch=True), min_size=1, max_size=60, unique=True
)


@given(codes=CODES, width=st.integers(min_value=60, max_value=100))
def test_no_place_is_ever_cut_off_and_no_line_is_too_wide(codes: list[str], width: int) -> None:
    """Whatever the places, each is there whole, and the line keeps within the terminal."""
    line = replace(LINE, places=tuple(codes), handle="pk-tom", job="Pick tomatoes")
    told = list(laid_out(small_list(line), width=width, colour=False))
    assert max(map(len, told)) <= width
    first, *more = itertools.dropwhile(lambda row: not row.startswith("pk-tom"), told)
    rows = " ".join([re.sub(r" +5 min$", "", first), *more])
    shown = rows.partition("Pick tomatoes:")[2].partition("[1]")[0]
    assert codes_from(shown) == codes


def test_lists_of_an_absence_are_laid_out_like_the_rounds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Handle, job and places, with what is asked for at the right."""
    monkeypatch.setenv("COLUMNS", "80")
    told = plain_list([replace(LINE, places=("B1", "B2", "B3"))], ["9 x"])
    assert told == [f"fi-main  {'Feed the fish, watch them eat: B1-B3':<63}{'9 x':>8}"]


def full_house(terminal: Terminal) -> None:
    """Forty plantings of three crops in forty places, entered a row at a time."""
    terminal.done("house new 'Long House' --at 53.3,-6.2 --zone Europe/Dublin")
    terminal.done("loop add main --volume 4000L --fish carp --feed 200g")
    terminal.done("place add B1-B20 --kind bucket --medium perlite --filled 2026-01-10")
    terminal.done("place add C1-C20 --kind channel")
    terminal.done("bring-in tomato 12 --in B1-B12 --stage fruiting --age-unknown")
    terminal.done("bring-in cucumber 8 --in B13-B20 --stage fruiting --age-unknown")
    terminal.done("bring-in strawberry 20 --in C1-C20 --stage flowering --age-unknown")


def test_a_house_of_forty_plantings_fits_about_one_screen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Design §8: one screen. Today's part of a full house keeps within 40 lines of 80 columns."""
    monkeypatch.setenv("COLUMNS", "80")
    terminal = Terminal(record=tmp_path / "r.db")
    full_house(terminal)
    told = terminal.done("rounds --ahead 0").splitlines()
    today = list(itertools.takewhile(lambda line: not line.startswith("[1]"), told))
    assert max(map(len, told)) <= 80
    assert len(today) <= 40
    picks = next(line for line in today if line.startswith("pk-tom"))
    assert "B1-B12" in picks
