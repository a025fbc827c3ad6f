"""What a duty asks of a thing on a day, in the house of the builders with another beside it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from cropplan.holding.entry import Entry
from cropplan.holding.task import Task
from tests.builders import bare_house, seen_from, task


def asked(duty: str, code: str, *days: Iterable[Entry], today: date) -> Task | None:
    """The open task of a duty with the thing of that tag, place or name; None if there is none."""
    return task(seen_from(bare_house(second=True), *days, today=today), duty, code)


def surely(duty: str, code: str, *days: Iterable[Entry], today: date) -> Task:
    """The same, where there must be one."""
    found = asked(duty, code, *days, today=today)
    assert found is not None, f"{duty} asks nothing of {code} on {today}"
    return found
