"""Two-way tasks with a calendar server."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from typing import Any

import click

from cropplan.cli.face import Face
from cropplan.cli.options import looks, whole
from cropplan.cli.show import Shown
from cropplan.cli.words import Command
from cropplan.desk.sync_list import Choice, open_list
from cropplan.desk.syncing import DAYS_AHEAD, Report
from cropplan.desk.syncing import sync as bring_into_step
from cropplan.problems import Misuse, Refusal

#: Work further ahead than this is for the calendar, not for a list to tick.
_FURTHEST = 120


@click.command(cls=Command)
@click.option("--server", metavar="URL", help="The calendar server, the first time.")
@click.option("--user", metavar="NAME", help="Who you are on it, the first time.")
@click.option("--calendar", "name", metavar="NAME", help="The list of tasks there.")
@click.option("--make", is_flag=True, help="Make that list if it is not there.")
@click.option(
    "--days",
    default=str(DAYS_AHEAD),
    show_default=True,
    metavar="N",
    callback=whole,
    help="Days ahead of which the phone shows the work.",
)
@click.option(
    "--bring-back",
    multiple=True,
    metavar="HANDLE",
    help="Show work again that was dismissed on the phone, or ticked there by mistake.",
)
@click.option("--meant", is_flag=True, help="Many tasks vanished or were ticked, and it is right.")
@looks
def sync(face: Face, days: int, bring_back: tuple[str, ...], meant: bool, **said: Any) -> None:
    r"""Keep a list of tasks on a CalDAV server in step with the rounds, both ways.

    What is due shows on the phone; what is ticked there is written here, with its day. The
    first time, name the server; later, 'cropplan calendar sync' alone does it, as often as
    you like:

    \b
      cropplan calendar sync --server https://dav.example/ --user ivy --calendar Work --make

    The password is taken from CROPPLAN_CALDAV_PASSWORD or the keyring, and kept nowhere else.
    A task removed on the phone is asked about, not taken as done. Leaves with 1 when something
    could not be told; all the rest was, and the next run goes on from there.
    """
    if not 1 <= days <= _FURTHEST:
        raise Misuse(f"--days is 1 to {_FURTHEST}, got '{days}'")
    with closing(open_list(face.desk, Choice(**said))) as opened:
        report = bring_into_step(
            face.desk, opened.storage, days=days, meant=meant, bring_back=bring_back
        )
        face.show(
            Shown(
                words=lambda: _words(opened.remarks, report),
                plain=lambda: _plain(opened.remarks, report),
            )
        )
    if report.stopped is not None:
        raise Refusal(report.stopped)
    if report.faults:
        raise Refusal(f"{len(report.faults)} tasks were left as they are, see above")


def _words(remarks: tuple[str, ...], report: Report) -> Iterator[str]:
    yield from remarks
    yield from report.said
    yield f"phone: {report.sent} sent, {report.changed} changed, {report.removed} taken away"
    yield from (f"? {question.text}" for question in report.questions.values())
    yield from (f"! {fault}" for fault in report.faults.values())


def _plain(remarks: tuple[str, ...], report: Report) -> dict[str, Any]:
    return {
        "remarks": list(remarks),
        "said": report.said,
        "sent": report.sent,
        "changed": report.changed,
        "removed": report.removed,
        "questions": [
            {"handle": one.handle, "summary": one.summary, "text": one.text}
            for one in report.questions.values()
        ],
        "faults": list(report.faults.values()),
        "stopped": report.stopped,
    }
