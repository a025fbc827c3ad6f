"""What puts the season plan in force in danger: work undone, plants gone, picks that move."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import timedelta

from cropplan.schedule.lengths import bearing_stage
from cropplan.schedule.planned import LATE, begun_for, open_strikes
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text

#: A first pick planned for a week is in danger once it is likely so long after the week began. [d]
#: Common practice, no source.
_MOVED = 7 + LATE
#: Plants that go so soon before the plan has them go are no loss to it. [d] Common practice, no
#: source.
_NEARLY_DONE = 14


def plan_in_danger(scene: Scene) -> Iterator[str]:
    """One line on what the plan in force can no longer count on, the nearest first; or none."""
    plan = scene.holding.plan
    if plan is None or plan.until < scene.today:
        return
    dangers = [*_undone(scene), *_gone(scene), *_moved(scene)]
    if dangers:
        more = f"; and {len(dangers) - 1} more" if len(dangers) > 1 else ""
        yield f"season plan: {dangers[0]}{more}; 'cropplan season plan' plans the rest anew"


def _undone(scene: Scene) -> Iterator[str]:
    for strike, count in open_strikes(scene):
        if strike.on + timedelta(days=LATE) < scene.today:
            yield (
                f"{count} {strike.crop} of {day_text(strike.on, scene.today)} not begun, so the "
                f"pick from {day_text(strike.first_pick, scene.today)} is in danger"
            )


def _gone(scene: Scene) -> Iterator[str]:
    """Plants that the plan counts on for longer and that stand no more."""
    counted: Counter[str] = Counter()
    for stand in scene.holding.plan.stands if scene.holding.plan else ():
        if (min(stand.until, stand.likely or stand.until) - scene.today).days > _NEARLY_DONE:
            counted[stand.tag] += stand.count
    stands: Counter[str] = Counter()
    for planting in scene.holding.plantings.values():
        if planting.alive:
            stands[planting.tag] += planting.count
            # What was set out of a tray is still the plants that waited in it.
            stands[planting.split_of or ""] += planting.count
    for tag, count in counted.items():
        if count > stands[tag]:
            yield f"{count - stands[tag]} of {tag} gone, which it counts on"


def _moved(scene: Scene) -> Iterator[str]:
    """First picks that now come later than planned, after a cold spell or slow rooting."""
    for strike, begun in begun_for(scene):
        for planting, _ in begun:
            crop = scene.catalogue.crops[planting.crop]
            first = scene.timelines[planting.tag].dates.get(bearing_stage(crop))
            if first is not None and (first.likely - strike.first_pick).days > _MOVED:
                yield (
                    f"first pick of {planting.tag}, planned for the week of "
                    f"{day_text(strike.first_pick, scene.today)}, now likely "
                    f"{day_text(first.likely, scene.today)}"
                )
