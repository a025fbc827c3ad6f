"""The season plan at the terminal: propose, accept, show."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from types import FrameType
from typing import Any

import click

from cropplan.cli import plan_words
from cropplan.cli.face import Face
from cropplan.cli.options import acts, looks, on_day, whole
from cropplan.cli.show import Shown, plain
from cropplan.cli.words import Command
from cropplan.desk import season


@click.command(cls=Command)
@click.option("--weeks", default="52", metavar="N", callback=whole, help="How far ahead; 52.")
@click.option(
    "--seconds", default="20", metavar="S", callback=whole, help="How long to search; 20."
)
@looks
def plan(face: Face, weeks: int, seconds: int) -> None:
    r"""Plan the cuttings and sowings of the season, so that the goals are met.

    The proposal is kept until 'cropplan season accept' puts it in force. Ctrl-C ends the search
    with the best so far.

    \b
      cropplan season plan --weeks 40
    """
    with _stopping() as stop, _telling() as tell:
        told = season.propose(
            face.desk, weeks=weeks, seconds=float(seconds), progress=tell, stop=stop
        )
    face.show(
        Shown(
            words=lambda: plan_words.proposed(told, face.today()),
            plain=lambda: plan_words.plain_proposal(told),
        )
    )


@click.command(cls=Command)
@acts
def accept(face: Face) -> None:
    """Put the proposal in force: its strikes go into the rounds and the calendar."""
    face.tell(season.accept(face.desk))


@click.command(cls=Command)
@click.option("--weeks", default="26", metavar="N", callback=whole, help="How many weeks; 26.")
@on_day
@looks
def show(face: Face, weeks: int, on: date | None) -> None:
    """The plan in force, or the proposal: strikes to come, and each week against its goal."""
    shown, units, in_force = season.plan_in_force(face.desk)
    ahead = season.ahead(face.desk, shown, on)
    today = on or face.today()

    def words() -> Iterator[str]:
        yield from plan_words.weeks_of(shown, units, today, weeks, in_force=in_force)
        yield from plan_words.work(ahead, weeks, face.units())
        yield from plan_words.to_buy(ahead, today)

    face.show(
        Shown(
            words=words,
            plain=lambda: {
                **plan_words.plain_plan(shown),
                "in_force": in_force,
                "work": plain(ahead.weeks),
                "buy": plain(ahead.buy),
            },
        )
    )


@click.command(cls=Command)
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@looks
def picture(face: Face, file: Path) -> None:
    r"""Draw the plan: places and what stands in them, picks against goals, day length and light.

    \b
      cropplan season picture season.svg
    """
    from cropplan.desk.pictures import season_picture

    face.tell(season_picture(face.desk, file))


@contextmanager
def _stopping() -> Iterator[Any]:
    """While it lasts, Ctrl-C asks the search to end instead of ending the program."""
    asked = False

    def ask(_: int, __: FrameType | None) -> None:
        nonlocal asked
        asked = True

    before = signal.signal(signal.SIGINT, ask)
    try:
        yield lambda: asked
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _telling() -> Iterator[Any]:
    """Tells on standard error how far the search has come, where somebody watches."""
    watched = sys.stderr.isatty()

    def tell(progress: Any) -> None:
        if watched:
            open_ = progress.cost - progress.bound
            sys.stderr.write(f"\rmissing {progress.cost:.2f}, at most {open_:.2f} could be saved ")
            sys.stderr.flush()

    yield tell
    if watched:
        sys.stderr.write("\n")
