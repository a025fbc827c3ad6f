"""A water loop on one screen, and its past as a picture."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from textwrap import wrap

import click

from cropplan.cli.face import Face
from cropplan.cli.options import looks
from cropplan.cli.rounds_text import plain_list
from cropplan.cli.show import Shown, plain, table, width
from cropplan.cli.words import Command
from cropplan.desk.loop_sheet import LoopSheet, ReadingRow, draw_past, loop_sheet
from cropplan.desk.terms import day_text, mass_text, volume_text, warmth_text
from cropplan.holding.house import Units

_FIRST = 12
#: Open work so many days ahead is shown; the whole of it is in the JSON. [d]
_SOON = 7


@click.command(cls=Command)
@click.argument("name", required=False)
@looks
def show(face: Face, name: str | None) -> None:
    """Show a water loop: feed against plants, filter, last tests, and the open work on it."""
    sheet = loop_sheet(face.desk, name)
    face.show(Shown(words=lambda: _told(sheet), plain=lambda: plain(sheet)))


@click.command(cls=Command)
@click.argument("name", metavar="LOOP")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--days", default=365, show_default=True, metavar="N", help="How far back.")
@looks
def picture(face: Face, name: str, file: Path, days: int) -> None:
    r"""Draw the tests and feeds of a loop over time, as SVG or PNG by the file's ending.

    It is drawn in black and white, with the range to keep shaded.

    \b
      cropplan loop picture main main.svg
    """
    draw_past(face.desk, file, name, days=days)
    plainly = {"file": str(file)}
    face.show(Shown(words=lambda: [f"{file}: the past of {name}"], plain=lambda: plainly))


def _told(sheet: LoopSheet) -> Iterator[str]:
    one, units = sheet.loop, sheet.units
    volume = volume_text(one.volume_l, units)
    yield f"{one.name} · {volume} · {one.state.value} · in {one.house} · {day_text(sheet.on)}"
    if sheet.banner is not None:
        yield from _wrapped(sheet.banner, "! ")
    for what, text in _rows(sheet):
        yield from _wrapped(text, f"{what:<{_FIRST}}")
    if sheet.tests:
        yield ""
        yield from table(
            [_test(row, units, sheet) for row in sheet.tests],
            ("test", "read", "keep to", "on", ""),
        )
    if sheet.not_tested and sheet.tests:
        yield f"not tested: {', '.join(sheet.not_tested)}"
    soon = [line for line in sheet.lines if (line.due - sheet.on).days <= _SOON]
    if soon:
        yield ""
        yield from plain_list(soon, [day_text(line.due)[4:] for line in soon])


def _rows(sheet: LoopSheet) -> Iterator[tuple[str, str]]:
    one, units = sheet.loop, sheet.units
    fish = "" if one.fish is None else f"{one.fish} "
    weight = "" if one.weight_g is None else f", {mass_text(one.weight_g, units)} each"
    weighed = "" if one.weighed_on is None else f" on {day_text(one.weighed_on, sheet.on)}"
    yield "fish", f"{fish}{one.species}{weight}{weighed}"
    if sheet.no_feed is not None:
        yield "ration", f"none: {sheet.no_feed}"
    elif sheet.ration is not None:
        yield "ration", sheet.ration.words(units)
    elif one.feed_g is not None:
        yield "ration", f"{mass_text(one.feed_g, units)} a day, as you set it"
    if one.last_fed is not None:
        by = f" by {one.last_fed_by}" if one.last_fed_by else ""
        yield "last fed", f"{day_text(one.last_fed, sheet.on)}{by}"
    if sheet.balance is not None:
        yield "balance", sheet.balance.words(units, sheet.on)
    if sheet.next_drain is not None:
        why = "" if sheet.drain_why is None else f": {sheet.drain_why}"
        yield "next drain", f"{day_text(sheet.next_drain, sheet.on)}{why}"
    if sheet.top_up is not None:
        yield "top-up", sheet.top_up.words


def _test(row: ReadingRow, units: Units, sheet: LoopSheet) -> tuple[str, str, str, str, str]:
    share = ""
    if row.key == "oxygen" and sheet.oxygen_share is not None:
        share = f" ({sheet.oxygen_share * 100:.0f} %)"
    keep = _keep(row, units)
    name = "pH" if row.key == "ph" else row.key
    return name, _value(row.key, row.value, units) + share, keep, day_text(row.day), row.verdict


def _keep(row: ReadingRow, units: Units) -> str:
    low, high = row.low, row.high
    if low is not None and high is not None:
        return f"{_value(row.key, low, units)} to {_value(row.key, high, units)}"
    if high is not None:
        return f"up to {_value(row.key, high, units)}"
    return "" if low is None else f"{_value(row.key, low, units)} or more"


def _value(key: str, value: float, units: Units) -> str:
    if key == "temperature":
        return warmth_text(value, units)
    if key == "ph":
        return f"{value:g}"
    return f"{value:.2f} mg/L" if key.startswith("un-") else f"{value:g} mg/L"


def _wrapped(text: str, head: str) -> list[str]:
    return wrap(text, width(), initial_indent=head, subsequent_indent=" " * len(head))
