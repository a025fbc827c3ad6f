"""A page to print and leave in the house: what to do, in walking order, with a box a day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from textwrap import wrap

from cropplan.cli.amounts import GRAMS
from cropplan.desk.neighbour import Errand, Errands
from cropplan.desk.terms import day_text, list_text
from cropplan.holding.house import Units

#: Columns of a printed page in a fixed type.
_WIDTH = 76
_BOX = "[  ]"


def sheet_lines(work: Errands, first: date, last: date, units: Units) -> Iterator[str]:
    """The lines of the page."""
    yield f"LOOKING AFTER {list_text(work.houses).upper()}"
    yield f"{day_text(first)} {first.year} to {day_text(last)} {last.year}"
    yield ""
    yield f"Ring if anything is wrong:  {'_' * 24}  {'_' * 20}"
    yield ""
    yield from _wrapped(
        "Go through the house in this order. Tick the box of the day when it is done. A ticked "
        "box means done: do not feed twice. Places are as on the labels."
    )
    for number, errand in enumerate(work.errands, start=1):
        yield ""
        yield from _errand(number, errand, units)
    yield ""
    yield "MIND"
    for caution in work.cautions.values():
        yield from _wrapped(caution.text, first=" - ", then="   ")
    yield ""
    yield "WHAT ELSE WAS SEEN OR DONE, AND ON WHICH DAY"
    for _ in range(4):
        yield ""
        yield "_" * _WIDTH
    yield ""
    yield "To copy this sheet into the record afterwards, leaving out days without a tick:"
    for days, handles in _by_days(work).items():
        for typed in _days_typed(days):
            yield f"  cropplan done {' '.join(handles)} --on {typed} --by NAME"


def _by_days(work: Errands) -> dict[tuple[date, ...], list[str]]:
    """The handles that fall on the same days, together."""
    found: dict[tuple[date, ...], list[str]] = {}
    for errand in work.errands:
        found.setdefault(errand.days, []).append(errand.line.handle)
    return found


def _days_typed(days: tuple[date, ...]) -> list[str]:
    """Days as `done --on` takes them: a span where none is left out, else three to a line."""
    if (days[-1] - days[0]).days == len(days) - 1 and len(days) > 1:
        return [f"{days[0]}..{days[-1]}"]
    typed = [day.isoformat() for day in days]
    return [",".join(typed[start : start + 3]) for start in range(0, len(typed), 3)]


def _errand(number: int, errand: Errand, units: Units) -> Iterator[str]:
    line = errand.line
    job = line.job
    if errand.feed_g is not None:
        job = f"{job}: {_mass(errand.feed_g, units)}"
    lead = f"{number:>2}  "
    yield from _wrapped(job, first=lead, then="    ")
    if line.places:
        where = f"at {', '.join(line.places)}"
        yield from _wrapped(where, first="    ", then="       ")
    boxes = [f"{day_text(day).removesuffix(_month(day))} {_BOX}" for day in errand.days]
    columns = max(map(len, boxes)) + 2
    each = max(1, (_WIDTH - 4) // columns)
    for start in range(0, len(boxes), each):
        row = "".join(f"{box:<{columns}}" for box in boxes[start : start + each])
        yield f"    {row}".rstrip()


def _month(day: date) -> str:
    return f" {day_text(day).rpartition(' ')[2]}"


def _mass(grams: float, units: Units) -> str:
    return f"{grams / GRAMS['oz']:.1f} oz" if units is Units.US else f"{grams:g} g"


def _wrapped(text: str, *, first: str = "", then: str = "") -> list[str]:
    return wrap(
        text,
        _WIDTH,
        initial_indent=first,
        subsequent_indent=then,
        break_long_words=False,
        break_on_hyphens=False,
    )
