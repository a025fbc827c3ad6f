"""What a figure must be: numbers that rise, a unit that fits, a source that exists."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from itertools import pairwise
from typing import Any

from cropplan.catalogue.lines import Path
from cropplan.catalogue.model import Trust
from cropplan.catalogue.page import Field, Page, are_points, at_path, is_number, table_faults
from cropplan.problems import Problem, did_you_mean

_TEXT = Field(needed=False)
_NUMBER = Field(kind="number", needed=False)
_OPTIONAL = {
    "low": _NUMBER,
    "high": _NUMBER,
    "at": _TEXT,
    "at_c": _NUMBER,
    "base_c": _NUMBER,
    "ceiling_c": _NUMBER,
    "light_enough": _NUMBER,
    "note": _TEXT,
}
_SHIPPED = (Trust.READ.value, Trust.MEMORY.value, Trust.PRACTICE.value)

FIGURE_FIELDS: Mapping[str, Field] = {
    "typical": Field(kind="number"),
    **_OPTIONAL,
    "points": Field(kind="points", needed=False),
    "unit": Field(),
    "source": Field(),
    "trust": Field(choices=_SHIPPED),
}
OWN_FIELDS: Mapping[str, Field] = {
    "typical": Field(kind="number"),
    **_OPTIONAL,
    "points": Field(kind="points", needed=False),
    "unit": _TEXT,
}

# The range in which a value of that unit can lie at all; None for no upper end.
_BOUNDS: Mapping[str, tuple[float, float | None]] = {
    "share": (0.0, 1.0),
    "degC": (-40.0, 100.0),
    "d": (0.0, 7300.0),
    "degC d": (1.0, 20000.0),
    "mol/m2/d": (0.1, 80.0),
    "cuts": (1.0, 200.0),
    "generations": (1.0, 100.0),
}
_TEMPERATURES = (-40.0, 60.0)


def figure_faults(
    page: Page,
    path: Path,
    units: tuple[str, ...] | None,
    sources: Collection[str] | None,
    *,
    fields: Mapping[str, Field] = FIGURE_FIELDS,
) -> Iterator[Problem]:
    """What is wrong with one figure.

    units : those its key may have; None for any. sources : the ids there are; None when they are
    not known. fields : `OWN_FIELDS` for a figure of the grower's own.
    """
    yield from table_faults(page, path, fields)
    table = at_path(page.tables, path)
    if not isinstance(table, dict):
        return
    yield from _order_faults(page, path, table)
    yield from _unit_faults(page, path, table, units)
    yield from _point_faults(page, path, table)
    yield from _thermal_faults(page, path, table)
    if "source" in fields:
        yield from _source_faults(page, path, table, sources)


def _order_faults(page: Page, path: Path, table: Mapping[str, Any]) -> Iterator[Problem]:
    given = [(key, table[key]) for key in ("low", "typical", "high") if is_number(table.get(key))]
    for (lower, less), (upper, more) in pairwise(given):
        if less > more:
            message = f"'{lower}' {less:g} is above '{upper}' {more:g}; they must rise"
            yield page.fault((*path, lower), message)
    bounds = _BOUNDS.get(str(table.get("unit")), (None, None))
    for key, value in given:
        yield from _bound_faults(page, (*path, key), value, bounds, str(table.get("unit")))
    light = table.get("light_enough")
    if is_number(light) and light <= 0:
        yield page.fault((*path, "light_enough"), "'light_enough' must be above 0")


def _bound_faults(
    page: Page, path: Path, value: float, bounds: tuple[float | None, float | None], unit: str
) -> Iterator[Problem]:
    least, most = bounds
    if least is not None and value < least:
        yield page.fault(path, f"'{path[-1]}' {value:g} is below {least:g}, which no {unit} can be")
    if most is not None and value > most:
        yield page.fault(path, f"'{path[-1]}' {value:g} is above {most:g}, which no {unit} can be")


def _unit_faults(
    page: Page, path: Path, table: Mapping[str, Any], units: tuple[str, ...] | None
) -> Iterator[Problem]:
    unit = table.get("unit")
    if units is None or not isinstance(unit, str) or unit in units:
        return
    allowed = " or ".join(f"'{one}'" for one in units)
    yield page.fault((*path, "unit"), f"'{path[-1]}' is in {allowed}, not in '{unit}'")


def _point_faults(page: Page, path: Path, table: Mapping[str, Any]) -> Iterator[Problem]:
    points, here = table.get("points"), (*path, "points")
    if not are_points(points):
        return
    for (cooler, _), (warmer, _) in pairwise(points):
        if cooler >= warmer:
            yield page.fault(here, f"'points' must rise in °C; {warmer:g} follows {cooler:g}")
    for warmth, value in points:
        if not _TEMPERATURES[0] <= warmth <= _TEMPERATURES[1] or value <= 0:
            yield page.fault(here, f"the point [{warmth:g}, {value:g}] cannot be")
    values = [value for _, value in points]
    typical = table.get("typical")
    if is_number(typical) and not min(values) <= typical <= max(values):
        span = f"{min(values):g} to {max(values):g}"
        message = f"'typical' {typical:g} lies outside its points, {span}"
        yield page.fault((*path, "typical"), message)


def _thermal_faults(page: Page, path: Path, table: Mapping[str, Any]) -> Iterator[Problem]:
    for key in ("at_c", "base_c", "ceiling_c"):
        value = table.get(key)
        if is_number(value):
            yield from _bound_faults(page, (*path, key), value, _TEMPERATURES, "temperature here")
    base, ceiling, unit = table.get("base_c"), table.get("ceiling_c"), table.get("unit")
    if unit == "degC d" and base is None:
        yield page.fault(path, "a sum in 'degC d' needs 'base_c', the °C above which it counts")
    if unit is not None and unit != "degC d":
        for key in ("base_c", "ceiling_c"):
            if key in table:
                yield page.fault((*path, key), f"'{key}' belongs only to a sum in 'degC d'")
    if is_number(base) and is_number(ceiling) and base >= ceiling:
        yield page.fault((*path, "ceiling_c"), f"'ceiling_c' {ceiling:g} must be above {base:g}")


def _source_faults(
    page: Page, path: Path, table: Mapping[str, Any], sources: Collection[str] | None
) -> Iterator[Problem]:
    source, trust, here = table.get("source"), table.get("trust"), (*path, "source")
    if not isinstance(source, str):
        return
    if sources is not None and source not in sources:
        unknown = f"no source '{source}' in sources.toml{did_you_mean(source, sources)}"
        yield page.fault(here, unknown)
    if (source == "P00") != (trust == Trust.PRACTICE.value):
        message = "common practice goes with source P00 and trust 'practice', and only together"
        yield page.fault(here, message)
    if source.startswith("M") and trust == Trust.READ.value:
        yield page.fault(here, f"{source} was never opened; trust must be 'memory'")
