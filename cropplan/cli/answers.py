"""Answers to the lines of the rounds: done, skipped, put off."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import click

from cropplan.cli import when
from cropplan.cli.codes import codes_from
from cropplan.cli.face import Face
from cropplan.cli.options import a_day, acts, face_of, noted
from cropplan.cli.words import Command
from cropplan.desk import answers
from cropplan.desk.answers import Answer
from cropplan.problems import Misuse


def _take_days(
    ctx: click.Context, _: click.Parameter, values: tuple[str, ...]
) -> list[date] | None:
    return when.days_from(values, face_of(ctx).today) if values else None


def _take_some(_: click.Context, __: click.Parameter, value: str | None) -> tuple[str, ...]:
    return () if value is None else tuple(codes_from(value))


def _narrowed(command: Callable[..., None]) -> Callable[..., None]:
    only = click.option(
        "--only",
        metavar="PLACES",
        callback=_take_some,
        help="Only these of the line's places, or the tags that stand there.",
    )
    but = click.option(
        "--except",
        "but",
        metavar="PLACES",
        callback=_take_some,
        help="All of the line's places but these.",
    )
    return only(but(command))


_handles = click.argument("handles", nargs=-1, required=True, metavar="HANDLES...")


def _answer(handles: tuple[str, ...], only: tuple[str, ...], but: tuple[str, ...]) -> Answer:
    if only and but:
        raise Misuse(f"--only {','.join(only)} and --except {','.join(but)}: give one of the two")
    split = [part for handle in handles for part in handle.split(",") if part]
    return Answer(handles=tuple(split), only=only, but=but)


@click.command(cls=Command)
@_handles
@_narrowed
@click.option(
    "--on",
    multiple=True,
    metavar="DAY",
    callback=_take_days,
    help="The day it was done; several as 2026-03-03..2026-03-12 or mon,wed. Today if left.",
)
@noted
@acts
def done(
    face: Face,
    handles: tuple[str, ...],
    only: tuple[str, ...],
    but: tuple[str, ...],
    on: list[date] | None,
    note: str | None,
) -> None:
    r"""Tick lines of the rounds, by handle.

    Ticks what is late or due; when nothing is, the nearest turn to come. The answer names the
    places it ticked. A neighbour's sheet is copied in one go, one entry a day:

    \b
      cropplan done fi-main pm-main --on 2026-03-03..2026-03-12 --by Ines
    """
    answer = _answer(handles, only, but)
    face.tell(answers.done_on_days(face.desk, answer, on, note=note))


@click.command(cls=Command)
@_handles
@_narrowed
@click.option("--why", required=True, metavar="TEXT", help="Why not: too damp, no time…")
@click.option(
    "--not-needed",
    is_flag=True,
    help="It was looked at and found not needed; counts as done for the next turn.",
)
@a_day("--on", say="The day. Today if left.")
@acts
def skip(face: Face, handles: tuple[str, ...], why: str, **rest: Any) -> None:
    """Answer lines that were not done, with the reason.

    The work stays undone, so it is asked again before long. What was looked at and needs
    nothing is answered with --not-needed and waits its full interval.
    """
    answer = _answer(handles, rest["only"], rest["but"])
    if not why.strip():
        raise Misuse("--why is blank; say in a word why it was not done")
    outcome = answers.skip(face.desk, answer, why=why, not_needed=rest["not_needed"], on=rest["on"])
    face.tell(outcome)


@click.command(cls=Command)
@_handles
@_narrowed
@a_day("--to", ahead=True, required=True, say="The day to put it off to: 2026-03-06, sat, +2.")
@acts
def later(
    face: Face, handles: tuple[str, ...], only: tuple[str, ...], but: tuple[str, ...], to: date
) -> None:
    """Put lines off to a later day. They keep their place on the phone."""
    face.tell(answers.put_off(face.desk, _answer(handles, only, but), to=to))
