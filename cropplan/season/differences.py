"""What a new plan changes of the one in force, in words."""

from __future__ import annotations

from datetime import date

from cropplan.holding.season import SeasonPlan
from cropplan.schedule.wording import day_text


def differences(old: SeasonPlan | None, new: SeasonPlan, today: date) -> tuple[str, ...]:
    """What a new plan changes of the one in force, strike by strike."""
    if old is None:
        return ()
    before = {strike.number: strike for strike in old.strikes if strike.on >= today}
    after = {strike.number: strike for strike in new.strikes}
    said = []
    for number, strike in after.items():
        was = before.pop(number, None)
        what = f"{strike.count} {strike.crop}"
        if was is None:
            said.append(f"new: {what} on {day_text(strike.on, today)}")
        elif (was.on, was.count) != (strike.on, strike.count):
            said.append(
                f"{was.count} {was.crop} on {day_text(was.on, today)} becomes {strike.count} "
                f"on {day_text(strike.on, today)}"
            )
    said += [
        f"dropped: {was.count} {was.crop} on {day_text(was.on, today)}" for was in before.values()
    ]
    return tuple(said)
