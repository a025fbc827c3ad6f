"""Values of the desk in the words, units and order of the pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from cropplan.desk.phone import PhoneLine, Told
from cropplan.desk.terms import Line, day_text
from cropplan.holding.house import Units
from cropplan.holding.planting import Planting, Stage
from cropplan.holding.span import Basis, Dated
from cropplan.holding.task import Part, State

#: By definition (NIST Handbook 44, Appendix C). [g]
_OUNCE_G = 453.59237 / 16
#: [kg]
POUND_KG = 0.45359237
_PARTS = {
    Part.MORNING: "Morning",
    Part.ANY: "Any time",
    Part.MIDDAY: "Midday",
    Part.EVENING: "Evening",
}
_STAGES = {
    Stage.STRUCK: "struck",
    Stage.SOWN: "sown",
    Stage.BOUGHT_IN: "bought in",
    Stage.ROOTED: "rooted",
    Stage.EMERGED: "emerged",
    Stage.SET_OUT: "set out",
    Stage.FLOWERING: "first flowers",
    Stage.FRUITING: "first ripe fruit",
    Stage.PICKING: "first cut",
    Stage.RESTING: "resting",
    Stage.SPENT: "spent",
    Stage.PULLED: "pulled",
    Stage.LOST: "lost",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Lines under one head. tone : late, today or coming, for the look of it."""

    head: str
    tone: str
    lines: tuple[PhoneLine, ...]


def sections(lines: Sequence[PhoneLine], today: date) -> list[Section]:
    """The lines of the rounds under their heads, in the order they come."""
    found: dict[tuple[str, str], list[PhoneLine]] = {}
    for one in lines:
        found.setdefault(_head(one.line, today), []).append(one)
    return [
        Section(head=head, tone=tone, lines=tuple(group)) for (head, tone), group in found.items()
    ]


def _head(line: Line, today: date) -> tuple[str, str]:
    if line.comes_first:
        return "First", "today"
    match line.state:
        case State.LATE:
            return "Late", "late"
        case State.TODAY:
            return _PARTS[line.part], "today"
        case State.COMING:
            return day_text(line.due, today), "coming"


def reason(line: Line, today: date) -> str:
    """Why a line is asked for, and how its day is known."""
    words = {Basis.SEEN: "", Basis.PREDICTED: "expected", Basis.PLANNED: "planned"}[line.basis]
    said = f"{words}: {line.why}" if words and words not in line.why else line.why
    if line.state is State.LATE:
        said = f"{said}; was due by {day_text(line.latest, today)}"
    return said


def minutes(length: float) -> str:
    """How long work takes: `under 1 min`, `8 min`, `1 h 20 min`."""
    whole = round(length)
    if whole < 1:
        return "under 1 min"
    hours, rest = divmod(whole, 60)
    return " ".join([*([f"{hours} h"] if hours else []), *([f"{rest} min"] if rest else [])])


def daylight(hours: float) -> str:
    """From sunrise to sunset: `9 h 40 min`."""
    return minutes(hours * 60)


def mass(grams: float, units: Units) -> str:
    """A mass of feed in the units of the house."""
    return f"{grams / _OUNCE_G:.1f} oz" if units is Units.US else f"{grams:g} g"


def unit_of(unit: str, units: Units) -> str:
    """The unit in which a harvest is told in this house."""
    return "lb" if unit == "kg" and units is Units.US else unit


def harvest(amount: float, unit: str, units: Units) -> str:
    """An amount picked, in the units of the house."""
    told = unit_of(unit, units)
    return f"{amount / POUND_KG if told == 'lb' else amount:.3g} {told}"


def stage(value: Stage) -> str:
    """A stage in the words of the pages."""
    return _STAGES[value]


def where(planting: Planting) -> str:
    """A planting by place and tag."""
    return f"{planting.place} {planting.tag}"


def dated(one: Dated, today: date) -> str:
    """A day and how sure it is."""
    if one.basis is Basis.SEEN:
        give = f" ± {(one.latest - one.likely).days} days" if one.latest > one.likely else ""
        return f"{day_text(one.likely, today)}{give}"
    span = f"{day_text(one.earliest, today)} to {day_text(one.latest, today)}"
    return f"about {day_text(one.likely, today)} ({span}, eight times in ten)"


def told(one: Told) -> str:
    """Something written today, and by whom."""
    return f"{one.said}, by {one.by}" if one.by else one.said
