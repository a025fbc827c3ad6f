"""A time away: what to do before, what must go on, what waits; and a sheet to leave behind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import click

from cropplan.cli import when
from cropplan.cli.face import Face
from cropplan.cli.neighbour_sheet import sheet_lines
from cropplan.cli.options import acts, face_of, of_house
from cropplan.cli.rounds_text import plain_list
from cropplan.cli.show import Shown, plain, write_text
from cropplan.cli.words import Command
from cropplan.desk import look, premises
from cropplan.desk.look import AbsenceSheet
from cropplan.desk.neighbour import Errands, errands
from cropplan.desk.terms import Line, day_text, span_text
from cropplan.holding.task import State
from cropplan.problems import Misuse


def _take_day(ctx: click.Context, _: click.Parameter, value: str) -> date:
    return when.day_from(value, face_of(ctx).today, when.Way.AHEAD)


@click.command(cls=Command)
@click.argument("first", metavar="FROM", callback=_take_day)
@click.argument("last", metavar="TO", callback=_take_day)
@of_house
@click.option(
    "--sheet",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Also write a page to print for whoever looks after the house.",
)
@acts
def away(face: Face, first: date, last: date, house: str | None, sheet: Path | None) -> None:
    r"""Write a time away, both days included, and say what it asks for.

    What would fall due meanwhile is brought forward or waits for your return; only fish, water
    and cuttings go on. The sheet has a box for each day: if it is ticked, the work is done.

    \b
      cropplan away 2026-08-01 2026-08-14 --sheet for-ines.txt
    """
    if last < first:
        raise Misuse(f"away from {first} to {last}: the end is before the beginning")
    if house is not None:
        face.only_house(house)
    meanwhile = errands(face.desk, first, last, house=house)
    if sheet is not None:
        # Before the record, which must not change when the page cannot be written.
        write_text(sheet, sheet_lines(meanwhile, first, last, face.units()))
    outcome = premises.go_away(face.desk, first, last, house=house)
    asked = look.absence_sheet(face.desk, first, last, house=house)
    face.show(
        Shown(
            words=lambda: _told(outcome.said, asked, meanwhile, sheet),
            plain=lambda: _plain(outcome.entries, asked, meanwhile),
        )
    )


def _told(
    said: Sequence[str], asked: AbsenceSheet, meanwhile: Errands, sheet: Path | None
) -> Iterator[str]:
    first, last = asked.absence.first, asked.absence.last
    yield from said
    yield ""
    leaving = first - timedelta(days=1)
    before = sorted(asked.before, key=lambda line: line.due)
    yield f"BEFORE YOU GO, by {day_text(leaving)}"
    yield from plain_list(before, [_by_when(line) for line in before]) or ["Nothing."]
    yield ""
    yield f"EACH DAY, {day_text(first)} to {day_text(last)}, for whoever looks after the house"
    lines = [errand.line for errand in meanwhile.errands]
    counts = [f"{len(errand.days)} x" for errand in meanwhile.errands]
    yield from plain_list(lines, counts) or ["Nothing."]
    yield ""
    yield "ON RETURN"
    yield from plain_list(asked.after) or ["Nothing that waits; the rounds go on as usual."]
    if sheet is not None:
        yield ""
        yield f"The sheet to leave is in {sheet}."


def _by_when(line: Line) -> str:
    return "now" if line.state is not State.COMING else span_text(line.due, line.due)


def _plain(entries: Sequence[int], asked: AbsenceSheet, meanwhile: Errands) -> dict[str, Any]:
    return {
        "from": asked.absence.first.isoformat(),
        "to": asked.absence.last.isoformat(),
        "house": asked.absence.house,
        "entries": list(entries),
        "before": plain(asked.before),
        "meanwhile": plain(meanwhile.errands),
        "after": plain(asked.after),
    }
