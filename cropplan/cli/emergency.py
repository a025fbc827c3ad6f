"""First things when the power or the heat fails."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from textwrap import wrap

import click

from cropplan.cli.face import Face
from cropplan.cli.options import OneOf, acts, of_house, on_day
from cropplan.cli.show import Shown, plain, width
from cropplan.cli.words import Command
from cropplan.desk.emergency import EmergencyPage, page
from cropplan.holding.house import Failing
from cropplan.problems import Misuse

_WHAT = OneOf(
    *Failing,
    what="failure",
    instead={
        "heater": "write 'cropplan emergency heat'",
        "frost": "write 'cropplan emergency heat'",
        "power-cut": "write 'cropplan emergency power'",
    },
)


@click.command(cls=Command)
@click.argument("what", required=False, metavar="WHAT")
@click.option("--over", is_flag=True, help="It is past: write it, so that the rounds follow up.")
@of_house
@on_day
@acts
def emergency(face: Face, what: str | None, over: bool, house: str | None, on: date | None) -> None:
    r"""What to do first when the power or the heat fails.

    Afterwards, --over writes that it happened: the rounds then ask for an ammonia test, a low
    first feed and a test of the alarm.

    \b
      cropplan emergency power
      cropplan emergency power --over
    """
    context = click.get_current_context()
    failing = None if what is None else _WHAT(context, context.command.params[0], what)
    if over:
        if failing is None:
            raise Misuse("say what it was: cropplan emergency power --over, or heat --over")
        from cropplan.desk.water import went_without

        face.tell(went_without(face.desk, failing, house=house, on=on))
        return
    pages = [page(one) for one in ([failing] if failing is not None else Failing)]
    face.show(Shown(words=lambda: _told(pages), plain=lambda: [plain(one) for one in pages]))


def _told(pages: list[EmergencyPage]) -> Iterator[str]:
    for number, one in enumerate(pages):
        if number:
            yield ""
        yield f"THE {one.what.value.upper()} IS OUT"
        for step, text in enumerate(one.first, start=1):
            yield from _row(f"{step}. ", text)
        yield f"Once it is back ('cropplan emergency {one.what.value} --over' writes it):"
        for text in one.after:
            yield from _row("-  ", text)
        for caution in one.cautions:
            yield from _row("!  ", caution.text)


def _row(mark: str, text: str) -> list[str]:
    return wrap(text, width(), initial_indent=mark, subsequent_indent=" " * len(mark))
