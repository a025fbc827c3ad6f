"""Fish, media and warmth as they are seen to."""

from __future__ import annotations

from datetime import date

import click

from cropplan.cli import amounts
from cropplan.cli.face import Face
from cropplan.cli.options import OneOf, acts, of_house, on_day, places_argument
from cropplan.cli.words import Command
from cropplan.desk import upkeep
from cropplan.holding.place import Care

_loop = click.argument("loop", metavar="LOOP")


@click.command(cls=Command)
@_loop
@click.argument("amount", metavar="AMOUNT")
@click.option("--again", is_flag=True, help="It is meant as a second feed on one day.")
@on_day
@acts
def feed(face: Face, loop: str, amount: str, again: bool, on: date | None) -> None:
    r"""The fish of a loop were fed: 60g, 2oz.

    A second feed on one day is asked about, so that nobody feeds twice.

    \b
      cropplan feed main 60g --by Ines
    """
    grams = amounts.grams(amount, face.units)
    face.tell(upkeep.feed(face.desk, loop, grams, again=again, on=on))


@click.command(cls=Command)
@places_argument("codes")
@click.option("--medium", metavar="M", help="The new medium, if another than before.")
@click.option(
    "--how",
    default=Care.CHANGE.value,
    show_default=True,
    metavar="HOW",
    callback=OneOf(*Care, what="care of a medium"),
    help="change, top-up, flush or disinfect.",
)
@on_day
@acts
def renew(
    face: Face, codes: tuple[str, ...], medium: str | None, how: Care, on: date | None
) -> None:
    r"""The medium of places was changed, topped up, flushed or disinfected.

    Only a change makes it new again.

    \b
      cropplan renew B1-B4 --medium perlite
      cropplan renew B5 --how flush
    """
    face.tell(upkeep.tend(face.desk, codes, how, medium=medium, on=on))


@click.command(cls=Command)
@click.argument("low", metavar="LOW")
@click.argument("high", metavar="HIGH")
@of_house
@on_day
@acts
def temp(face: Face, low: str, high: str, house: str | None, on: date | None) -> None:
    r"""The night's low and the day's high in a house: 14C 26C, or 57F 79F.

    A log from a thermometer comes in with 'cropplan import temps FILE'.

    \b
      cropplan temp 14 26
    """
    units = face.units
    low_c, high_c = amounts.celsius(low, units), amounts.celsius(high, units)
    face.tell(upkeep.write_temperature(face.desk, low_c, high_c, house=house, on=on))


@click.command("set-back", cls=Command)
@click.argument("days", metavar="DAYS")
@click.option("--why", required=True, metavar="TEXT", help="What set them back: heater out…")
@click.option("--crop", metavar="CROP", help="Only this crop. All of the house if left.")
@click.option("--low", metavar="TEMP", help="The lowest temperature it came to: 4C.")
@of_house
@on_day
@acts
def set_back(
    face: Face,
    days: str,
    why: str,
    crop: str | None,
    low: str | None,
    house: str | None,
    on: date | None,
) -> None:
    r"""Plants stood still for some days: the heater out, a check at planting, a dull spell.

    Every date still to come moves by as much. --on is the day it began.

    \b
      cropplan set-back 4 --why "heater out" --low 3C --on mon
    """
    outcome = upkeep.set_back(
        face.desk,
        amounts.whole_days(days),
        why=why,
        crop=crop,
        low_c=None if low is None else amounts.celsius(low, face.units),
        house=house,
        on=on,
    )
    face.tell(outcome)
