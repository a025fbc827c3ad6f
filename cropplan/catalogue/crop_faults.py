"""What a crop's file must hold for the schedule to work: its head, and figures that fit it."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from cropplan.catalogue.figures import figure_faults
from cropplan.catalogue.keys import CROP_KEYS
from cropplan.catalogue.model import Habit, Pollination
from cropplan.catalogue.page import Field, Page, at_path, is_number, table_faults
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import CLONAL, Origin
from cropplan.problems import Problem, did_you_mean

_PICK_UNITS = ("kg", "pieces", "bunches")
_WAYS = tuple(origin.value for origin in Origin if origin is not Origin.SPLIT)
_CLONAL = {origin.value for origin in CLONAL}
_TAG = re.compile(r"[a-z]{2,4}")

_ALWAYS = (
    "pick_interval",
    "days_can_hold",
    "overlap",
    "weekly_yield",
    "light_target",
    "temp_low",
    "temp_high",
    "planted_area",
)
_OF_MOTHERS = ("rooted_to_ready", "mother_from", "shoots_per_week", "generations")
#: Figures that are the length of a stage, and so cannot be nothing.
_STAGES = (
    *(key for key in CROP_KEYS if key.endswith(("_to_root", "_to_emerge", "_to_ready"))),
    *(key for key in CROP_KEYS if key.endswith(("_to_flower", "_to_pick", "_interval"))),
    "picking_life",
)


def crop_faults(
    page: Page, sources: Collection[str] | None, cautions: Collection[str] | None
) -> Iterator[Problem]:
    """All that is wrong with a crop's file."""
    yield from table_faults(page, ("crop",), _fields(cautions))
    for name in page.tables:
        if name not in {"crop", "values"}:
            near = did_you_mean(name, ("crop", "values"))
            message = f"a crop's file holds [crop] and [values], not [{name}]{near}"
            yield page.fault((name,), message)
    values = page.tables.get("values")
    if not isinstance(values, dict):
        yield page.fault(("values",), "a crop needs its figures, as [values.pick_interval]")
        return
    for key in values:
        if key not in CROP_KEYS:
            near = did_you_mean(key, CROP_KEYS) or "; 'cropplan crops show' lists them"
            yield page.fault(("values", key), f"no figure is called '{key}'{near}")
        else:
            yield from figure_faults(page, ("values", key), CROP_KEYS[key].units, sources)
    yield from _stage_faults(page, values)
    crop = page.tables.get("crop")
    if isinstance(crop, dict):
        yield from _head_faults(page, crop)
        yield from _missing_figures(page, crop, values)
        yield from _pollination_faults(page, crop, values)
        yield from _yield_faults(page, crop, values)


def _fields(cautions: Collection[str] | None) -> Mapping[str, Field]:
    text = Field()
    return {
        "id": text,
        "name": text,
        "plural": text,
        "tag": text,
        "family": text,
        "habit": Field(choices=tuple(habit.value for habit in Habit)),
        "ways": Field(kind="texts", choices=_WAYS),
        "places": Field(kind="texts", choices=tuple(kind.value for kind in PlaceKind)),
        "pollination": Field(choices=tuple(way.value for way in Pollination)),
        "pollination_why": text,
        "pick_unit": Field(choices=_PICK_UNITS),
        "aliases": Field(kind="texts", needed=False),
        "cautions": Field(
            kind="texts", needed=False, choices=None if cautions is None else tuple(cautions)
        ),
        "note": Field(needed=False),
    }


def _head_faults(page: Page, crop: Mapping[str, Any]) -> Iterator[Problem]:
    tag, crop_id = crop.get("tag"), crop.get("id")
    if isinstance(tag, str) and not _TAG.fullmatch(tag):
        yield page.fault(("crop", "tag"), f"'tag' must be two to four small letters, got '{tag}'")
    if isinstance(crop_id, str) and f"{crop_id}.toml" != page.file:
        message = f"the file of crop '{crop_id}' must be called {crop_id}.toml"
        yield page.fault(("crop", "id"), message)
    for key in ("ways", "places"):
        if crop.get(key) == []:
            yield page.fault(("crop", key), f"'{key}' must name at least one")


def _stage_faults(page: Page, values: Mapping[str, Any]) -> Iterator[Problem]:
    for key in _STAGES:
        for name in ("low", "typical"):
            if is_number(at_path(values, (key, name))) and at_path(values, (key, name)) == 0:
                yield page.fault(("values", key, name), f"'{name}' of '{key}' must be above 0")


def _missing_figures(
    page: Page, crop: Mapping[str, Any], values: Mapping[str, Any]
) -> Iterator[Problem]:
    for key, why in _needed(crop):
        if key not in values:
            yield page.fault(("values",), f"[values.{key}] is missing: {why}")
    if "cuts" not in values and "picking_life" not in values:
        message = "[values.picking_life] or [values.cuts] is missing: nothing says when it is spent"
        yield page.fault(("values",), message)
    if crop.get("habit") == Habit.FRUIT.value and not values.keys() & {
        "set_out_to_flower",
        "set_out_to_pick",
    }:
        message = "[values.set_out_to_flower] is missing: a fruit crop needs it, or set_out_to_pick"
        yield page.fault(("values",), message)


def _needed(crop: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """The figures a crop cannot do without, each with the reason."""
    for key in _ALWAYS:
        yield key, f"every crop needs it, {CROP_KEYS[key].says}"
    if crop.get("habit") == Habit.FRUIT.value:
        yield "flower_to_pick", "a fruit crop needs it"
    elif crop.get("habit") in {Habit.LEAF.value, Habit.HEAD.value}:
        yield "set_out_to_pick", f"a {crop['habit']} crop needs it"
    ways = crop.get("ways")
    for way in ways if isinstance(ways, list) else ():
        if way in _CLONAL:
            yield f"{way}_days_to_root", f"it is started by {way}"
            yield f"{way}_success", f"it is started by {way}"
            yield from ((key, f"it is started by {way}") for key in _OF_MOTHERS)
        elif way == Origin.SEED.value:
            for key in ("seed_days_to_emerge", "seed_success", "emerged_to_ready"):
                yield key, "it is started from seed"


def _pollination_faults(
    page: Page, crop: Mapping[str, Any], values: Mapping[str, Any]
) -> Iterator[Problem]:
    pollination, has = crop.get("pollination"), "pollination_interval" in values
    if pollination in {Pollination.NONE.value, Pollination.FORBIDDEN.value} and has:
        message = f"a crop whose pollination is '{pollination}' has no pollination_interval"
        yield page.fault(("values", "pollination_interval"), message)
    elif pollination in {"shake", "flick", "brush", "transfer"} and not has:
        message = f"[values.pollination_interval] is missing: its flowers need '{pollination}'"
        yield page.fault(("values",), message)


def _yield_faults(
    page: Page, crop: Mapping[str, Any], values: Mapping[str, Any]
) -> Iterator[Problem]:
    table, unit = values.get("weekly_yield"), crop.get("pick_unit")
    said = table.get("unit") if isinstance(table, dict) else None
    if unit in _PICK_UNITS and isinstance(said, str) and said != f"{unit}/plant/week":
        message = f"a crop picked in '{unit}' gives '{unit}/plant/week', not '{said}'"
        yield page.fault(("values", "weekly_yield", "unit"), message)
