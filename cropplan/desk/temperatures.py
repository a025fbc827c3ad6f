"""A thermometer's log brought into the record: what can be believed, and what was left out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from cropplan.desk.desk import Desk, first_house, house_called, numbers, today_in, write
from cropplan.growth.columns import Unit
from cropplan.growth.readings import read_days
from cropplan.holding.entry import TemperaturesRead
from cropplan.holding.house import DayTemperature
from cropplan.problems import BadData, Problem, Refusal
from cropplan.schedule.wording import days_text

#: A log larger than this is no thermometer's. [bytes]
_LARGEST = 50_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """What came of a log: days written, the first and last of them, and what is wrong in it."""

    said: str
    days: int
    first: date
    last: date
    problems: tuple[Problem, ...]
    entries: tuple[int, ...]


def import_temperatures(
    desk: Desk, file: Path, *, house: str | None = None, unit: Unit | None = None
) -> Imported:
    """Write the days of a log, all of them as one entry; faulty lines are left out and told.

    unit : of a log that names none. Raises BadData when the file cannot be read at all, Refusal
    when no day of it can be used.
    """
    holding = desk.record.snapshot()
    there = house_called(holding, house)
    today = today_in(desk, first_house(holding))
    days, problems = read_days(_text(file), file=file.name, unit=unit)
    coming = [read.day for read in days if read.day > today]
    if coming:
        message = f"{days_text(len(coming))} still to come, from {coming[0]}; left out"
        problems = (*problems, Problem(file=file.name, line=None, message=message))
    readings = tuple(
        DayTemperature(
            house=there.name, day=read.day, low_c=read.warmth.low, high_c=read.warmth.high
        )
        for read in days
        if read.day <= today
    )
    if not readings:
        why = f": {problems[0].message}" if problems else ""
        raise Refusal(f"{file}: no day of it can be used{why}")
    last = readings[-1].day
    _, entries = write(desk, last, [TemperaturesRead(readings=readings)])
    return Imported(
        said=f"{there.name}: {days_text(len(readings))} of temperatures, "
        f"{readings[0].day} to {last}",
        days=len(readings),
        first=readings[0].day,
        last=last,
        problems=problems,
        entries=numbers(entries),
    )


def _text(file: Path) -> str:
    try:
        if file.stat().st_size > _LARGEST:
            raise BadData(f"{file}: is larger than any thermometer's log; name the right file")
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise BadData(f"{file}: is not UTF-8 text; save the log as CSV in UTF-8") from None
    except OSError as fault:
        raise BadData(f"{file}: cannot be read ({fault.strerror}); check the name") from None
