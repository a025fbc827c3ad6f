"""Labels to print: for plantings, and for places."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from cropplan.cli import codes
from cropplan.cli.face import Face
from cropplan.cli.label_sheet import sheet
from cropplan.cli.options import known_tag, looks
from cropplan.cli.show import Shown, plain, write_text
from cropplan.cli.words import Command
from cropplan.desk.labels import Label

_file = click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE")
_at = click.option(
    "--at", metavar="ADDRESS", help="Where the server is reached, if not where last."
)


@click.command("labels", cls=Command)
@_file
@click.argument("tags", nargs=-1, metavar="[TAGS]...")
@_at
@looks
def planting_labels(face: Face, file: Path, tags: tuple[str, ...], at: str | None) -> None:
    r"""Write a page of labels to print: tag, crop, when begun, and a QR code each.

    All living plantings, unless tags are named. The code leads a phone that has a key to the
    planting's page; anybody else finds nothing there.

    \b
      cropplan planting labels labels.html tom7 tom8
    """
    from cropplan.desk import labels

    known = [known_tag(face, tag) for tag in tags]
    _write(face, file, labels.planting_labels(face.desk, known, at=at))


@click.command("labels", cls=Command)
@_file
@click.argument("places", nargs=-1, metavar="[PLACES]...")
@_at
@looks
def place_labels(face: Face, file: Path, places: tuple[str, ...], at: str | None) -> None:
    r"""Write a page of labels to print: code, kind, medium, and a QR code each.

    All places in use, unless some are named.

    \b
      cropplan place labels labels.html B1-B6,C1
    """
    from cropplan.desk import labels

    typed = [code for text in places for code in codes.codes_from(text)]
    there = face.desk.record.snapshot(living_only=True).places
    _write(face, file, labels.place_labels(face.desk, codes.as_known(typed, there), at=at))


def _write(face: Face, file: Path, labels: Sequence[Label]) -> None:
    write_text(file, sheet(labels))
    said = f"{file}: {len(labels)} labels; open it and print"
    face.show(Shown(words=lambda: [said], plain=lambda: [plain(label) for label in labels]))
