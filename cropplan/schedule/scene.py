"""The scene: what is held and known, with every living planting's timeline, on one day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from cropplan.catalogue.model import Catalogue
from cropplan.growth.stages import Weather
from cropplan.holding.holding import Holding
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.timeline import Timeline, timeline_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """All that the schedule decides from, gathered once.

    weathers : the conditions of each house by day.
    timelines : of every living planting, by tag.
    """

    holding: Holding
    catalogue: Catalogue
    weathers: Mapping[str, Weather]
    timelines: Mapping[str, Timeline]
    lessons: Lessons
    today: date


def scene_of(
    holding: Holding,
    catalogue: Catalogue,
    weathers: Mapping[str, Weather],
    today: date,
    lessons: Lessons | None = None,
) -> Scene:
    """The scene of one day. Duties that the grower has stopped are left out of it."""
    stopped = {duty for duty, setting in holding.settings.items() if setting.stopped}
    wanted = {id_: duty for id_, duty in catalogue.duties.items() if id_ not in stopped}
    taught = lessons or Lessons()
    timelines = {
        planting.tag: timeline_of(
            planting,
            catalogue.crops[planting.crop],
            weathers[holding.places[planting.place].house],
            today,
            taught,
        )
        for planting in holding.plantings.values()
        if planting.alive
    }
    return Scene(
        holding=holding,
        catalogue=replace(catalogue, duties=wanted),
        weathers=weathers,
        timelines=timelines,
        lessons=taught,
        today=today,
    )
