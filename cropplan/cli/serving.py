"""Serving the calendar and the phone's page, and the keys that open them."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from cropplan.cli.face import Face
from cropplan.cli.options import OneOf, face_of, looks, of_house, on_record, whole
from cropplan.cli.show import Shown, in_colour, plain, table, write_lines
from cropplan.cli.words import Command, Family
from cropplan.desk import keys
from cropplan.desk.keys import Key, KeyKind, NewKey
from cropplan.problems import Misuse, Refusal

#: As in `serve.run`, which is too heavy to load for a line of help.
_USUAL_PORT = 8427
_SHOWS = {
    KeyKind.FEED: "a calendar to read",
    KeyKind.PHONE: "the page: look and tick",
    KeyKind.NEIGHBOUR: "what must go on while away",
}


@click.command(cls=Command)
@click.option("--lan", is_flag=True, help="Let other devices on this network reach it.")
@click.option("--host", metavar="ADDRESS", help="Listen at this address of the computer.")
@click.option(
    "--port",
    default=str(_USUAL_PORT),
    show_default=True,
    metavar="N",
    callback=whole,
    help="Listen at this port.",
)
@click.option(
    "--name",
    "names",
    multiple=True,
    metavar="NAME[:PORT]",
    help="A further name it is reached by; printed for new keys.",
)
@click.option("--cert", type=click.Path(path_type=Path), metavar="FILE", help="TLS certificate.")
@click.option(
    "--private-key", type=click.Path(path_type=Path), metavar="FILE", help="Its private key."
)
@on_record
@click.pass_context
def serve(ctx: click.Context, /, **options: Any) -> None:
    r"""Serve the calendar and the phone's page, until stopped with Ctrl-C.

    Only this computer can reach it unless --lan is given. Each device needs a key:

    \b
      cropplan calendar serve --lan --cert house.pem --private-key house.key
      cropplan calendar key new "Ines phone" --kind phone
    """
    face = face_of(ctx)
    if not 1 <= options["port"] <= 65535:
        raise Misuse(f"--port is 1 to 65535, got '{options['port']}'")
    from cropplan.serve.run import place
    from cropplan.serve.run import serve as run

    where = place(**options)
    # Opened here once, so that what is wrong with the record is told before anything is served.
    path = face.desk.record.path
    face.close()

    from cropplan.desk.desk import open_desk

    run(
        lambda: open_desk(path, clock=face.clock),
        where,
        clock=face.clock,
        say=_say,
    )


def _say(line: str) -> None:
    write_lines([line])
    sys.stdout.flush()


@click.group(cls=Family)
def key() -> None:
    """Keys: one for each device, to read the calendar or to tick on the page."""


@key.command()
@click.argument("label", metavar="LABEL")
@click.option(
    "--kind",
    default=KeyKind.FEED.value,
    show_default=True,
    metavar="KIND",
    callback=OneOf(*KeyKind, what="kind of key"),
    help="feed: a calendar to read; phone: the page, can tick; neighbour: a time away's errands.",
)
@of_house
@click.option(
    "--only",
    "works",
    multiple=True,
    metavar="WORK",
    help="A feed of this kind of work only, such as cuttings; may be given again.",
)
@click.option("--at", metavar="ADDRESS", help="Where the server is reached, if not where last.")
@click.option(
    "--svg",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Also write the QR code as a picture to print.",
)
@looks
def new(
    face: Face,
    label: str,
    kind: KeyKind,
    house: str | None,
    works: tuple[str, ...],
    at: str | None,
    svg: Path | None,
) -> None:
    r"""Make a key for one device, and show its addresses with a QR code each.

    The addresses hold the key and are shown only now. A feed's first code is for Apple devices
    (webcal), its second for all others.

    \b
      cropplan calendar key new "kitchen wall"
      cropplan calendar key new "Ines phone" --kind phone --svg ines.svg
    """
    split = tuple(part for word in works for part in word.split(",") if part.strip())
    if svg is not None and not svg.parent.is_dir():
        raise Refusal(f"cannot write '{svg}': there is no such folder; no key was made")
    made = keys.new_key(face.desk, label, kind, house=house, works=split, at=at)
    files = _pictures(made, svg)
    face.show(
        Shown(
            words=lambda: _told(made, files),
            plain=lambda: {
                "key": plain(made.key),
                "addresses": {one.short: one.url for one in made.addresses},
                "files": [str(file) for file in files],
            },
        )
    )


def _pictures(made: NewKey, svg: Path | None) -> list[Path]:
    if svg is None:
        return []
    from cropplan.serve.qr import write_svg

    several = len(made.addresses) > 1
    files = []
    for one in made.addresses:
        file = svg.with_name(f"{svg.stem}-{one.short}{svg.suffix}") if several else svg
        try:
            write_svg(one.url, file)
        except OSError as fault:
            raise Refusal(
                f"cannot write '{file}': {fault.strerror}; the key '{made.key.label}' is made, "
                "revoke it and make another"
            ) from fault
        files.append(file)
    return files


def _told(made: NewKey, files: list[Path]) -> Iterator[str]:
    from cropplan.serve.qr import terminal

    yield f"{made.key.label}: {_shows(made.key)}"
    for one in made.addresses:
        yield ""
        yield f"{one.use}:"
        yield one.url
        yield from (_dark_on_light(line) for line in terminal(one.url).splitlines())
    yield ""
    if any(map(keys.is_here_only, made.addresses)):
        yield (
            "Only this computer can reach this address; a phone needs 'cropplan calendar serve "
            "--lan' running first, or --at ADDRESS here."
        )
    elif made.key.kind is KeyKind.FEED:
        yield (
            "Calendars kept by Google or Outlook.com are fetched by their own machines, which "
            "cannot reach a house's network; the phone's own calendar can, at home."
        )
    yield "Whoever has the address has the key. It is kept nowhere and not shown again."
    yield from (f"The code as a picture: {file}" for file in files)


def _dark_on_light(line: str) -> str:
    """A row of a code that shows right on a light terminal too, where colours may be used."""
    return click.style(line, fg="bright_white", bg="black") if in_colour() else line


def _shows(one: Key) -> str:
    words = _SHOWS[one.kind]
    if one.works:
        words = f"{words}: {', '.join(one.works)}"
    if one.first is not None and one.last is not None:
        words = f"{words}, {one.first} to {one.last}"
    return f"{words}, {one.house}" if one.house else words


@key.command(name="list")
@looks
def list_keys(face: Face) -> None:
    """List the keys: whose, what they open, when last used. The keys themselves are not kept."""
    found = keys.keys(face.desk)

    def words() -> Iterator[str]:
        rows = [
            (one.label, _shows(one), one.made, one.used or "never", one.revoked or "")
            for one in found
        ]
        yield from table(rows, ("key", "opens", "made", "last used", "revoked")) or [
            "No key yet; make one with 'cropplan calendar key new LABEL'."
        ]

    face.show(Shown(words=words, plain=lambda: plain(found)))


@key.command()
@click.argument("label", metavar="LABEL")
@looks
def revoke(face: Face, label: str) -> None:
    """Take a key back. From this moment it opens nothing, on a running server too."""
    taken = keys.revoke(face.desk, label)
    face.show(
        Shown(
            words=lambda: [f"{taken.label}: opens nothing any more"],
            plain=lambda: {"revoked": taken.label},
        )
    )
