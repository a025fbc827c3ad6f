"""What the house has taught, beside what the catalogue says."""

from __future__ import annotations

from dataclasses import dataclass

from cropplan.catalogue.keys import CROP_KEYS
from cropplan.catalogue.model import Catalogue, Figure
from cropplan.catalogue.read import find_crop, read_catalogue
from cropplan.desk.desk import Desk, first_house, today_in
from cropplan.desk.yields import attained
from cropplan.growth.chance import Spread
from cropplan.growth.rooting import success_from
from cropplan.holding.lesson import RootingLesson, StageLesson
from cropplan.schedule.attained import Attained
from cropplan.schedule.lessons import SUCCESS_WEIGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class Taught:
    """One figure of the catalogue beside what this house makes of it.

    says : what the figure is about. figure : the catalogue's, or the grower's own, which is never
        moved.
    here, low, high : the house's figure and its 80 % span, in the figure's unit; a share has no
        span.
    stage : what was learnt of a length. rooting : what was learnt of a share.
    weeks : whose picks were weighed, for what was learnt of a yield.
    """

    crop: str
    key: str
    says: str
    figure: Figure
    here: float
    low: float
    high: float
    stage: StageLesson | None = None
    rooting: RootingLesson | None = None
    weeks: int = 0


def learnt(desk: Desk, crop_text: str | None = None) -> list[Taught]:
    """Everything learnt, of one crop or of all."""
    wanted = None if crop_text is None else find_crop(crop_text)
    stages, rootings = desk.record.lessons()
    holding = desk.record.snapshot()
    told_of = {lesson.crop for lesson in stages} | {lesson.crop for lesson in rootings}
    told_of |= {planting.crop for planting in holding.plantings.values()}
    crops = told_of if wanted is None else told_of & {wanted}
    catalogue = read_catalogue(crops, desk.own_figures)
    yields = attained(desk, crops, today_in(desk, first_house(holding))) if crops else {}
    rows = [_of_stage(catalogue, lesson) for lesson in stages if lesson.crop in crops]
    rows += [_of_rooting(catalogue, told) for told in rootings if told.crop in crops]
    rows += [_of_yield(catalogue, crop, told) for crop, told in yields.items()]
    return sorted((row for row in rows if row is not None), key=lambda row: (row.crop, row.key))


def _of_stage(catalogue: Catalogue, lesson: StageLesson) -> Taught | None:
    figure = catalogue.crops[lesson.crop].values.get(lesson.key)
    if figure is None:
        return None
    spread = Spread(median=lesson.median, below=lesson.below, above=lesson.above, df=lesson.df)
    return Taught(
        crop=lesson.crop,
        key=lesson.key,
        says=CROP_KEYS[lesson.key].says,
        figure=figure,
        here=figure.typical * lesson.median,
        low=figure.typical * spread.ratio_at(0.1),
        high=figure.typical * spread.ratio_at(0.9),
        stage=lesson,
    )


def _of_yield(catalogue: Catalogue, crop: str, told: Attained) -> Taught:
    """What the picks say: the house's yield in the light and warmth that the catalogue's is for."""
    figure = catalogue.crops[crop].values["weekly_yield"]
    return Taught(
        crop=crop,
        key="weekly_yield",
        says=CROP_KEYS["weekly_yield"].says,
        figure=figure,
        here=figure.typical * told.spread.median,
        low=figure.typical * told.spread.ratio_at(0.1),
        high=figure.typical * told.spread.ratio_at(0.9),
        weeks=len(told.weeks),
    )


def _of_rooting(catalogue: Catalogue, told: RootingLesson) -> Taught | None:
    figure = catalogue.crops[told.crop].values.get(told.key)
    if figure is None or not 0 < figure.typical < 1:
        return None
    believed = success_from(figure.typical, SUCCESS_WEIGHT).updated(told.rooted, told.failed)
    return Taught(
        crop=told.crop,
        key=told.key,
        says=CROP_KEYS[told.key].says,
        figure=figure,
        here=believed.mean,
        low=believed.mean,
        high=believed.mean,
        rooting=told,
    )
