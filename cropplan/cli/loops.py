"""Water loops and their fish."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import click

from cropplan.cli import amounts
from cropplan.cli.face import Face
from cropplan.cli.loop_sheet import picture, show
from cropplan.cli.options import OneOf, acts, of_house, on_day, whole
from cropplan.cli.water import treat
from cropplan.cli.words import Family
from cropplan.desk import premises
from cropplan.holding.house import Units
from cropplan.holding.loop import FilterKind, Loop, LoopState
from cropplan.problems import Misuse

_STATE = OneOf(*LoopState, what="state of a loop")
_FILTER = OneOf(*FilterKind, what="kind of filter")


@click.group(cls=Family)
def loop() -> None:
    """Water loops and their fish: put in, show, turn to another state."""


def _in_units(face: Face, house: str | None) -> Callable[[], Units]:
    return lambda: face.house(house).units


@loop.command()
@click.argument("name")
@click.option("--volume", required=True, metavar="V", help="All its water: 1200L or 320gal.")
@click.option("--fish", "species", required=True, metavar="SPECIES", help="Such as rainbow-trout.")
@click.option("--count", callback=whole, metavar="N", help="How many fish.")
@click.option("--weight", metavar="W", help="Mean weight of one fish: 250g.")
@click.option("--feed", metavar="W", help="The daily ration: 60g.")
@of_house
@acts
def add(
    face: Face,
    name: str,
    volume: str,
    species: str,
    count: int | None,
    weight: str | None,
    feed: str | None,
    house: str | None,
) -> None:
    r"""Put in a water loop: tank, fish and filter as one body of water.

    \b
      cropplan loop add main --volume 1200L --fish carp --count 40 --feed 60g
    """
    units = _in_units(face, house)
    held = Loop(
        name=name,
        house=face.house(house).name,
        volume_l=amounts.litres(volume, units),
        species=species,
        fish=count,
        weight_g=None if weight is None else amounts.grams(weight, units),
        feed_g=None if feed is None else amounts.grams(feed, units),
    )
    face.tell(premises.add_loop(face.desk, held, house=house))


@loop.command("set")
@click.argument("name")
@click.option("--volume", metavar="V", help="All its water.")
@click.option("--fish", "species", metavar="SPECIES", help="The kind of fish.")
@click.option("--count", callback=whole, metavar="N", help="How many fish.")
@click.option("--weight", metavar="W", help="Mean weight of one fish, as weighed.")
@click.option("--feed", metavar="W", help="The daily ration.")
@click.option("--normal-feed", metavar="W", help="A day's feed at which drains come as usual.")
@click.option("--filter", "kind", callback=_FILTER, metavar="KIND", help=f"{_FILTER.words}.")
@click.option("--filter-holds", metavar="W", help="Dry solids the filter may keep: 400g.")
@click.option("--state", callback=_STATE, metavar="STATE", help="stocked, cycling or fallow.")
@on_day
@acts
def set_(
    face: Face,
    name: str,
    volume: str | None,
    species: str | None,
    count: int | None,
    weight: str | None,
    feed: str | None,
    normal_feed: str | None,
    kind: FilterKind | None,
    filter_holds: str | None,
    state: LoopState | None,
    on: date | None,
) -> None:
    """Put right what is known of a loop: fish counted or weighed, the ration, its state.

    What is not named stays as it is. A fallow loop asks for nothing that needs fish; one that
    is cycling has its water tested daily.
    """
    units = _in_units(face, None)
    settings: dict[str, Any] = {
        "volume_l": None if volume is None else amounts.litres(volume, units),
        "species": species,
        "fish": count,
        "weight_g": None if weight is None else amounts.grams(weight, units),
        "feed_g": None if feed is None else amounts.grams(feed, units),
        "normal_feed_g": None if normal_feed is None else amounts.grams(normal_feed, units),
        "filter_kind": kind,
        "filter_holds_g": None if filter_holds is None else amounts.grams(filter_holds, units),
    }
    given = {key: value for key, value in settings.items() if value is not None}
    if state is not None and given:
        raise Misuse(f"--state {state.value} is written by itself; give the rest in a second go")
    if state is not None:
        face.tell(premises.turn_loop(face.desk, name, state, on=on))
        return
    if not given:
        raise Misuse(f"nothing to put right about '{name}' is named; see --help")
    face.tell(premises.set_loop(face.desk, name, **given, on=on))


loop.add_command(show)
loop.add_command(picture)
loop.add_command(treat)
