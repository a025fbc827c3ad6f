"""What the house's own pickings say of its yields; worked out from the journal when asked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from cropplan.desk.desk import Desk, scene_on
from cropplan.growth.stages import Weather
from cropplan.holding.entry import Picked
from cropplan.holding.planting import Planting
from cropplan.schedule.attained import Attained, Pick, attained_by


def attained(desk: Desk, crops: Iterable[str], today: date) -> dict[str, Attained]:
    """A week's pick against the forecast, by crop; crops of which nothing was weighed are left out.

    A figure that the grower set for the yield is a forecast like any other.
    """
    holding = desk.record.snapshot()
    scene = scene_on(desk, holding, today)
    voided = desk.record.voided()
    picks: dict[str, list[Pick]] = defaultdict(list)
    for entry in desk.record.journal():
        act = entry.act
        if isinstance(act, Picked) and entry.id not in voided:
            pick = Pick(tag=act.tag, day=entry.happened, amount=act.amount)
            picks[holding.plantings[act.tag].crop].append(pick)

    def weather_of(planting: Planting) -> Weather:
        return scene.weather_for(planting)

    found = {}
    for crop in crops:
        plantings = {p.tag: p for p in holding.plantings.values() if p.crop == crop}
        told = attained_by(scene.catalogue.crops[crop], plantings, picks[crop], weather_of)
        if told is not None:
            found[crop] = told
    return found
