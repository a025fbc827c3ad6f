"""The scene: what is held and known, with every living planting's timeline, on one day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from cropplan.catalogue.model import Catalogue
from cropplan.growth.stages import Weather
from cropplan.holding.holding import Holding
from cropplan.holding.logged import Logged
from cropplan.holding.planting import Planting
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.timeline import Timeline, timeline_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """All that the schedule decides from, gathered once.

    weathers : the conditions of each house by day.
    set_back : the conditions of a crop in a house that had a setback of its own, by (house, crop).
    usual : what each house would have had without readings and setbacks, to tell how far they
        moved a date; empty when nobody asks.
    timelines : of every living planting, by tag.
    water_log : what was fed, drained and added lately, by loop. ended : plantings that ended in
        those weeks, for what the fish then had to feed.
    """

    holding: Holding
    catalogue: Catalogue
    weathers: Mapping[str, Weather]
    timelines: Mapping[str, Timeline]
    lessons: Lessons
    today: date
    set_back: Mapping[tuple[str, str], Weather] = field(default_factory=dict)
    usual: Mapping[str, Weather] = field(default_factory=dict)
    water_log: Mapping[str, Sequence[Logged]] = field(default_factory=dict)
    ended: Sequence[Planting] = ()

    @property
    def gone(self) -> list[Planting]:
        """Plantings that have ended, as far back as is known."""
        held = [p for p in self.holding.plantings.values() if not p.alive]
        return list({p.tag: p for p in (*held, *self.ended)}.values())

    def weather_for(self, planting: Planting) -> Weather:
        """The conditions where a planting stands."""
        house = self.holding.places[planting.place].house
        return self.set_back.get((house, planting.crop)) or self.weathers[house]


def scene_of(
    holding: Holding,
    catalogue: Catalogue,
    weathers: Mapping[str, Weather],
    today: date,
    lessons: Lessons | None = None,
    *,
    set_back: Mapping[tuple[str, str], Weather] | None = None,
    usual: Mapping[str, Weather] | None = None,
    water_log: Iterable[Logged] = (),
    ended: Sequence[Planting] = (),
) -> Scene:
    """The scene of one day. Duties that the grower has stopped are left out of it."""
    stopped = {duty for duty, setting in holding.settings.items() if setting.stopped}
    wanted = {id_: duty for id_, duty in catalogue.duties.items() if id_ not in stopped}
    scene = Scene(
        holding=holding,
        catalogue=replace(catalogue, duties=wanted),
        weathers=weathers,
        timelines={},
        lessons=lessons or Lessons(),
        today=today,
        set_back=set_back or {},
        usual=usual or {},
        water_log=_by_loop(water_log),
        ended=ended,
    )
    return replace(scene, timelines=_timelines(scene))


def _by_loop(logged: Iterable[Logged]) -> dict[str, list[Logged]]:
    by_loop: dict[str, list[Logged]] = defaultdict(list)
    for one in logged:
        by_loop[one.loop].append(one)
    return by_loop


def _timelines(scene: Scene) -> dict[str, Timeline]:
    return {
        planting.tag: timeline_of(
            planting,
            scene.catalogue.crops[planting.crop],
            scene.weather_for(planting),
            scene.today,
            scene.lessons,
        )
        for planting in scene.holding.plantings.values()
        if planting.alive
    }
