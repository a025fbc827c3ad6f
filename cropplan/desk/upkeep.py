"""Acts on fish, media and warmth: feed, renew, temperatures, setbacks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cropplan.catalogue.read import find_crop
from cropplan.desk.caring import care_acts
from cropplan.desk.desk import Desk, Outcome, day_done, house_called, numbers, write
from cropplan.desk.premises import check_medium
from cropplan.holding.entry import Fed, SetBack, TemperaturesRead
from cropplan.holding.house import DayTemperature, Setback
from cropplan.holding.place import Care
from cropplan.holding.things import loop_called
from cropplan.problems import Misuse, Refusal
from cropplan.schedule.wording import day_text, days_text, list_text

#: An air temperature outside these was misread or mistyped. [°C]
_BELIEVABLE_AIR = (-40.0, 60.0)


def feed(
    desk: Desk, name: str, grams: float, *, again: bool = False, on: date | None = None
) -> Outcome:
    """Write a feed. A second one on the same day is asked about first.

    again : it is meant as a second feed.
    """
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    loop = loop_called(holding, name)
    if loop.last_fed == day and not again:
        by = f" by {loop.last_fed_by}" if loop.last_fed_by else ""
        raise Refusal(f"{name} was fed on {day}{by} already; add --again for a second feed")
    _, entries = write(desk, day, [Fed(loop=name, grams=grams)])
    return Outcome(said=(f"{name}: fed {grams:g} g on {day_text(day)}",), entries=numbers(entries))


def tend(
    desk: Desk,
    places: Sequence[str],
    care: Care,
    *,
    medium: str | None = None,
    on: date | None = None,
) -> Outcome:
    """Write that media were changed, topped up, flushed or disinfected."""
    holding = desk.record.snapshot()
    day = day_done(desk, holding, on)
    acts = care_acts(holding, places, care, medium=check_medium(medium))
    _, entries = write(desk, day, acts)
    word = {
        Care.CHANGE: "medium changed",
        Care.TOP_UP: "medium topped up",
        Care.FLUSH: "flushed with plain water",
        Care.DISINFECT: "disinfected",
    }[care]
    return Outcome(
        said=(f"{list_text(list(places))}: {word} on {day_text(day)}",), entries=numbers(entries)
    )


def write_temperature(
    desk: Desk, low_c: float, high_c: float, *, house: str | None = None, on: date | None = None
) -> Outcome:
    """Write the night's low and the day's high of a house. [°C]"""
    holding = desk.record.snapshot()
    there = house_called(holding, house)
    day = day_done(desk, holding, on)
    if low_c > high_c:
        raise Misuse(f"the low ({low_c:g} °C) is above the high ({high_c:g} °C); low comes first")
    for degrees in (low_c, high_c):
        if not _BELIEVABLE_AIR[0] <= degrees <= _BELIEVABLE_AIR[1]:
            raise Refusal(
                f"{degrees:g} °C in a house cannot be; is it °F? write it as {degrees:g}F"
            )
    reading = DayTemperature(house=there.name, day=day, low_c=low_c, high_c=high_c)
    _, entries = write(desk, day, [TemperaturesRead(readings=(reading,))])
    return Outcome(
        said=(f"{there.name}: {low_c:.1f} to {high_c:.1f} °C on {day_text(day)}",),
        entries=numbers(entries),
    )


def set_back(
    desk: Desk,
    days: int,
    *,
    why: str,
    crop: str | None = None,
    low_c: float | None = None,
    house: str | None = None,
    on: date | None = None,
) -> Outcome:
    """Write that growth stood still: days lost in a house, for one crop or for all.

    Every date that was still to come moves; nothing else needs to be changed.
    """
    holding = desk.record.snapshot()
    there = house_called(holding, house)
    day = day_done(desk, holding, on)
    if not why.strip():
        raise Misuse("say what set the plants back, such as --why 'heater out'")
    lost = Setback(
        house=there.name,
        day=day,
        days=days,
        why=" ".join(why.split()),
        crop=None if crop is None else find_crop(crop),
        low_c=low_c,
    )
    _, entries = write(desk, day, [SetBack(setback=lost)])
    what = "everything" if lost.crop is None else lost.crop
    cold = "" if low_c is None else f", down to {low_c:g} °C"
    return Outcome(
        said=(f"{there.name}: {what} set back {days_text(days)} ({lost.why}{cold})",),
        entries=numbers(entries),
    )
