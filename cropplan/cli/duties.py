"""Duties: the grower's own, and their own intervals for the catalogue's."""

from __future__ import annotations

from datetime import date

import click

from cropplan.cli import amounts
from cropplan.cli.face import Face
from cropplan.cli.options import OneOf, a_day, acts, looks, of_house, tag_option
from cropplan.cli.show import Shown, plain, table
from cropplan.cli.words import Family
from cropplan.desk import duties
from cropplan.desk.duties import KnownDuty
from cropplan.holding.task import Keeps, Part
from cropplan.problems import Misuse


@click.group(cls=Family)
def duty() -> None:
    """Duties: add your own, list them, set intervals, stop them."""


@duty.command()
@click.argument("text", metavar="TEXT")
@click.option("--every", metavar="DAYS", help="Every so often after it was done: 14d or 2w.")
@click.option("--rule", metavar="RRULE", help="On fixed days: FREQ=WEEKLY;BYDAY=MO (RFC 5545).")
@a_day("--begins", ahead=True, say="The first day it may fall due. Today if left.")
@click.option("--place", "place", metavar="PLACE", help="About this place.")
@click.option("--loop", metavar="NAME", help="About this water.")
@tag_option
@of_house
@click.option("--stays/--lapses", "stays", default=True, help="A missed turn is kept, or is gone.")
@click.option(
    "--part",
    default=Part.ANY.value,
    show_default=True,
    metavar="PART",
    callback=OneOf(*Part, what="part of the day"),
    help="morning, midday, evening or any.",
)
@click.option("--minutes", default="5", show_default=True, metavar="MIN", help="How long it takes.")
@acts
def add(
    face: Face,
    text: str,
    every: str | None,
    rule: str | None,
    begins: date | None,
    place: str | None,
    loop: str | None,
    tag: str | None,
    house: str | None,
    stays: bool,
    part: Part,
    minutes: str,
) -> None:
    r"""Add a duty of your own: every so often, or on the fixed days of a rule.

    \b
      cropplan duty add "wipe the lamps" --every 30d
      cropplan duty add "bins out" --rule "FREQ=WEEKLY;BYDAY=TH" --lapses --part evening
    """
    outcome = duties.add_duty(
        face.desk,
        text,
        every_days=None if every is None else amounts.whole_days(every),
        rule=rule,
        begins=begins,
        place=place,
        loop=loop,
        tag=tag,
        house=house,
        keeps=Keeps.STAYS if stays else Keeps.LAPSES,
        part=part,
        minutes=amounts.minutes(minutes),
    )
    face.tell(outcome)


@duty.command("list")
@looks
def list_(face: Face) -> None:
    """List every duty, how often it comes, and whether you stopped it."""
    listed = duties.duties(face.desk)
    face.show(
        Shown(
            words=lambda: table([_row(one) for one in listed], ("duty", "code", "job", "every")),
            plain=lambda: [plain(one) for one in listed],
        )
    )


def _row(one: KnownDuty) -> tuple[str, ...]:
    return one.id, one.code, one.job, "stopped" if one.stopped else one.every


@duty.command("set")
@click.argument("duty", metavar="DUTY")
@click.option("--every", metavar="DAYS", help="Your own interval: 14d or 2w.")
@click.option("--as-catalogue", is_flag=True, help="Back to the catalogue's interval.")
@acts
def set_(face: Face, duty: str, every: str | None, as_catalogue: bool) -> None:
    """Keep another interval than the catalogue's, or go back to it. DUTY as 'duty list' names it.

    A duty that was stopped is taken up again.
    """
    if (every is None) == (not as_catalogue):
        raise Misuse(f"say how often '{duty}' comes: --every DAYS, or --as-catalogue")
    days = None if every is None else amounts.whole_days(every)
    face.tell(duties.set_duty(face.desk, duty, every_days=days))


@duty.command()
@click.argument("duty", metavar="DUTY")
@acts
def stop(face: Face, duty: str) -> None:
    """Ask no more for a duty."""
    face.tell(duties.stop_duty(face.desk, duty))
