"""What to know before the walk: unwritten weeks, clones at risk, plants held too long."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta

from cropplan.holding.planting import CLONAL, Planting, Stage
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text, days_text, list_text, plants_text

#: Days without an entry after which the record no longer says what is true. Common practice, no
#: source.
SILENCE = 14


def remarks(scene: Scene, house: str) -> Iterator[str]:
    """Remarks on one house, most pressing first."""
    living = [
        p
        for p in scene.holding.plantings.values()
        if p.alive and scene.holding.places[p.place].house == house
    ]
    yield from _silence(scene)
    yield from _away(scene, house)
    yield from _clones_at_risk(living)
    yield from _held_too_long(scene, living)
    yield from _old_lines(scene, living)


def unwritten_days(scene: Scene) -> int:
    """Days since anything was written, absences left out; 0 when that is nothing unusual."""
    last = scene.holding.last_entry
    if last is None:
        return 0
    silent = 0
    day = last + timedelta(days=1)
    while day < scene.today:
        silent += not any(absence.holds(day) for absence in scene.holding.absences)
        day += timedelta(days=1)
    return silent if silent >= SILENCE else 0


def _silence(scene: Scene) -> Iterator[str]:
    silent = unwritten_days(scene)
    last = scene.holding.last_entry
    if silent and last is not None:
        yield (
            f"nothing written since {day_text(last, scene.today)} ({days_text(silent)}): "
            "walk the house and write what is true now; those days count as not known"
        )


def _away(scene: Scene, house: str) -> Iterator[str]:
    for absence in scene.holding.absences:
        if absence.house not in {None, house}:
            continue
        if absence.holds(scene.today):
            yield f"away until {day_text(absence.last, scene.today)}: only what must go on is asked"
        elif 0 < (absence.first - scene.today).days <= 10:
            yield (
                f"away {day_text(absence.first, scene.today)} to "
                f"{day_text(absence.last, scene.today)}: no new cuttings now"
            )


def _clones_at_risk(living: list[Planting]) -> Iterator[str]:
    by_clone: dict[str, list[Planting]] = defaultdict(list)
    for planting in living:
        if planting.way in CLONAL:
            by_clone[planting.clone].append(planting)
    for plantings in by_clone.values():
        if len(plantings) == 1 and plantings[0].count == 1:
            last = plantings[0]
            name = f" '{last.cultivar}'" if last.cultivar else ""
            yield f"{last.tag} in {last.place} is the last plant of its clone{name}"


def _held_too_long(scene: Scene, living: list[Planting]) -> Iterator[str]:
    for planting in living:
        if planting.stage not in {Stage.ROOTED, Stage.EMERGED}:
            continue
        guess = scene.timelines[planting.tag].first_guess.get(Stage.SET_OUT)
        hold = scene.catalogue.crops[planting.crop].values.get("days_can_hold")
        if guess is None or hold is None:
            continue
        held = (scene.today - guess.likely).days
        if held > hold.most:
            yield (
                f"{planting.tag} in {planting.place} ({plants_text(planting.count)}) has been fit "
                f"to set out for {days_text(held)}: pot on, set out or give away"
            )


def _old_lines(scene: Scene, living: list[Planting]) -> Iterator[str]:
    old = []
    for planting in living:
        cap = scene.catalogue.crops[planting.crop].values.get("generations")
        if cap is not None and planting.generation > cap.typical:
            old.append(f"{planting.tag} ({planting.generation})")
    if old:
        yield f"many cuttings from fresh stock: {list_text(old)}; think of new stock"
