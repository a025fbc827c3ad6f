"""What a duty must hold, and the duties that the program names."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from cropplan.catalogue.figures import figure_faults
from cropplan.catalogue.keys import CROP_KEYS
from cropplan.catalogue.model import Habit, Pollination, Trigger
from cropplan.catalogue.page import Field, Page, is_number, table_faults
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.task import Keeps, Part, Rank, SubjectKind
from cropplan.problems import Problem

FIXED_DUTIES = (
    "pollinate",
    "pick",
    "side-shoot",
    "de-leaf",
    "lower",
    "take-runners",
    "strip-flowers",
    "mist-cuttings",
    "check-roots",
    "check-seedlings",
    "set-out",
    "first-flower",
    "first-fruit",
    "first-cut",
    "quarantine",
    "judge-age",
    "strike",
    "top",
    "pull",
    "renew-medium",
    "disinfect",
    "fish",
    "pumps",
    "drain",
    "test-water",
    "act-on-test",
    "test-again",
    "look-for-leak",
    "settle-vessel",
    "clean-filter",
    "weigh-fish",
    "pump-care",
    "air-filter",
    "test-rcd",
    "drip-check",
    "heat",
    "scout",
    "sticky-cards",
    "alarm",
    "meters",
    "look-ahead",
)
"""Ids that the schedule, the record and published calendars know; they may not be renamed."""

_LONGEST_JOB = 60
_CODE = re.compile(r"[a-z]{2}")
_BLANK = re.compile(r"\{(\w*)\}")
_BLANKS = ("crop", "name", "thing", "n", "s")
_INTERVAL_KEYS = tuple(key for key in CROP_KEYS if key.endswith("_interval"))
_UNCOUNTED = {trigger.value for trigger in Trigger} - {Trigger.INTERVAL.value}
_STAGES = tuple(stage.value for stage in Stage)


def duty_faults(
    page: Page,
    path: tuple[str, ...],
    sources: Collection[str] | None,
    cautions: Collection[str] | None,
) -> Iterator[Problem]:
    """All that is wrong with one duty."""
    yield from table_faults(page, path, _fields(cautions))
    duty = page.tables[path[0]][path[1]]
    yield from _word_faults(page, path, duty)
    yield from _time_faults(page, path, duty)
    if isinstance(duty.get("every"), dict):
        yield from figure_faults(page, (*path, "every"), ("d",), sources)


def _fields(cautions: Collection[str] | None) -> Mapping[str, Field]:
    return {
        "code": Field(),
        "job": Field(),
        "subject": Field(choices=tuple(kind.value for kind in SubjectKind)),
        "trigger": Field(choices=tuple(trigger.value for trigger in Trigger)),
        "part": Field(choices=tuple(part.value for part in Part)),
        "keeps": Field(choices=tuple(keeps.value for keeps in Keeps)),
        "rank": Field(choices=tuple(rank.name.lower().replace("_", "-") for rank in Rank)),
        "minutes_each": Field(kind="number"),
        "every": Field(kind="table", needed=False),
        "every_key": Field(needed=False, choices=_INTERVAL_KEYS),
        "again": Field(kind="whole", needed=False),
        "stages": Field(kind="texts", needed=False, choices=_STAGES),
        "awaits": Field(needed=False, choices=_STAGES),
        "origins": Field(
            kind="texts", needed=False, choices=tuple(origin.value for origin in Origin)
        ),
        "habits": Field(kind="texts", needed=False, choices=tuple(h.value for h in Habit)),
        "pollinations": Field(
            kind="texts", needed=False, choices=tuple(way.value for way in Pollination)
        ),
        "first_after": Field(kind="whole", needed=False),
        "survival": Field(kind="switch", needed=False),
        "with_fish": Field(kind="switch", needed=False),
        "in_calendar": Field(kind="switch", needed=False),
        "cautions": Field(
            kind="texts", needed=False, choices=None if cautions is None else tuple(cautions)
        ),
        "note": Field(needed=False),
    }


def _word_faults(page: Page, path: tuple[str, ...], duty: Mapping[str, Any]) -> Iterator[Problem]:
    code, job = duty.get("code"), duty.get("job")
    if isinstance(code, str) and not _CODE.fullmatch(code):
        yield page.fault((*path, "code"), f"'code' must be two small letters, got '{code}'")
    if isinstance(job, str):
        if len(job) > _LONGEST_JOB:
            message = f"'job' has {len(job)} letters; {_LONGEST_JOB} fit on a line of the rounds"
            yield page.fault((*path, "job"), message)
        for blank in _BLANK.findall(job):
            if blank not in _BLANKS:
                known = ", ".join(f"{{{name}}}" for name in _BLANKS)
                message = f"'job' cannot name '{{{blank}}}'; known are {known}"
                yield page.fault((*path, "job"), message)


def _time_faults(page: Page, path: tuple[str, ...], duty: Mapping[str, Any]) -> Iterator[Problem]:
    trigger = duty.get("trigger")
    counted = [key for key in ("every", "every_key") if key in duty]
    if trigger == Trigger.INTERVAL.value and len(counted) != 1:
        message = "a duty with an interval needs either 'every', a figure, or 'every_key'"
        yield page.fault(path, message)
    if trigger in _UNCOUNTED and counted:
        yield page.fault((*path, counted[0]), f"a duty of kind '{trigger}' has no interval")
    if trigger == Trigger.WATCH.value:
        for key in ("awaits", "stages"):
            if not duty.get(key):
                yield page.fault(path, f"a watch needs '{key}'")
    for key, least in (("again", 1), ("first_after", 0), ("minutes_each", 0)):
        value = duty.get(key)
        if is_number(value) and value < least:
            yield page.fault((*path, key), f"'{key}' must be {least} or more, got {value:g}")
