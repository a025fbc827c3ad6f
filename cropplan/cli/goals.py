"""What is wanted of the season: so much of a crop each week, from when to when."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import click

from cropplan.cli import amounts
from cropplan.cli.face import Face
from cropplan.cli.options import a_day, acts, looks, whole
from cropplan.cli.show import Shown, plain, table
from cropplan.cli.words import Family
from cropplan.desk import goals
from cropplan.desk.figures import crop_page
from cropplan.desk.goals import GoalRow
from cropplan.desk.terms import day_text


@click.group(cls=Family)
def goal() -> None:
    """Say how much of a crop is wanted each week; the season plan meets it."""


@goal.command("set")
@click.argument("crop", metavar="CROP")
@click.argument("amount", metavar="AMOUNT")
@a_day("first", "--from", ahead=True, required=True, say="The first week wanted.")
@a_day("last", "--to", ahead=True, required=True, say="The last week wanted.")
@click.option(
    "--priority", default="1", metavar="N", callback=whole, help="1 is met first, 9 last; 1."
)
@acts
def set_(face: Face, crop: str, amount: str, first: date, last: date, priority: int) -> None:
    r"""Want so much of a crop each week, in its own unit: 2kg, 4lb, 30.

    It takes the place of the crop's goal before.

    \b
      cropplan goal set tomato 2kg --from 2027-05-01 --to 2027-11-30
    """
    unit = crop_page(face.own_figures, crop).crop.pick_unit
    wanted = amounts.harvest(amount, unit, face.units)
    face.tell(goals.set_goal(face.desk, crop, wanted, first=first, last=last, priority=priority))


@goal.command()
@click.argument("crop", metavar="CROP")
@acts
def drop(face: Face, crop: str) -> None:
    """Aim at a crop no longer."""
    face.tell(goals.drop_goal(face.desk, crop))


@goal.command("list")
@looks
def list_(face: Face) -> None:
    """What is wanted each week."""
    rows = goals.goals(face.desk)
    face.show(Shown(words=lambda: _listed(rows, face), plain=lambda: [plain(r) for r in rows]))


def _listed(rows: list[GoalRow], face: Face) -> Iterator[str]:
    if not rows:
        yield "no goal is set; 'cropplan goal set tomato 2kg --from DATE --to DATE' sets one"
        return
    today = face.today()
    yield from table(
        [
            (
                row.goal.crop,
                f"{row.goal.amount:g} {row.unit}",
                day_text(row.goal.first, today),
                day_text(row.goal.last, today),
                row.goal.priority,
            )
            for row in rows
        ],
        ("crop", "a week", "from", "to", "priority"),
    )
