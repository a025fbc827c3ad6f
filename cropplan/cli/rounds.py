"""The morning list."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from cropplan.cli.face import Face
from cropplan.cli.options import a_day, looks, of_house, whole
from cropplan.cli.rounds_text import laid_out
from cropplan.cli.show import Shown, in_colour, width
from cropplan.cli.words import Command
from cropplan.desk import morning
from cropplan.desk.morning import MorningList
from cropplan.desk.terms import Line, Rounds
from cropplan.problems import Misuse

#: More days ahead than this belong in a calendar.
_FURTHEST = 60


@click.command(cls=Command)
@a_day("--on", ahead=True, say="The day to look at. Today if left.")
@click.option(
    "--ahead",
    callback=whole,
    default="3",
    show_default=True,
    metavar="DAYS",
    help="Days of coming work to show.",
)
@of_house
@click.option("--cautions", is_flag=True, help="The cautions in full, not their first sentence.")
@looks
def rounds(face: Face, on: date | None, ahead: int, house: str | None, cautions: bool) -> None:
    """The morning list: what is late, what today needs, what is coming.

    Late work comes first, then today's by part of the day, in walking order; fish and water
    lead their part. A line begins with its handle: 'cropplan done HANDLE' ticks it off.

    Under each job stands why it is asked. 'expected' marks days that are reckoned, 'planned'
    those of a plan; all others count from what was seen or done. Numbers in brackets are
    cautions, in short below; --cautions writes them out.

    With --json: one object, or a list of them when more than one house is shown.
    """
    if not 0 <= ahead <= _FURTHEST:
        raise Misuse(f"--ahead is 0 to {_FURTHEST} days, got '{ahead}'")
    listed = morning.rounds(face.desk, on=on, ahead=ahead, house=house)
    face.show(shown_rounds(listed, whole_cautions=cautions))


def shown_rounds(listed: MorningList, *, whole_cautions: bool = False) -> Shown:
    """The morning list in both forms."""
    return Shown(
        words=lambda: laid_out(
            listed, width=width(), colour=in_colour(), whole_cautions=whole_cautions
        ),
        plain=lambda: _plain(listed),
    )


def _plain(listed: MorningList) -> Any:
    shown = [_plain_rounds(one, listed) for one in listed.rounds]
    return shown[0] if len(shown) == 1 else shown


def _plain_rounds(one: Rounds, listed: MorningList) -> dict[str, Any]:
    return {
        "house": one.house,
        "on": one.on.isoformat(),
        "daylength_h": round(one.daylength_h, 3),
        "dli_inside": round(one.dli_inside, 3),
        "minutes": round(one.minutes, 1),
        "remarks": list(one.remarks),
        "lines": [plain_line(line, listed) for line in one.lines],
    }


def plain_line(line: Line, listed: MorningList) -> dict[str, Any]:
    """A line of the rounds with the keys that programs may count on.

    "caution" is one text, or null where there is none.
    """
    cautions = [listed.cautions[id_].text for id_ in line.cautions if id_ in listed.cautions]
    return {
        "handle": line.handle,
        "keys": [str(key) for key in line.keys],
        "duty": line.duty,
        "subjects": [str(subject) for subject in line.subjects],
        "places": list(line.places),
        "job": line.job,
        "part": line.part.value,
        "due": line.due.isoformat(),
        "earliest": line.earliest.isoformat(),
        "latest": line.latest.isoformat(),
        "state": line.state.value,
        "basis": line.basis.value,
        "minutes": round(line.minutes, 1),
        "caution": " ".join(cautions) or None,
        "why": line.why,
    }
