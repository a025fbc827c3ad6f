"""Learning from the record: what finished and waiting stages say of a crop in this house.

Every duration is divided by the one predicted for the weather it had, so what is learnt is how
this house differs from the catalogue. A tray counts as one to two records, for its plants share
one fate; weeks in which nothing was written are left out; a figure the grower set is never moved.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

from cropplan.catalogue.model import Crop, Trust
from cropplan.growth.censored import Weighed
from cropplan.growth.learning import fate, learn, tray_weight
from cropplan.growth.pace_law import low_and_high
from cropplan.growth.stages import Weather, progress
from cropplan.holding.lesson import RootingLesson, StageLesson
from cropplan.holding.planting import ORDER, Origin, Planting, Stage
from cropplan.schedule.lengths import pace_for, steps_from

#: First and last day of a stretch in which nothing was written.
Silence = tuple[date, date]
#: The weather that a planting has had.
WeatherOf = Callable[[Planting], Weather]


def stage_lessons(
    crop: Crop,
    plantings: Sequence[Planting],
    weather_of: WeatherOf,
    today: date,
    silences: Sequence[Silence],
) -> list[StageLesson]:
    """What every stage of a crop has taught, from plantings living and ended."""
    heard: dict[str, tuple[list[Weighed], list[Weighed]]] = {}
    for planting in plantings:
        for begin, end, key in steps_from(crop, planting.way):
            if end is Stage.SET_OUT or not _may_teach(crop, key):
                continue
            finished, waiting = heard.setdefault(key, ([], []))
            row = _row(crop, planting, begin, end, key, weather_of, today, silences)
            if row is not None:
                (finished if row[1] else waiting).append(row[0])
    return [
        _lesson(crop, key, finished, waiting)
        for key, (finished, waiting) in heard.items()
        if finished or waiting
    ]


def rooting_lessons(crop: Crop, plantings: Sequence[Planting]) -> list[RootingLesson]:
    """How many of what was struck or sown rooted, by way, where the fate is known."""
    counts: dict[str, tuple[int, int]] = {}
    for planting in plantings:
        if planting.origin in {Origin.SPLIT, Origin.BOUGHT_IN}:
            continue
        rooted, failed = _fates(planting)
        key = f"{planting.way.value}_success"
        had = counts.get(key, (0, 0))
        counts[key] = (had[0] + rooted, had[1] + failed)
    return [
        RootingLesson(crop=crop.id, key=key, rooted=rooted, failed=failed)
        for key, (rooted, failed) in counts.items()
        if rooted + failed
    ]


def _fates(planting: Planting) -> tuple[int, int]:
    """Plants that are known to have rooted, and to have failed before they did."""
    if Stage.ROOTED not in planting.seen and Stage.EMERGED not in planting.seen:
        return 0, planting.lost
    # Parts that were set out had rooted; what was lost after rooting is another matter, and the
    # record does not say which of a tray's losses came before.
    return min(planting.begun, planting.rooted + planting.split_off), planting.lost


def _may_teach(crop: Crop, key: str) -> bool:
    figure = crop.values.get(key)
    return figure is not None and figure.trust is not Trust.OWN


def _row(
    crop: Crop,
    planting: Planting,
    begin: Stage,
    end: Stage,
    key: str,
    weather_of: WeatherOf,
    today: date,
    silences: Sequence[Silence],
) -> tuple[Weighed, bool] | None:
    """One planting's word on a stage: its ratio so far, and whether the stage ended."""
    start, seen = planting.seen.get(begin), planting.seen.get(end)
    if start is None or (ORDER[begin] == 0 and planting.started_give):
        return None
    # A part carries its batch's rooting with it; the batch has told of that already.
    if planting.origin is Origin.SPLIT and ORDER[end] < ORDER[Stage.SET_OUT]:
        return None
    last = planting.ended_on or today
    told = fate(start, seen, last, silences)
    if told is None or told.until <= start:
        return None
    ratio = progress(pace_for(crop, key), start, told.until, weather_of(planting))
    if ratio <= 0:
        return None
    plants = max(1, planting.rooted if end is Stage.ROOTED else planting.count)
    return Weighed(ratio=ratio, weight=tray_weight(plants)), told.finished


def _lesson(
    crop: Crop, key: str, finished: Sequence[Weighed], waiting: Sequence[Weighed]
) -> StageLesson:
    low, high = low_and_high(pace_for(crop, key))
    success = crop.values.get(key.replace("_days_to_root", "_success"))
    share = success.typical if success is not None and key.endswith("_days_to_root") else 1.0
    learnt = learn((low, 1.0, high), finished, waiting, success=min(1.0, share))
    return StageLesson(
        crop=crop.id,
        key=key,
        median=learnt.spread.median,
        below=learnt.spread.below,
        above=learnt.spread.above,
        df=learnt.spread.df,
        weight=learnt.weight,
        finished=len(finished),
        waiting=len(waiting),
    )
