"""Options that many commands share, as decorators; texts become values before the command runs."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from datetime import date
from enum import Enum
from pathlib import Path
from typing import Any, Generic, TypeVar

import click

from cropplan.cli import codes, when
from cropplan.cli.face import Face
from cropplan.cli.show import Json
from cropplan.holding.planting import Stage
from cropplan.problems import Misuse, did_you_mean

F = TypeVar("F", bound=Callable[..., Any])
E = TypeVar("E", bound=Enum)


class OneOf(Generic[E]):
    """Reads one word of a kind; a slip is answered with the word meant.

    instead : words that are none of these, and what to type for them.
    """

    def __init__(self, *members: E, what: str, instead: dict[str, str] | None = None) -> None:
        self._by_word = {str(member.value): member for member in members}
        self._what = what
        self._instead = instead or {}

    @property
    def words(self) -> str:
        """The words there are, for a line of help."""
        *most, last = self._by_word
        return f"{', '.join(most)} or {last}"

    def __call__(self, _: click.Context, __: click.Parameter, value: str | None) -> E | None:
        """The member that a word means. Raises Misuse."""
        if value is None:
            return None
        word = value.strip().casefold().replace("_", "-").replace(" ", "-")
        if word in self._by_word:
            return self._by_word[word]
        if word in self._instead:
            raise Misuse(f"'{value}' is no {self._what}: {self._instead[word]}")
        near = did_you_mean(word, self._by_word) or f"; write {self.words}"
        raise Misuse(f"'{value}' is no {self._what}{near}")


def whole(_: click.Context, __: click.Parameter, value: str | None) -> int | None:
    """Reads a whole number; whether it can be is the desk's to say. Raises Misuse."""
    if value is None:
        return None
    if re.fullmatch(r"[+-]?[0-9]{1,9}", value.strip()) is None:
        raise Misuse(f"'{value}' is no whole number; write such as 4")
    return int(value)


#: Stages that can be seen on a plant; the others are written by acts of their own.
SEEN_STAGE = OneOf(
    Stage.ROOTED,
    Stage.EMERGED,
    Stage.FLOWERING,
    Stage.FRUITING,
    Stage.PICKING,
    Stage.RESTING,
    Stage.SPENT,
    what="stage",
    instead={
        "set-out": "write 'cropplan set-out TAG --in PLACES'",
        "pulled": "write 'cropplan pull TAG'",
        "lost": "write 'cropplan lost TAG N'",
        "struck": "write 'cropplan strike CROP N --from TAG --in PLACE'",
        "sown": "write 'cropplan sow CROP N --in PLACE'",
        "bought-in": "write 'cropplan bring-in CROP N --in PLACE'",
    },
)


def face_of(ctx: click.Context) -> Face:
    """The face that a command works with."""
    face: Face = ctx.obj  # made before any word is read
    return face


def _take_record(ctx: click.Context, _: click.Parameter, value: Path | None) -> None:
    if value is not None:
        face_of(ctx).record = value


def _take_json(ctx: click.Context, _: click.Parameter, value: bool) -> None:
    if value:
        face_of(ctx).out = Json()


def _take_by(ctx: click.Context, _: click.Parameter, value: str | None) -> None:
    if value is not None:
        if not value.strip():
            raise Misuse(f"'{value}' is no name; write who did it")
        face_of(ctx).by = " ".join(value.split())


def on_record(command: F) -> F:
    """--record: which record. Read before all else, since days are those of its house."""
    return click.option(
        "--record",
        type=click.Path(path_type=Path),
        metavar="PATH",
        expose_value=False,
        is_eager=True,
        callback=_take_record,
        help="The record, if not the usual one (or set CROPPLAN_RECORD).",
    )(command)


def as_json(command: F) -> F:
    """--json: one JSON value instead of words."""
    return click.option(
        "--json",
        is_flag=True,
        expose_value=False,
        is_eager=True,
        callback=_take_json,
        help="Print one JSON value: ISO dates, SI units.",
    )(command)


def looks(command: Callable[..., None]) -> Callable[..., None]:
    """A command that shows something: it gets the face, --record and --json."""
    return on_record(as_json(_with_face(command)))


def done_by(*names: str) -> Callable[[F], F]:
    """Who did it."""
    return click.option(
        *names,
        metavar="WHO",
        expose_value=False,
        is_eager=True,
        callback=_take_by,
        help="Who did it.",
    )


def acts(command: Callable[..., None]) -> Callable[..., None]:
    """A command that writes: as `looks`, and --by."""
    return looks(done_by("--by", "--who")(command))


def _with_face(command: Callable[..., None]) -> Callable[..., None]:
    @functools.wraps(command)
    def with_face(*args: Any, **kwargs: Any) -> None:
        command(face_of(click.get_current_context()), *args, **kwargs)

    return with_face


def a_day(
    name: str, *names: str, ahead: bool = False, required: bool = False, say: str
) -> Callable[[F], F]:
    """An option that is a day.

    ahead : `mon` and `3 mar` mean the next such day, not the last.
    """
    way = when.Way.AHEAD if ahead else when.Way.BACK

    def take(ctx: click.Context, _: click.Parameter, value: str | None) -> date | None:
        return None if value is None else when.day_from(value, face_of(ctx).today, way)

    return click.option(name, *names, metavar="DAY", callback=take, required=required, help=say)


on_day = a_day(
    "--on", say="The day it was: 2026-03-04, yesterday, mon, -3, '3 mar'. Today if left."
)

noted = click.option("--note", metavar="TEXT", help="A note to keep with it.")

of_house = click.option("--house", metavar="NAME", help="Which house, where there are several.")


def places(
    *names: str, required: bool = True, say: str = "The places: B1-B6,C1."
) -> Callable[[F], F]:
    """An option that is one or more places."""
    return click.option(
        *names, metavar="PLACES", callback=_take_places, required=required, help=say
    )


def places_argument(name: str) -> Callable[[F], F]:
    """An argument that is one or more places."""
    return click.argument(name, metavar="PLACES", callback=_take_places)


def place(*names: str) -> Callable[[F], F]:
    """An option that is one place."""
    return click.option(
        *names, metavar="PLACE", required=True, callback=_take_place, help="The place, as B3."
    )


def _take_place(ctx: click.Context, _: click.Parameter, value: str) -> str:
    found = _known_places(ctx, value)
    if len(found) != 1:
        raise Misuse(f"'{value}' means {len(found)} places; one is wanted here")
    return found[0]


def _take_places(
    ctx: click.Context, _: click.Parameter, value: str | None
) -> tuple[str, ...] | None:
    return None if value is None else _known_places(ctx, value)


def _known_places(ctx: click.Context, value: str) -> tuple[str, ...]:
    typed = codes.codes_from(value)
    known = face_of(ctx).desk.record.snapshot(living_only=True).places
    return tuple(codes.as_known(typed, known))


def tag_argument(command: F) -> F:
    """The TAG argument: which planting."""
    return click.argument("tag", metavar="TAG", callback=_take_tag)(command)


def _take_tag(ctx: click.Context, _: click.Parameter, value: str | None) -> str | None:
    return None if value is None else known_tag(face_of(ctx), value)


def tag_option(command: F) -> F:
    """--tag: which planting."""
    return click.option("--tag", metavar="TAG", callback=_take_tag, help="The planting.")(command)


def known_tag(face: Face, typed: str) -> str:
    """The tag as the record has it, where only the capitals differ; else as typed."""
    if typed == typed.casefold():
        return typed
    return codes.as_known([typed], face.desk.record.snapshot().plantings)[0]
