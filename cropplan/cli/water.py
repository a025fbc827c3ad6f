"""The water of a loop as it is seen to: drained, tested, topped up, treated; its fish weighed."""

from __future__ import annotations

from datetime import date

import click

from cropplan.cli import amounts, codes
from cropplan.cli.face import Face
from cropplan.cli.options import a_day, acts, on_day, whole
from cropplan.cli.words import Command
from cropplan.desk import water
from cropplan.problems import Misuse

_loop = click.argument("loop", metavar="LOOP")
_VESSEL = "vessel"


@click.command(cls=Command)
@_loop
@click.option("--volume", metavar="V", help="How much water went with it: 12L or 3gal.")
@click.option("--to", metavar="PLACES", help="Where it went: beds as W1,W2, or vessel.")
@on_day
@acts
def drain(face: Face, loop: str, volume: str | None, to: str | None, on: date | None) -> None:
    r"""The solids of a loop's filter were drained.

    Solids given to beds are remembered there; those in a vessel mineralise under air.

    \b
      cropplan drain main --volume 12L
      cropplan drain main --volume 12L --to vessel
    """
    litres = None if volume is None else amounts.litres(volume, face.units)
    vessel = to is not None and to.strip().casefold() == _VESSEL
    beds: list[str] = []
    if to is not None and not vessel:
        known = face.desk.record.snapshot(living_only=True).places
        beds = codes.as_known(codes.codes_from(to), known)
    face.tell(water.drain(face.desk, loop, litres=litres, beds=beds, vessel=vessel, on=on))


@click.command(cls=Command)
@_loop
@click.argument("values", nargs=-1, required=True, metavar="KEY=VALUE...")
@on_day
@acts
def test(face: Face, loop: str, values: tuple[str, ...], on: date | None) -> None:
    r"""The water of a loop was tested.

    Keys are ph, ammonia, nitrite, nitrate, oxygen (mg/L) and temperature (18C or 64F). Zero is
    a value; what was not tested is left out. What is out of range is told at once, and the
    rounds say what to do first.

    \b
      cropplan test main ph=6.8 ammonia=0.25 nitrite=0 temperature=18C
    """
    read = {
        key: amounts.celsius(text, face.units)
        if key == "temperature"
        else amounts.number(text, "6.8")
        for key, text in amounts.pairs(values).items()
    }
    face.tell(water.write_test(face.desk, loop, read, on=on))


@click.command(cls=Command)
@_loop
@click.argument("count", callback=whole, metavar="COUNT")
@click.argument("mean", metavar="MEAN")
@on_day
@acts
def weigh(face: Face, loop: str, count: int, mean: str, on: date | None) -> None:
    r"""Some fish of a loop were weighed: how many, and their mean weight.

    The ration follows; two weighings tell how the feed was turned into fish.

    \b
      cropplan weigh main 12 180g
    """
    face.tell(water.weigh(face.desk, loop, count, amounts.grams(mean, face.units), on=on))


@click.command("top-up", cls=Command)
@_loop
@click.argument("amount", metavar="AMOUNT")
@on_day
@acts
def top_up(face: Face, loop: str, amount: str, on: date | None) -> None:
    r"""Water was added to a loop: 18L, 5gal.

    More than such a loop loses to leaf and air asks about a leak.

    \b
      cropplan top-up main 18L
    """
    face.tell(water.top_up(face.desk, loop, amounts.litres(amount, face.units), on=on))


@click.command(cls=Command)
@click.argument("name", metavar="LOOP")
@click.argument("what", metavar="WHAT")
@a_day("--no-eat-until", ahead=True, say="First day that fish and crops of it may be eaten.")
@a_day("--no-water-until", ahead=True, say="First day that its water may be used.")
@on_day
@acts
def treat(
    face: Face,
    name: str,
    what: str,
    no_eat_until: date | None,
    no_water_until: date | None,
    on: date | None,
) -> None:
    r"""The fish or the water of a loop were treated; picks on it carry the wait.

    How long to wait is on the label or said by the vet, not known here.

    \b
      cropplan loop treat main "salt bath" --no-water-until 2026-03-20
    """
    if not name.strip():
        raise Misuse("the loop that was treated has no name; write such as main")
    outcome = water.treat(
        face.desk,
        name,
        what,
        no_eat_until=no_eat_until,
        no_water_until=no_water_until,
        on=on,
    )
    face.tell(outcome)
