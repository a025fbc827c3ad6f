"""The calendar for the phone."""

from __future__ import annotations

from pathlib import Path

import click

from cropplan.cli.face import Face
from cropplan.cli.options import looks, whole
from cropplan.cli.serving import key, serve
from cropplan.cli.show import Shown
from cropplan.cli.syncing import sync
from cropplan.cli.words import Family
from cropplan.desk.calendar import DAYS_AHEAD, write_file
from cropplan.problems import Misuse

_FURTHEST = 800


@click.group(cls=Family)
def calendar() -> None:
    """The calendar for the phone: pollinating, cuttings, setting out, first picks, water."""


@calendar.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE")
@click.option(
    "--days",
    default=str(DAYS_AHEAD),
    show_default=True,
    metavar="N",
    callback=whole,
    help="Days ahead.",
)
@looks
def write(face: Face, file: Path, days: int) -> None:
    """Write the days to come as an iCalendar file (.ics), whole or not at all.

    Written again, an event that moved keeps its identity, so that a phone moves it too.
    """
    if not 1 <= days <= _FURTHEST:
        raise Misuse(f"--days is 1 to {_FURTHEST}, got '{days}'")
    told = write_file(face.desk, file, days=days)
    told_plain = {
        "file": str(file),
        "events": told.events,
        "changed": told.changed,
        "gone": told.gone,
        "revised": told.revised.isoformat(),
    }
    words = f"{file}: {told.events} events, {told.changed} new or changed, {told.gone} gone"
    face.show(Shown(words=lambda: [words], plain=lambda: told_plain))


calendar.add_command(sync)
calendar.add_command(serve)
calendar.add_command(key)
