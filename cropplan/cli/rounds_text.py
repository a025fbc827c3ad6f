"""The rounds laid out by hand: nothing to load, and nothing cut off.

A place that does not fit is wrapped to the next line; a list that hides one is no list.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from textwrap import wrap

import click

from cropplan.cli import show
from cropplan.cli.show import short_codes, span_of_time
from cropplan.desk.morning import MorningList
from cropplan.desk.terms import Line, Rounds, day_text
from cropplan.holding.span import Basis
from cropplan.holding.task import Part, State

_FIRST, _LATE = "FIRST", "LATE"
_PARTS = {
    Part.MORNING: "MORNING",
    Part.ANY: "ANY TIME",
    Part.MIDDAY: "MIDDAY",
    Part.EVENING: "EVENING",
}
_BASES = {Basis.SEEN: "", Basis.PREDICTED: "expected", Basis.PLANNED: "planned"}
_LEGEND = "'expected' is reckoned, not yet seen; other days count from what was written."
#: Handles longer than this push their own line only, not the whole list.
_WIDEST_HANDLE = 11
_TIME = 8
_HARD_SPACE = "\u00a0"
_WITHIN_A_DAY = re.compile(
    r"(?<=\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun)) (?=\d)|(?<=\d) (?=[A-Z][a-z]{2}\b)"
)


@dataclass(slots=True, kw_only=True)
class _Sheet:
    """How wide to lay out, whether weights may be used, and the notes gathered on the way."""

    width: int
    colour: bool
    handles: int = 0
    notes: dict[str, int] = field(default_factory=dict)
    expected: bool = False

    def number(self, caution: str) -> int:
        """The number of a caution among the notes at the foot."""
        return self.notes.setdefault(caution, len(self.notes) + 1)

    def heavy(self, text: str, colour: str | None = None) -> str:
        """The text in bold, where that can be shown."""
        return click.style(text, bold=True, fg=colour) if self.colour else text

    def faint(self, text: str) -> str:
        """The text toned down, where that can be shown."""
        return click.style(text, dim=True) if self.colour and text else text


def laid_out(
    listed: MorningList, *, width: int, colour: bool, whole_cautions: bool = False
) -> Iterator[str]:
    """The lines of the morning list of each house, with the cautions once at the foot.

    width : columns. colour : whether weights and colours may be used.
    whole_cautions : all of each caution, not its first sentence alone.
    """
    sheet = _Sheet(width=width, colour=colour)
    handles = [len(line.handle) for one in listed.rounds for line in one.lines]
    sheet.handles = min(max(handles, default=0), _WIDEST_HANDLE)
    for number, one in enumerate(listed.rounds):
        if number:
            yield ""
        yield from _house(one, sheet)
    if sheet.notes or sheet.expected:
        yield ""
    for caution, number in sheet.notes.items():
        mark = f"[{number}] "
        whole = listed.cautions[caution].text
        text = whole if whole_cautions else f"{whole.partition('. ')[0].rstrip('.')}."
        yield from _wrapped(text, width, first=mark, then=" " * len(mark))
    if sheet.expected:
        yield from (sheet.faint(line) for line in _wrapped(_LEGEND, width))


def _house(one: Rounds, sheet: _Sheet) -> Iterator[str]:
    yield from _head(one, sheet)
    for remark in one.remarks:
        yield from _wrapped(remark, sheet.width, first="! ", then="  ")
    if not any(line.state is not State.COMING for line in one.lines):
        yield ""
        yield "Nothing is late and nothing is due today."
    head = ""
    for line in one.lines:
        if _section(line, one.on) != head:
            head = _section(line, one.on)
            yield ""
            yield sheet.heavy(head, "red" if head == _LATE else None)
        yield from _line(line, sheet, one.on)


def _head(one: Rounds, sheet: _Sheet) -> Iterator[str]:
    hours, minutes = divmod(round(one.daylength_h * 60), 60)
    figures = [
        f"{day_text(one.on)} {one.on.year}",
        f"day {hours}:{minutes:02} h",
        f"light {one.dli_inside:.0f} mol/m²",
        f"work {span_of_time(one.minutes)}",
    ]
    told = " · ".join(figures)
    if len(one.house) + 3 + len(told) <= sheet.width:
        yield f"{sheet.heavy(one.house)} · {told}"
    else:
        yield sheet.heavy(one.house)
        yield from _wrapped(told, sheet.width)


def _section(line: Line, today: date) -> str:
    if line.comes_first:
        return _FIRST
    if line.state is State.LATE:
        return _LATE
    if line.state is State.TODAY:
        return _PARTS[line.part]
    return f"COMING {day_text(line.due, today)}"


def _line(line: Line, sheet: _Sheet, today: date) -> Iterator[str]:
    room = sheet.width - sheet.handles - 2 - _TIME
    job = f"{line.job}: {short_codes(line.places)}" if line.places else line.job
    if line.state is not State.COMING and line.cautions:
        numbers = sorted(sheet.number(caution) for caution in line.cautions)
        job += f" [{','.join(str(number) for number in numbers)}]"
    why = _why(line, sheet, today)
    jobs = _wrapped(job, room)
    whys = _wrapped(why, room + _TIME)
    if len(whys) == 1 and len(jobs[-1]) + 3 + len(whys[0]) <= room:
        told = [(text, "") for text in jobs[:-1]] + [(f"{jobs[-1]} - ", whys[0])]
    else:
        told = [(text, "") for text in jobs] + [("", text) for text in whys]
    for number, (plainly, faintly) in enumerate(told):
        handle = line.handle if number == 0 else ""
        text = f"{handle:<{sheet.handles}}  {plainly}{sheet.faint(faintly)}"
        if number == 0:
            gap = max(0, room - len(plainly) - len(faintly))
            text += f"{' ' * gap}{_time(line):>{_TIME}}"
        yield text.rstrip()


def _why(line: Line, sheet: _Sheet, today: date) -> str:
    why = line.why
    word = _BASES[line.basis]
    if word and word not in why:
        why = f"{word}: {why}"
    sheet.expected = sheet.expected or line.basis is Basis.PREDICTED
    if line.state is State.LATE:
        why = f"{why}; was due by {day_text(line.latest, today)}"
    return why


def _time(line: Line) -> str:
    return "<1 min" if round(line.minutes) < 1 else span_of_time(line.minutes)


def _wrapped(text: str, width: int, *, first: str = "", then: str = "") -> Sequence[str]:
    """The text in lines that break neither a code, such as B1-B4, nor a day, such as 3 Mar."""
    rows = wrap(
        _WITHIN_A_DAY.sub(_HARD_SPACE, text),
        width,
        initial_indent=first,
        subsequent_indent=then,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [row.replace(_HARD_SPACE, " ") for row in rows] or [""]


def plain_list(lines: Sequence[Line], marks: Sequence[str] | None = None) -> list[str]:
    """Lines with handle, job, places and a mark at the right, for lists that are not the rounds.

    marks : for each line; its minutes when not given.
    """
    sheet = _Sheet(width=show.width(), colour=False)
    sheet.handles = min(max((len(line.handle) for line in lines), default=0), _WIDEST_HANDLE)
    room = sheet.width - sheet.handles - 2 - _TIME
    told: list[str] = []
    for number, line in enumerate(lines):
        job = f"{line.job}: {short_codes(line.places)}" if line.places else line.job
        mark = _time(line) if marks is None else marks[number]
        for row, text in enumerate(_wrapped(job, room)):
            handle, right = (line.handle, mark) if row == 0 else ("", "")
            told.append(f"{handle:<{sheet.handles}}  {text:<{room}}{right:>{_TIME}}".rstrip())
    return told
