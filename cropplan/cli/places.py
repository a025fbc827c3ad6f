"""Places where plants stand."""

from __future__ import annotations

from datetime import date

import click

from cropplan.cli.codes import codes_from
from cropplan.cli.face import Face
from cropplan.cli.labels import place_labels
from cropplan.cli.options import (
    OneOf,
    a_day,
    acts,
    looks,
    of_house,
    on_day,
    places_argument,
    whole,
)
from cropplan.cli.show import Shown, plain, table
from cropplan.cli.words import Family
from cropplan.desk import look, premises
from cropplan.desk.look import Standing
from cropplan.holding.place import PlaceKind
from cropplan.problems import Misuse

_KIND = OneOf(*PlaceKind, what="kind of place")

_medium = click.option("--medium", metavar="M", help="What it is filled with, such as perlite.")
_filled = a_day("--filled", say="The day the medium was last changed.")
_holds = click.option("--holds", callback=whole, metavar="N", help="Plants that each takes.")
_loop = click.option("--loop", metavar="NAME", help="The water that feeds it.")


@click.group(cls=Family)
def place() -> None:
    """Places where plants stand: put in, list, put right, take out of service."""


@place.command()
@click.argument("codes", metavar="CODES")
@click.option(
    "--kind",
    callback=_KIND,
    required=True,
    metavar="KIND",
    help=f"{_KIND.words}.",
)
@_medium
@_filled
@_holds
@_loop
@of_house
@on_day
@acts
def add(
    face: Face,
    codes: str,
    kind: PlaceKind,
    medium: str | None,
    filled: date | None,
    holds: int | None,
    loop: str | None,
    house: str | None,
    on: date | None,
) -> None:
    r"""Put in places of one kind, in the order you walk past them.

    CODES are what stands on the labels. A house's only water loop feeds them unless --loop
    names another.

    \b
      cropplan place add B1-B6 --kind bucket --medium perlite --filled 2025-10-01
      cropplan place add T1 --kind tray --holds 40
    """
    outcome = premises.add_places(
        face.desk,
        codes_from(codes),
        kind=kind,
        house=house,
        holds=holds,
        medium=medium,
        filled=filled,
        loop=loop,
        on=on,
    )
    face.tell(outcome)


@place.command("set")
@places_argument("codes")
@_medium
@_filled
@_holds
@_loop
@acts
def set_(
    face: Face,
    codes: tuple[str, ...],
    medium: str | None,
    filled: date | None,
    holds: int | None,
    loop: str | None,
) -> None:
    """Put right what is known of places. What is not named stays as it is.

    A medium that was changed is written with 'cropplan renew', not here.
    """
    if medium is None and filled is None and holds is None and loop is None:
        raise Misuse(f"nothing to put right about {', '.join(codes)} is named; see --help")
    outcome = premises.set_places(
        face.desk, codes, holds=holds, medium=medium, filled=filled, loop=loop
    )
    face.tell(outcome)


@place.command()
@places_argument("codes")
@click.option("--why", metavar="TEXT", help="Why.")
@on_day
@acts
def retire(face: Face, codes: tuple[str, ...], why: str | None, on: date | None) -> None:
    """Take a place out of service; what happened there stays in the journal."""
    if len(codes) > 1:
        raise Misuse(f"retire one place at a time, not {len(codes)} ({', '.join(codes)})")
    face.tell(premises.retire_place(face.desk, codes[0], why=why, on=on))


@place.command("list")
@of_house
@looks
def list_(face: Face, house: str | None) -> None:
    """List the places in walking order, and what stands in each."""
    listed = look.places(face.desk, house=house)
    face.show(
        Shown(
            words=lambda: (
                table(
                    [_row(standing) for standing in listed],
                    ("place", "kind", "plants", "medium", "water", "stands there"),
                )
                or ["No places yet; put them in with 'cropplan place add CODES --kind KIND'."]
            ),
            plain=lambda: [plain(standing) for standing in listed],
        )
    )


def _row(standing: Standing) -> tuple[str, ...]:
    place = standing.place
    taken = sum(planting.count for planting in standing.plantings)
    medium = place.medium or ""
    if place.filled is not None:
        medium = f"{medium} {place.filled}".strip()
    there = ", ".join(f"{p.tag} {p.stage.value}" for p in standing.plantings)
    if place.retired_on is not None:
        there = f"out of service since {place.retired_on}"
    return place.code, place.kind.value, f"{taken}/{place.holds}", medium, place.loop or "", there


place.add_command(place_labels)
