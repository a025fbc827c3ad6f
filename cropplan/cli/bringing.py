"""What is brought in from files: an export of a record, and a thermometer's log."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from cropplan.cli.face import Face
from cropplan.cli.options import acts, looks, of_house
from cropplan.cli.show import Shown, plain
from cropplan.cli.words import Family
from cropplan.desk import keeping
from cropplan.problems import Misuse

Scale = Literal["C", "F"]


class _Import(Family):
    """`import FILE` reads an export; a first word that names a command is that command."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command named, or the reading of an export."""
        if self.get_command(ctx, args[0]) is None and not args[0].startswith("-"):
            return "journal", journal, args
        return super().resolve_command(ctx, args)


@click.group("import", cls=_Import, subcommand_metavar="FILE | temps FILE")
def bring() -> None:
    r"""Make a record of an export, or bring in a thermometer's log.

    \b
      cropplan --record new.db import exported/journal.jsonl
      cropplan import temps log.csv
    """


@bring.command()
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@looks
def journal(face: Face, file: Path) -> None:
    """Make the record from the JSON lines of an export; it must be new or empty."""
    face.tell(keeping.import_file(file, face.place, face.clock))


def _take_scale(_: click.Context, __: click.Parameter, value: str | None) -> Scale | None:
    match None if value is None else value.strip().casefold().lstrip("°"):
        case None:
            return None
        case "c" | "celsius":
            return "C"
        case "f" | "fahrenheit":
            return "F"
        case _:
            raise Misuse(f"'{value}' is no scale of temperature; write C or F")


@bring.command()
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option(
    "--scale", metavar="C|F", callback=_take_scale, help="Of a log that does not name its own."
)
@of_house
@acts
def temps(face: Face, file: Path, scale: Scale | None, house: str | None) -> None:
    """Bring in a thermometer's log: CSV with a low and a high a day, or readings through it.

    Lines that cannot be believed are left out and named; the rest is written as one entry,
    which one 'cropplan undo' takes back.
    """
    from cropplan.desk.temperatures import import_temperatures

    came = import_temperatures(face.desk, file, house=house, unit=scale)
    told = [came.said, *(f"  {problem}" for problem in came.problems)]
    face.show(Shown(words=lambda: told, plain=lambda: plain(came)))
