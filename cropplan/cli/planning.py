"""The season plan at the terminal: propose, accept, show."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from types import FrameType
from typing import Any

import click

from cropplan.cli.face import Face
from cropplan.cli.options import acts, looks, on_day, whole
from cropplan.cli.show import Shown, plain, table, width
from cropplan.cli.words import Command
from cropplan.desk import season
from cropplan.desk.season import Proposal
from cropplan.desk.terms import day_text, list_text
from cropplan.holding.season import PlannedStrike, PlannedWeek, SeasonPlan

#: Below this share of the goal a week is thin, above the other it is a glut.
THIN, GLUT = 0.9, 1.3
_BAR = 8


@click.command(cls=Command)
@click.option("--weeks", default="52", metavar="N", callback=whole, help="How far ahead; 52.")
@click.option(
    "--seconds", default="20", metavar="S", callback=whole, help="How long to search; 20."
)
@looks
def plan(face: Face, weeks: int, seconds: int) -> None:
    r"""Plan the cuttings and sowings of the season, so that the goals are met.

    The proposal is kept until 'cropplan season accept' puts it in force. Ctrl-C ends the search
    with the best so far.

    \b
      cropplan season plan --weeks 40
    """
    with _stopping() as stop, _telling() as tell:
        told = season.propose(
            face.desk, weeks=weeks, seconds=float(seconds), progress=tell, stop=stop
        )
    face.show(Shown(words=lambda: _proposed(told, face.today()), plain=lambda: _plain(told)))


@click.command(cls=Command)
@acts
def accept(face: Face) -> None:
    """Put the proposal in force: its strikes go into the rounds and the calendar."""
    face.tell(season.accept(face.desk))


@click.command(cls=Command)
@click.option("--weeks", default="26", metavar="N", callback=whole, help="How many weeks; 26.")
@on_day
@looks
def show(face: Face, weeks: int, on: date | None) -> None:
    """The plan in force, or the proposal: strikes to come, and each week against its goal."""
    shown, units, in_force = season.plan_in_force(face.desk)
    face.show(
        Shown(
            words=lambda: _shown(shown, units, on or face.today(), weeks, in_force=in_force),
            plain=lambda: {**_plan_plain(shown), "in_force": in_force},
        )
    )


@click.command(cls=Command)
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@looks
def picture(face: Face, file: Path) -> None:
    r"""Draw the plan: places and what stands in them, picks against goals, day length and light.

    \b
      cropplan season picture season.svg
    """
    from cropplan.desk.pictures import season_picture

    face.tell(season_picture(face.desk, file))


@contextmanager
def _stopping() -> Iterator[Any]:
    """While it lasts, Ctrl-C asks the search to end instead of ending the program."""
    asked = False

    def ask(_: int, __: FrameType | None) -> None:
        nonlocal asked
        asked = True

    before = signal.signal(signal.SIGINT, ask)
    try:
        yield lambda: asked
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _telling() -> Iterator[Any]:
    """Tells on standard error how far the search has come, where somebody watches."""
    watched = sys.stderr.isatty()

    def tell(progress: Any) -> None:
        if watched:
            open_ = progress.cost - progress.bound
            sys.stderr.write(f"\rmissing {progress.cost:.2f}, at most {open_:.2f} could be saved ")
            sys.stderr.flush()

    yield tell
    if watched:
        sys.stderr.write("\n")


def _proposed(told: Proposal, today: date) -> Iterator[str]:
    plan_ = told.plan
    yield (
        f"{day_text(plan_.made, today)} to {day_text(plan_.until, today)}: {told.status}; "
        f"{1 - told.shortfall:.0%} of what is wanted"
    )
    yield f"a better plan could add {told.gap:.1%} of it at most"
    yield ""
    yield from _strikes(plan_.strikes, today)
    yield from _ends(plan_, today)
    yield from _thin(told, today)
    if told.changed:
        yield ""
        yield "CHANGES TO THE PLAN IN FORCE"
        yield from (f"  {line}" for line in told.changed)
    yield ""
    yield "'cropplan season show' has it week by week; 'cropplan season accept' puts it in force."


def _strikes(strikes: tuple[PlannedStrike, ...], today: date) -> Iterator[str]:
    if not strikes:
        yield "nothing new to begin"
        return
    rows = [
        (
            day_text(strike.on, today),
            f"{strike.count} {strike.crop} ({strike.way.value})",
            list_text(strike.mothers, most=2),
            list_text(strike.places, most=3),
            day_text(strike.first_pick, today),
        )
        for strike in strikes
    ]
    yield from table(rows, ("begin", "what", "from", "goes to", "first pick"))


def _ends(plan_: SeasonPlan, today: date) -> Iterator[str]:
    for end in plan_.ends:
        yield f"pull {end.tag} early, on {day_text(end.on, today)}"


def _thin(told: Proposal, today: date) -> Iterator[str]:
    if told.thin:
        yield ""
        yield "WEEKS THAT STAY THIN, AND WHAT WOULD HELP (cheapest first)"
    for run in told.thin:
        first = told.monday + timedelta(weeks=run.from_week)
        last = told.monday + timedelta(weeks=run.until_week, days=-1)
        unit = told.units.get(run.goal, "")
        yield (
            f"  {run.goal}, {day_text(first, today)} to {day_text(last, today)}: "
            f"{run.missing:.2g} {unit} missing"
        )
        for reason in run.reasons:
            number = f" ({reason.number} {reason.subject})" if reason.number > 1 else ""
            yield (
                f"    {reason.cause.value}: {reason.remedy.value}{number}, "
                f"worth {reason.closes:.2g} {unit}"
            )


def _shown(
    plan_: SeasonPlan, units: Mapping[str, str], today: date, weeks: int, *, in_force: bool
) -> Iterator[str]:
    state = "in force" if in_force else "proposed, not accepted yet"
    yield f"season plan of {day_text(plan_.made, today)} to {day_text(plan_.until, today)}, {state}"
    yield ""
    coming = tuple(strike for strike in plan_.strikes if strike.on >= today)
    yield from _strikes(coming[:12], today)
    if len(coming) > 12:
        yield f"and {len(coming) - 12} more; --json has them all"
    yield ""
    crops = list(dict.fromkeys(week.crop for week in plan_.weeks))
    by_week: dict[date, dict[str, PlannedWeek]] = {}
    for week in plan_.weeks:
        if week.week >= today - timedelta(days=6):
            by_week.setdefault(week.week, {})[week.crop] = week
    listed = sorted(by_week.items())[:weeks]
    fits = max(1, (width() - 8) // 18)
    for start in range(0, len(crops), fits):
        some = crops[start : start + fits]
        heads = ("week", *(f"{crop} {units.get(crop, '')}" for crop in some))
        yield from table(
            [
                (f"{day.day:>2} {day:%b}", *(_cell(found.get(crop)) for crop in some))
                for day, found in listed
            ],
            heads,
        )
        yield ""
    yield "thin: under 90 % of what is wanted; glut: over 130 %; each # is an eighth of it."


def _cell(week: PlannedWeek | None) -> str:
    if week is None or week.goal <= 0:
        return ""
    share = week.expected / week.goal
    word = "thin" if share < THIN else "glut" if share > GLUT else "met"
    bar = "#" * min(_BAR, round(share * _BAR))
    return f"{week.expected:>4.2g} {bar:<{_BAR}} {word}"


def _plain(told: Proposal) -> dict[str, Any]:
    return {
        **_plan_plain(told.plan),
        "status": told.status,
        "gap": told.gap,
        "bound": told.bound,
        "shortfall": told.shortfall,
        "thin": plain(told.thin),
        "changed": list(told.changed),
    }


def _plan_plain(plan_: SeasonPlan) -> dict[str, Any]:
    return {
        "from": plan_.made.isoformat(),
        "to": plan_.until.isoformat(),
        "strikes": [
            {
                "on": strike.on.isoformat(),
                "crop": strike.crop,
                "way": strike.way.value,
                "count": strike.count,
                "from": list(strike.mothers),
                "in": list(strike.places),
                "set_out": strike.set_out.isoformat(),
                "first_pick": strike.first_pick.isoformat(),
                "last_pick": strike.last_pick.isoformat(),
            }
            for strike in plan_.strikes
        ],
        "ends": plain(plan_.ends),
        "weeks": plain(plan_.weeks),
    }
