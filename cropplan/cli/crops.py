"""The catalogue: its crops, the figures they rest on, and the grower's own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from textwrap import wrap
from typing import Any

import click

from cropplan.cli import amounts
from cropplan.cli.face import Face
from cropplan.cli.options import looks
from cropplan.cli.show import Shown, plain, table, width
from cropplan.cli.words import Family
from cropplan.desk import figures, leads
from cropplan.desk.figures import CropPage
from cropplan.desk.leads import LengthNow
from cropplan.desk.terms import Crop, Figure, Trust
from cropplan.problems import BadData

_TRUST = {
    Trust.READ: "read in the source",
    Trust.MEMORY: "from memory, not checked",
    Trust.PRACTICE: "common practice, no source",
    Trust.OWN: "your own figure",
}


@click.group(cls=Family)
def crops() -> None:
    """The catalogue: list, show and check its crops, and set figures of your own."""


@crops.command("list")
@looks
def list_(face: Face) -> None:
    """List the crops of the catalogue, and the words each goes by."""
    known = figures.crops(face.own_figures)
    face.show(
        Shown(
            words=lambda: table(
                [_row(crop) for crop in known], ("crop", "tags", "gives", "begun by", "also called")
            ),
            plain=lambda: [_plain_head(crop) for crop in known],
        )
    )


def _row(crop: Crop) -> tuple[str, ...]:
    ways = ", ".join(way.value for way in crop.ways)
    return crop.id, f"{crop.tag}1…", crop.habit.value, ways, ", ".join(crop.aliases)


def _plain_head(crop: Crop) -> dict[str, Any]:
    whole: dict[str, Any] = plain(crop)
    return {key: value for key, value in whole.items() if key != "values"}


@crops.command()
@click.argument("crop", metavar="CROP")
@looks
def show(face: Face, crop: str) -> None:
    """Show a crop: each figure with its conditions, where it comes from, and how it is known.

    With a record, each length is also given as it would be here, begun today: at the house's
    temperature and light, and as the record has taught.
    """
    page = figures.crop_page(face.own_figures, crop)
    here = leads.lengths_now(face.desk, crop) if face.place.exists() else []
    face.show(
        Shown(
            words=lambda: _told(page, {length.key: length for length in here}),
            plain=lambda: {**plain(page), "here": plain(here)},
        )
    )


def _told(page: CropPage, here: Mapping[str, LengthNow]) -> Iterator[str]:
    crop = page.crop
    yield f"{crop.name} ({crop.id}): {crop.family}, gives {crop.habit.value}"
    rows = [
        ("tags", f"{crop.tag}1, {crop.tag}2…"),
        ("also called", ", ".join(crop.aliases)),
        ("begun by", ", ".join(way.value for way in crop.ways)),
        ("stands in", ", ".join(place.value for place in crop.places)),
        ("flowers", f"{crop.pollination.value}: {crop.pollination_why}"),
        ("picked in", crop.pick_unit),
        ("note", crop.note or ""),
    ]
    for what, text in rows:
        if text:
            yield from _wrapped(text, f"  {what:<12} ")
    for caution in page.cautions.values():
        yield from _wrapped(caution.text, "  caution      ")
    numbers: dict[str, int] = {}
    yield ""
    yield "FIGURES (to set your own: cropplan crops set CROP FIGURE VALUE)"
    for key, figure in crop.values.items():
        number = numbers.setdefault(figure.source, len(numbers) + 1)
        yield from _wrapped(f"{key}: {page.says[key]}", "")
        yield from _wrapped(f"{_amount(figure)}; {_TRUST[figure.trust]} [{number}]", "    ")
        if key in here:
            yield from _wrapped(_here(here[key]), "    ")
        if figure.note:
            yield from _wrapped(figure.note, "    ")
    yield ""
    yield "SOURCES"
    for source, number in numbers.items():
        held = page.sources.get(source)
        cite = source if held is None else f"{source}: {held.cite}"
        yield from _wrapped(cite, f"[{number}] ")


def _here(length: LengthNow) -> str:
    span = f"here, begun today: {length.days} days ({length.low} to {length.high})"
    beyond = "; colder or warmer than was measured, the nearest figure kept"
    return f"{span}{beyond if length.clamped else ''}"


def _amount(figure: Figure) -> str:
    amount = f"{figure.typical:g} {figure.unit}"
    if figure.low is not None or figure.high is not None:
        amount = f"{figure.least:g} to {figure.most:g} {figure.unit}, usually {figure.typical:g}"
    if figure.points:
        told = ", ".join(f"{value:g} at {at:g} °C" for at, value in figure.points)
        amount = f"{amount} (measured: {told})"
    if figure.at:
        amount += f"; {figure.at}"
    elif figure.at_c is not None:
        amount += f"; at {figure.at_c:g} °C"
    if figure.base_c is not None:
        amount += f"; counted above {figure.base_c:g} °C"
    if figure.light_enough is not None:
        amount += f"; slower below {figure.light_enough:g} mol/m² a day of light"
    return amount


def _wrapped(text: str, first: str) -> list[str]:
    return wrap(
        text,
        width(),
        initial_indent=first,
        subsequent_indent=" " * max(len(first), 4),
        break_long_words=False,
        break_on_hyphens=False,
    )


@crops.command()
@click.argument("file", required=False, metavar="[FILE]", type=click.Path(path_type=Path))
@looks
def check(face: Face, file: Path | None) -> None:
    """Check a crop's file, a folder, or the whole catalogue and your own figures.

    Says file and line of all that is wrong, and then leaves with 1.
    """
    problems = figures.check_files(face.own_figures, file)
    face.show(
        Shown(
            words=lambda: [str(problem) for problem in problems] or ["all well"],
            plain=lambda: [plain(problem) for problem in problems],
        )
    )
    if problems:
        what = file or "the catalogue"
        raise BadData(f"{what}: {len(problems)} {'fault' if len(problems) == 1 else 'faults'}")


@crops.command("set")
@click.argument("crop", metavar="CROP")
@click.argument("key", metavar="FIGURE")
@click.argument("value", metavar="VALUE")
@click.option("--unit", metavar="UNIT", help="Where the figure may be in several.")
@click.option("--note", metavar="TEXT", help="A note to keep with it.")
@looks
def set_(face: Face, crop: str, key: str, value: str, unit: str | None, note: str | None) -> None:
    r"""Set a figure of your own over the catalogue's. Dates follow from the next look on.

    It is kept in a file beside the record, which an upgrade never touches.

    \b
      cropplan crops set tomato pick_interval 2 --note "they split otherwise"
    """
    number = amounts.number(value, "8 or 0.5")
    face.tell(figures.set_figure(face.own_figures, crop, key, number, unit=unit, note=note))
