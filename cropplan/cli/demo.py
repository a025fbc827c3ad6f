"""The example house: made in a folder, shown, and left there to try."""

from __future__ import annotations

from pathlib import Path

import click

from cropplan.cli.face import Face
from cropplan.cli.options import looks
from cropplan.cli.rounds import shown_rounds
from cropplan.cli.show import Shown
from cropplan.cli.words import Command
from cropplan.desk import morning
from cropplan.desk.example import EXAMPLE_DAY, build_example
from cropplan.problems import Refusal


@click.command(cls=Command)
@click.argument(
    "folder", metavar="[DIR]", required=False, type=click.Path(path_type=Path, file_okay=False)
)
@looks
def demo(face: Face, folder: Path | None) -> None:
    """Make the example house in a folder, show its rounds and write its calendar.

    DIR is 'cropplan-demo' here unless you name another. The example has a day of its own, so
    its rounds are looked at with --on.
    """
    made = build_example(folder or Path("cropplan-demo"))
    face.record = made.record
    listed = morning.rounds(face.desk, on=made.on)
    rounds = shown_rounds(listed)
    after = [
        "",
        f"That is the example house on {made.on}, from {made.entries} journal entries.",
        f"Its calendar, {made.events} events for a phone, is in {made.calendar}.",
        _picture(face, made.record.with_name("season.svg")),
        "Look further:",
        f"  export CROPPLAN_RECORD={made.record}",
        f"  cropplan rounds --on {made.on}",
        f"  cropplan season show --on {made.on}",
        "  cropplan place list",
        "  cropplan journal",
        "and then put in your own house, in its own record:",
        "  unset CROPPLAN_RECORD",
        "  cropplan house new",
    ]
    face.show(
        Shown(
            words=lambda: [*rounds.words(), *after],
            plain=lambda: {
                "record": str(made.record),
                "calendar": str(made.calendar),
                "on": made.on.isoformat(),
                "entries": made.entries,
                "events": made.events,
                "rounds": rounds.plain(),
            },
        )
    )


def _picture(face: Face, file: Path) -> str:
    """Draw the season that the example proposes, where pictures can be drawn; what to say of it."""
    from cropplan.desk.pictures import season_picture

    try:
        season_picture(face.desk, file, on=EXAMPLE_DAY)
    except Refusal as fault:
        return f"Its season is not drawn: {fault}."
    return f"Its season plan, places and picks to come, is drawn in {file}."
