"""Plants as they grow: stages seen, setting out, moves, losses, ends and harvests."""

from __future__ import annotations

from datetime import date

import click

from cropplan.cli import amounts
from cropplan.cli.face import Face
from cropplan.cli.labels import planting_labels
from cropplan.cli.options import (
    SEEN_STAGE,
    acts,
    looks,
    noted,
    on_day,
    place,
    places,
    tag_argument,
    whole,
)
from cropplan.cli.planting_text import life_told, planting_row
from cropplan.cli.show import Shown, plain, table
from cropplan.cli.words import Command, Family
from cropplan.desk import look, plantings
from cropplan.holding.planting import Stage
from cropplan.problems import Misuse

_why = click.option("--why", metavar="TEXT", help="Why, in a word or two.")


@click.command(cls=Command)
@tag_argument
@click.argument("stage", metavar="STAGE", callback=SEEN_STAGE)
@click.argument("count", metavar="[N]", required=False, callback=whole)
@on_day
@noted
@acts
def seen(
    face: Face, tag: str, stage: Stage, count: int | None, on: date | None, note: str | None
) -> None:
    r"""A stage was seen on a planting, or on N of its plants.

    STAGE is rooted, emerged, flowering, fruiting, picking, resting or spent. What was seen
    takes the place of what was reckoned, and all later dates follow.

    \b
      cropplan seen tom7 rooted 9
      cropplan seen tom7 flowering --on yesterday
    """
    face.tell(plantings.seen(face.desk, tag, stage, count=count, on=on, note=note))


@click.command("set-out", cls=Command)
@tag_argument
@click.argument("count", metavar="[N]", required=False, callback=whole)
@places("--in", "where", say="Where to: B1-B6,C1.")
@click.option("--anyway", is_flag=True, help="Though a diseased crop was pulled there.")
@on_day
@noted
@acts
def set_out(
    face: Face,
    tag: str,
    count: int | None,
    where: tuple[str, ...],
    anyway: bool,
    on: date | None,
    note: str | None,
) -> None:
    r"""Set plants out in their places; part of a tray may go and the rest stays.

    Without N, as many go as the places have room for. Each place's plants get a tag.

    \b
      cropplan set-out tom7 --in B3
      cropplan set-out let2 12 --in H1-H12
    """
    outcome = plantings.set_out(
        face.desk, tag, places=where, count=count, anyway=anyway, on=on, note=note
    )
    face.tell(outcome)


@click.command(cls=Command)
@tag_argument
@place("--in", "where")
@on_day
@acts
def move(face: Face, tag: str, where: str, on: date | None) -> None:
    """Move a whole planting to another place.

    Part of it goes with 'cropplan set-out TAG N --in PLACE'.
    """
    face.tell(plantings.move(face.desk, tag, place=where, on=on))


@click.command(cls=Command)
@tag_argument
@click.argument("count", metavar="N", callback=whole)
@_why
@on_day
@acts
def lost(face: Face, tag: str, count: int, why: str | None, on: date | None) -> None:
    """N plants died, failed, or were given away or sold.

    --why given or --why sold says that they left alive; all else counts as a loss, and teaches
    how many to strike next time.
    """
    face.tell(plantings.lost(face.desk, tag, count, why=why, on=on))


@click.command(cls=Command)
@tag_argument
@_why
@on_day
@acts
def pull(face: Face, tag: str, why: str | None, on: date | None) -> None:
    """Clear a planting from its place.

    --why disease keeps the place from being planted until it is renewed or disinfected.
    """
    face.tell(plantings.pull(face.desk, tag, why=why, on=on))


@click.command(cls=Command)
@tag_argument
@click.argument("amount", metavar="[AMOUNT]", required=False)
@on_day
@noted
@acts
def pick(face: Face, tag: str, amount: str | None, on: date | None, note: str | None) -> None:
    r"""Write a harvest; leave the amount out if it was not weighed.

    Crops that are weighed take 450g, 1.2kg or 1lb; those that are counted, a number. Heads cut
    whole leave the count: all of them, or the number given.

    \b
      cropplan pick tom3 1.4kg
    """
    read = None
    if amount is not None:
        unit = plantings.pick_unit(face.desk, tag)
        read = amounts.harvest(amount, unit, face.units)
    face.tell(plantings.pick(face.desk, tag, amount=read, on=on, note=note))


@click.group(cls=Family)
def planting() -> None:
    """What stands in the house, and the life of one planting."""


@planting.command("list")
@click.option("--all", "ended", is_flag=True, help="Those that ended, too.")
@looks
def list_(face: Face, ended: bool) -> None:
    """List the plantings that stand in the house, by crop."""
    listed = look.plantings(face.desk, all_of_them=ended)
    face.show(
        Shown(
            words=lambda: (
                table(
                    [planting_row(one) for one in listed],
                    ("tag", "crop", "plants", "place", "stage", "since", "from"),
                )
                or ["Nothing stands here yet; begin with strike, sow or bring-in."]
            ),
            plain=lambda: [plain(one) for one in listed],
        )
    )


@planting.command()
@tag_argument
@looks
def show(face: Face, tag: str) -> None:
    """Show a planting's life: what was seen, what is expected, its parent and kin."""
    life = look.life_of(face.desk, tag)
    face.show(Shown(words=lambda: life_told(life), plain=lambda: plain(life)))


@click.command(cls=Command)
@tag_argument
@click.argument("cultivar", metavar="CULTIVAR")
@click.option("--chain", is_flag=True, help="All of its clone: parents, sisters and cuttings.")
@click.option(
    "--new-cultivar", is_flag=True, help="Yes, another kind than the near name in the record."
)
@acts
def name(face: Face, tag: str, cultivar: str, chain: bool, new_cultivar: bool) -> None:
    """Put right what kind a planting is."""
    if not cultivar.strip():
        raise Misuse(f"'{cultivar}' is no name of a kind; write such as 'Matina'")
    outcome = plantings.rename(face.desk, tag, cultivar, chain=chain, new_cultivar=new_cultivar)
    face.tell(outcome)


@click.command(cls=Command)
@tag_argument
@click.option("--mother/--no-mother", default=None, help="Take cuttings from it, or not by choice.")
@click.option("--bar", metavar="WHY", help="Take no cuttings from it: virus, protected variety…")
@click.option("--unbar", is_flag=True, help="Cuttings may be taken again.")
@click.option("--insects/--by-hand", default=None, help="Who sees to its flowers.")
@acts
def mark(
    face: Face, tag: str, mother: bool | None, bar: str | None, unbar: bool, insects: bool | None
) -> None:
    """Choose a planting as a mother, bar it from being one, or leave its flowers to insects."""
    if mother is None and bar is None and not unbar and insects is None:
        raise Misuse(f"nothing to mark on '{tag}' is named: --mother, --bar WHY or --insects")
    if bar is not None and (unbar or not bar.strip()):
        raise Misuse(f"--bar '{bar}' wants a reason, and not --unbar as well")
    barred = "" if unbar else bar
    outcome = plantings.mark(face.desk, tag, mother=mother, barred_why=barred, by_insects=insects)
    face.tell(outcome)


planting.add_command(planting_labels)
