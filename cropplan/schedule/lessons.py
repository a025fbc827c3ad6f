"""What the schedule has been taught by the record, ready to use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from cropplan.catalogue.model import Crop, Trust
from cropplan.growth.chance import Spread
from cropplan.growth.rooting import Success, success_from
from cropplan.holding.lesson import RootingLesson, StageLesson

#: How many of the house's own plants the catalogue's share is worth. Common practice, no source.
SUCCESS_WEIGHT = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Lessons:
    """What the schedule has been taught.

    spreads : by crop and key, how the true length of a stage spreads about the predicted one.
    successes : by crop and key, the share that roots, as far as it is known.
    """

    spreads: Mapping[tuple[str, str], Spread] = field(default_factory=dict)
    successes: Mapping[tuple[str, str], Success] = field(default_factory=dict)


def lessons_as_taught(
    stages: Iterable[StageLesson], rootings: Iterable[RootingLesson], crops: Mapping[str, Crop]
) -> Lessons:
    """Kept lessons as the schedule uses them; a figure that the grower set is never moved."""
    successes = {}
    for told in rootings:
        figure = crops[told.crop].values.get(told.key) if may_teach(crops, told) else None
        if figure is not None and 0 < figure.typical < 1:
            belief = success_from(figure.typical, SUCCESS_WEIGHT)
            successes[told.crop, told.key] = belief.updated(told.rooted, told.failed)
    return Lessons(
        spreads={
            (told.crop, told.key): Spread(
                median=told.median, below=told.below, above=told.above, df=told.df
            )
            for told in stages
            if may_teach(crops, told)
        },
        successes=successes,
    )


def may_teach(crops: Mapping[str, Crop], told: StageLesson | RootingLesson) -> bool:
    """Whether a lesson is about a figure that is there, and not the grower's own."""
    figure = crops[told.crop].values.get(told.key) if told.crop in crops else None
    return figure is not None and figure.trust is not Trust.OWN
