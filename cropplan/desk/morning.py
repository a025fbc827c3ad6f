"""The morning list, apart from the other questions: it is asked before coffee and must not wait."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cropplan.catalogue.model import Caution
from cropplan.desk.desk import Desk, first_house, house_called, scene_on, today_in
from cropplan.schedule.rounds import Rounds, rounds_of


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
    listed = tuple(
        rounds_of(scene, one, ahead) for one in sorted(houses, key=lambda house: house.number)
    )
    needed = {caution for each in listed for line in each.lines for caution in line.cautions}
    cautions = {id_: c for id_, c in scene.catalogue.cautions.items() if id_ in needed}
    return MorningList(rounds=listed, cautions=cautions)
