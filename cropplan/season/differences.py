"""What a new plan changes of the one in force, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from cropplan.holding.season import PlannedStrike, SeasonPlan
from cropplan.schedule.wording import day_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that a new plan does otherwise; `on` is the first day it is about."""

    on: date
    words: str


def differences(
    still_open: Sequence[PlannedStrike], new: SeasonPlan, today: date
) -> tuple[Change, ...]:
    """What a new plan changes of what was still to begin, the nearest first.

    still_open : strikes of the plan in force that nothing stands for, late ones too.
    """
    before = {strike.number: strike for strike in still_open}
    found = []
    for strike in new.strikes:
        was = before.pop(strike.number, None)
        what = f"{strike.count} {strike.crop} on {day_text(strike.on, today)}"
        if was is None:
            found.append(Change(on=strike.on, words=f"new: {what}"))
        elif was.on != strike.on:
            words = f"{_words(was, today)} becomes {strike.count} on {day_text(strike.on, today)}"
            found.append(Change(on=min(was.on, strike.on), words=words))
        elif was.count != strike.count:
            found.append(Change(on=strike.on, words=f"{_words(was, today)} becomes {strike.count}"))
    found += [Change(on=was.on, words=f"dropped: {_words(was, today)}") for was in before.values()]
    return tuple(sorted(found, key=lambda change: change.on))


def _words(strike: PlannedStrike, today: date) -> str:
    return f"{strike.count} {strike.crop} on {day_text(strike.on, today)}"
