"""Keeping lessons: learnt when entries are written, read in the morning."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import TYPE_CHECKING

from cropplan.catalogue.model import Catalogue
from cropplan.growth.stages import Weather
from cropplan.holding.holding import Holding
from cropplan.holding.planting import Planting
from cropplan.record.store import Record
from cropplan.schedule.lessons import Lessons, lessons_as_taught
from cropplan.schedule.remarks import SILENCE

if TYPE_CHECKING:
    from cropplan.holding.entry import Act


def lessons_from(record: Record, catalogue: Catalogue) -> Lessons:
    """What the record has taught of the crops of a catalogue."""
    stages, rootings = record.lessons()
    return lessons_as_taught(stages, rootings, catalogue.crops)


def crops_told_of(acts: Iterable[Act], holding: Holding) -> set[str]:
    """The crops of which acts may have taught something new."""
    # The morning list only reads lessons.
    from cropplan.holding.entry import Began, Lost, Pulled, Seen, SetBack, SetOut, Voided

    telling = (Began, Seen, SetOut, Lost, Pulled)
    told: set[str] = set()
    for act in acts:
        if isinstance(act, Voided | SetBack):
            return {p.crop for p in holding.plantings.values()}
        if isinstance(act, telling) and act.tag in holding.plantings:
            told.add(holding.plantings[act.tag].crop)
    return told


def learn_again(
    record: Record,
    holding: Holding,
    catalogue: Catalogue,
    weather_at: Mapping[tuple[str, str], Weather],
    today: date,
    crops: Iterable[str],
) -> None:
    """Work out anew what crops have taught, from all their plantings, and keep it.

    weather_at : the conditions of each house, for each of the crops.
    """
    from cropplan.schedule.learning import rooting_lessons, stage_lessons

    silences = record.silences(SILENCE)

    def weather_of(planting: Planting) -> Weather:
        return weather_at[holding.places[planting.place].house, planting.crop]

    for crop_id in crops:
        crop = catalogue.crops[crop_id]
        plantings = [p for p in holding.plantings.values() if p.crop == crop_id]
        record.keep_lessons(
            crop_id,
            stage_lessons(crop, plantings, weather_of, today, silences),
            rooting_lessons(crop, plantings),
        )
