"""The season ahead: the last day to begin for a wanted pick, and what can be begun today."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import click

from cropplan.cli import planning
from cropplan.cli.face import Face
from cropplan.cli.options import a_day, looks, on_day, whole
from cropplan.cli.show import Shown, plain, table, width
from cropplan.cli.words import Family
from cropplan.desk import leads
from cropplan.desk.leads import Backward, Startable
from cropplan.desk.terms import day_text, span_text
from cropplan.desk.terms_ahead import ExpectedWeek
from cropplan.problems import Misuse


@click.group(cls=Family)
def season() -> None:
    """Look ahead: plan the cuttings, count back from a wanted pick, see what can be begun."""


season.add_command(planning.plan)
season.add_command(planning.accept)
season.add_command(planning.show)
season.add_command(planning.picture)


@season.command()
@click.argument("crop", metavar="CROP")
@a_day("pick", "--pick", ahead=True, required=True, say="The day of the wanted first pick.")
@looks
def backward(face: Face, crop: str, pick: date) -> None:
    r"""The last day to begin a crop so that it is first picked on a day.

    Counted back through the stage lengths of that time of year, in this house.

    \b
      cropplan season backward tomato --pick 2027-05-01
    """
    told = leads.backward(face.desk, crop, pick)
    face.show(Shown(words=lambda: _back(told, face.today()), plain=lambda: plain(told)))


def _back(told: Backward, today: date) -> Iterator[str]:
    yield f"{told.crop}, first pick on {day_text(told.pick, today)}"
    rows = [
        (
            lead.way.value,
            day_text(lead.safe_by, today),
            day_text(lead.begin_by, today) + (" (gone)" if lead.too_late else ""),
            lead.to_begin,
        )
        for lead in told.leads
    ]
    if not rows:
        yield "the catalogue does not know all the stages on the way"
        return
    yield from table(rows, ("by", "safe until", "last day", "for one plant begin"))
    yield from _light(told.light_then, told.light_wanted)


def _light(then: float, wanted: float | None) -> Iterator[str]:
    if wanted is not None and then < wanted:
        yield (
            f"light then: {then:.0f} mol/m² a day, the crop wants {wanted:.0f}: "
            "expect a thin pick without lamps"
        )


@season.command()
@on_day
@looks
def today(face: Face, on: date | None) -> None:
    """What can be begun today, and when it would first be picked."""
    rows = leads.startable_today(face.desk, on=on)
    day = on or face.today()
    face.show(
        Shown(words=lambda: _startable(rows, day), plain=lambda: [plain(row) for row in rows])
    )


def _startable(rows: list[Startable], today: date) -> Iterator[str]:
    if not rows:
        yield "no crop stands in the house yet; 'cropplan crops list' shows what there is"
        return
    heads = ("crop", "by", "first pick", "eight in ten", "light then")
    yield from table([_row(row, today) for row in rows], heads)
    yield ""
    yield "'thin': less light at the pick than the crop wants."


def _row(row: Startable, today: date) -> tuple[str, ...]:
    thin = row.light_wanted is not None and row.light_then < row.light_wanted
    light = f"{row.light_then:.0f} mol/m²{' thin' if thin else ''}"
    span = span_text(row.earliest, row.latest)
    return row.crop, row.way.value, day_text(row.first_pick, today), span, light


@season.command()
@click.option("--weeks", default="8", metavar="N", callback=whole, help="How many weeks; 8.")
@on_day
@looks
def picks(face: Face, weeks: int, on: date | None) -> None:
    """What the plants that stand should give in the weeks to come, eight times in ten."""
    if not 1 <= weeks <= 104:
        raise Misuse(f"weeks are 1 to 104, got {weeks}")
    rows = leads.expected_picks(face.desk, weeks=weeks, on=on)
    face.show(Shown(words=lambda: _picks(rows), plain=lambda: [plain(row) for row in rows]))


def _picks(rows: list[ExpectedWeek]) -> Iterator[str]:
    if not rows:
        yield "nothing that stands will bear in those weeks"
        return
    crops = list(dict.fromkeys((row.crop, row.unit) for row in rows))
    by_week: dict[date, dict[str, ExpectedWeek]] = {}
    for row in sorted(rows, key=lambda row: row.week):
        by_week.setdefault(row.week, {})[row.crop] = row
    fits = max(1, (width() - 9) // 18)
    for start in range(0, len(crops), fits):
        some = crops[start : start + fits]
        yield from table(
            [
                [f"{week.day:>2} {week:%b}", *(_pick(found.get(crop)) for crop, _ in some)]
                for week, found in by_week.items()
            ],
            ("week of", *(f"{crop} {unit}" for crop, unit in some)),
        )
        yield ""
    yield "From the plants that stand now; nothing struck later is counted."


def _pick(row: ExpectedWeek | None) -> str:
    return "" if row is None else f"{row.pick.low:g}–{row.pick.high:g}"
