"""Beginning plants: struck from plants of the house, sown, or brought in."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from enum import Enum
from typing import Any

import click

from cropplan.cli import when
from cropplan.cli.face import Face
from cropplan.cli.options import (
    OneOf,
    acts,
    done_by,
    face_of,
    known_tag,
    looks,
    noted,
    on_day,
    place,
    places,
    whole,
)
from cropplan.cli.words import Command
from cropplan.desk import beginnings
from cropplan.holding.planting import Origin, Stage
from cropplan.problems import Misuse

_WAY = OneOf(
    Origin.CUTTING,
    Origin.RUNNER,
    Origin.DIVISION,
    Origin.SLIP,
    Origin.LAYER,
    what="way",
    instead={
        "seed": "write 'cropplan sow CROP N --in PLACE'",
        "bought-in": "write 'cropplan bring-in CROP N --in PLACE'",
    },
)
_STAGE = OneOf(
    Stage.ROOTED,
    Stage.EMERGED,
    Stage.SET_OUT,
    Stage.FLOWERING,
    Stage.FRUITING,
    Stage.PICKING,
    Stage.RESTING,
    Stage.SPENT,
    what="stage",
)
_UNKNOWN = "unknown"


class _Bought(Enum):
    """How plants come."""

    PLUG = "plug"
    BARE_ROOT = "bare-root"
    PLANT = "plant"


def _cultivar(command: Callable[..., None]) -> Callable[..., None]:
    name = click.option("--cultivar", metavar="NAME", help="Its kind, such as 'Matina'.")
    new = click.option(
        "--new-cultivar", is_flag=True, help="Yes, another kind than the near name in the record."
    )
    return name(new(command))


_crop = click.argument("crop", metavar="CROP")
_count = click.argument("count", callback=whole, metavar="N")


@click.command(cls=Command)
@_crop
@_count
@click.option(
    "--from",
    "parent",
    metavar="TAG",
    required=True,
    help="The plant they were taken from, or 'unknown'.",
)
@place("--in", "where")
@click.option(
    "--by", "way", callback=_WAY, metavar="WAY", help="cutting, runner, division, slip or layer."
)
@_cultivar
@click.option("--anyway", is_flag=True, help="Take them though the plant is marked not to be.")
@on_day
@noted
@done_by("--who")
@looks
def strike(
    face: Face,
    crop: str,
    count: int,
    parent: str,
    where: str,
    way: Origin | None,
    cultivar: str | None,
    new_cultivar: bool,
    anyway: bool,
    on: date | None,
    note: str | None,
) -> None:
    r"""Begin N plants from a plant of the house.

    They get a tag of their own, to write on the label. The way is the crop's usual one unless
    given with --by; here, who did it is said with --who.

    \b
      cropplan strike tomato 4 --from tom1 --in T1
      cropplan strike strawberry 6 --from str2 --in T1 --by runner
    """
    outcome = beginnings.strike(
        face.desk,
        crop,
        count,
        parent=None if parent.casefold() == _UNKNOWN else known_tag(face, parent),
        place=where,
        way=way,
        cultivar=cultivar,
        new_cultivar=new_cultivar,
        anyway=anyway,
        on=on,
        note=note,
    )
    face.tell(outcome)


@click.command(cls=Command)
@_crop
@_count
@place("--in", "where")
@_cultivar
@on_day
@noted
@acts
def sow(
    face: Face,
    crop: str,
    count: int,
    where: str,
    cultivar: str | None,
    new_cultivar: bool,
    on: date | None,
    note: str | None,
) -> None:
    r"""Begin N plants from seed.

    \b
      cropplan sow lettuce 40 --in T2 --cultivar 'Winter Gem'
    """
    outcome = beginnings.sow(
        face.desk,
        crop,
        count,
        place=where,
        cultivar=cultivar,
        new_cultivar=new_cultivar,
        on=on,
        note=note,
    )
    face.tell(outcome)


def _take_start(
    ctx: click.Context, _: click.Parameter, value: str | None
) -> tuple[date, int] | None:
    return None if value is None else when.about_day(value, face_of(ctx).today)


@click.command("bring-in", cls=Command)
@_crop
@_count
@places("--in", "where", say="Where: B3, or B1-B6 to spread N plants evenly.")
@click.option(
    "--as",
    "bought",
    callback=OneOf(*_Bought, what="way of coming"),
    metavar="KIND",
    help="plug, bare-root or plant; kept as a note.",
)
@click.option(
    "--stage", callback=_STAGE, metavar="STAGE", help="The stage they are in, such as fruiting."
)
@click.option(
    "--started",
    metavar="DAY",
    callback=_take_start,
    help="When they began: a day, or 'about 2025-03'. The day they came if left.",
)
@click.option("--age-unknown", is_flag=True, help="Nobody knows when they began.")
@_cultivar
@on_day
@noted
@acts
def bring_in(
    face: Face,
    crop: str,
    count: int,
    where: tuple[str, ...],
    bought: _Bought | None,
    stage: Stage | None,
    started: tuple[date, int] | None,
    age_unknown: bool,
    note: str | None,
    **kind: Any,
) -> None:
    r"""Put in N plants that were bought, given, or stand in the house already.

    N is how many in all; over several places they are spread evenly, and each place's plants
    get a tag. A house that already stands full is entered so, a row at a time:

    \b
      cropplan bring-in tomato 6 --in B1-B6 --stage fruiting --age-unknown
    """
    if started is not None and age_unknown:
        raise Misuse(f"--age-unknown and --started {started[0]}: give one of the two")
    each, left = divmod(count, len(where))
    if left:
        raise Misuse(
            f"{count} plants cannot be spread evenly over {len(where)} places; "
            "bring them in place by place"
        )
    said = [f"came as {bought.value}" if bought else "", note or ""]
    outcome = beginnings.bring_in(
        face.desk,
        crop,
        each,
        places=where,
        stage=stage,
        started=started[0] if started else None,
        started_give=started[1] if started else 0,
        age_unknown=age_unknown,
        note="; ".join(part for part in said if part) or None,
        **kind,
    )
    face.tell(outcome)
