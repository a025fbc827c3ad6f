"""What the record has taught, beside what the catalogue says."""

from __future__ import annotations

from collections.abc import Iterator

import click

from cropplan.cli.face import Face
from cropplan.cli.options import looks
from cropplan.cli.show import Shown, plain, table
from cropplan.cli.words import Command
from cropplan.desk import taught
from cropplan.desk.taught import Taught
from cropplan.desk.terms import Trust

#: How far a house's figure may be trusted, by the plantings that ended the stage.
_TRUSTED = ((8, "well known"), (3, "fairly"), (0, "a hint"))


@click.command(cls=Command)
@click.argument("crop", required=False, metavar="[CROP]")
@looks
def learnt(face: Face, crop: str | None) -> None:
    """What this house has taught: the catalogue's figure, the house's, and from how many.

    Lengths are learnt as a ratio to what the weather would have given, so a cold winter does not
    pass for a slow house. A figure that you set yourself is never moved.
    """
    rows = taught.learnt(face.desk, crop)
    face.show(Shown(words=lambda: _told(rows, crop), plain=lambda: [plain(row) for row in rows]))


def _told(rows: list[Taught], crop: str | None) -> Iterator[str]:
    if not rows:
        yield f"nothing learnt {'of ' + crop if crop else 'yet'}: write stages as you see them"
        return
    heads = ("crop", "figure", "catalogue", "here", "from", "trust")
    yield from table([_row(row) for row in rows], heads)
    yield ""
    yield "Spans hold eight times in ten. 'waiting': still under way, heard as far as they are."


def _row(row: Taught) -> tuple[str, ...]:
    if row.figure.trust is Trust.OWN:
        return row.crop, row.says, _catalogue(row), "your own figure", "", ""
    if row.rooting is not None:
        seen = row.rooting.rooted + row.rooting.failed
        return row.crop, row.says, _catalogue(row), f"{row.here:.0%}", f"{seen} plants", ""
    if row.weeks:
        here = f"{row.here:.2g} ({row.low:.2g}–{row.high:.2g}) {row.figure.unit}"
        return row.crop, row.says, _catalogue(row), here, f"{row.weeks} weeks", _trusted(row.weeks)
    heard = "" if row.stage is None else f"{row.stage.finished} done"
    if row.stage is not None and row.stage.waiting:
        heard += f", {row.stage.waiting} waiting"
    here = f"{row.here:.0f} ({row.low:.0f}–{row.high:.0f}) {row.figure.unit}"
    return (
        row.crop,
        row.says,
        _catalogue(row),
        here,
        heard,
        _trusted(0 if row.stage is None else row.stage.finished),
    )


def _catalogue(row: Taught) -> str:
    figure = row.figure
    if row.rooting is not None:
        return f"{figure.typical:.0%}"
    if figure.low is None and figure.high is None:
        return f"{figure.typical:g} {figure.unit}"
    return f"{figure.typical:g} ({figure.least:g}–{figure.most:g}) {figure.unit}"


def _trusted(seen: int) -> str:
    return next(word for least, word in _TRUSTED if seen >= least)
