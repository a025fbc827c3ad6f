"""The morning list, apart from the other questions: it is asked before coffee and must not wait."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from cropplan.catalogue.model import Caution
from cropplan.desk.desk import Desk, first_house, house_called, scene_on, today_in
from cropplan.record.waiting import waiting_ticks
from cropplan.schedule.rounds import Rounds, rounds_of
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_tasks


@dataclass(frozen=True, slots=True, kw_only=True)
class MorningList:
    """The rounds of each house asked for, with the words of the cautions they carry."""

    rounds: tuple[Rounds, ...]
    cautions: dict[str, Caution]


def rounds(
    desk: Desk, *, on: date | None = None, ahead: int = 3, house: str | None = None
) -> MorningList:
    """The rounds of a house, or of all of them one after another.

    on : the day to look at; None for today in the house. ahead : days of coming work shown.
    """
    holding = desk.record.snapshot(living_only=True)
    houses = list(holding.houses.values()) if house is None else [house_called(holding, house)]
    day = on or today_in(desk, first_house(holding))
    scene = scene_on(desk, holding, day)
    listed = [rounds_of(scene, one, ahead) for one in sorted(houses, key=lambda each: each.number)]
    if listed:
        # They belong to no house, so the first list carries them.
        questions = _unanswered(desk, scene)
        listed[0] = replace(listed[0], remarks=(*questions, *listed[0].remarks))
    needed = {caution for each in listed for line in each.lines for caution in line.cautions}
    cautions = {id_: c for id_, c in scene.catalogue.cautions.items() if id_ in needed}
    return MorningList(rounds=tuple(listed), cautions=cautions)


def _unanswered(desk: Desk, scene: Scene) -> list[str]:
    """What ticks from the phone wait for, unless the work was written since the last sync."""
    waiting = waiting_ticks(desk.record)
    still_open = {task.key for task in open_tasks(scene)} if waiting else set()
    return [question for question, keys in waiting if still_open.intersection(keys)]
