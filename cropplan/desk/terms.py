"""The types and words that the desk's answers are made of, for the faces to lay out."""

from __future__ import annotations

from cropplan.catalogue.model import Caution, Crop, Figure, Source, Trust
from cropplan.schedule.measures import mass_text, volume_text, warmth_text
from cropplan.schedule.rounds import Line, Rounds
from cropplan.schedule.wording import (
    day_text,
    days_text,
    every_text,
    list_text,
    plants_text,
    span_text,
)

__all__ = [
    "Caution",
    "Crop",
    "Figure",
    "Line",
    "Rounds",
    "Source",
    "Trust",
    "day_text",
    "days_text",
    "every_text",
    "list_text",
    "mass_text",
    "plants_text",
    "span_text",
    "volume_text",
    "warmth_text",
]
