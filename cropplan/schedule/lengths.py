"""The lengths of a crop's stages: the catalogue's figures as paces that growth can run."""

from __future__ import annotations

from functools import lru_cache

from cropplan.catalogue.model import Crop, Figure, Habit
from cropplan.growth.paces import (
    QUICKEST,
    ROOTING,
    SLOWEST,
    DimLight,
    Pace,
    PlainDays,
    TemperatureGrid,
    ThermalTime,
)
from cropplan.holding.planting import Origin, Stage

_FIRST = {Origin.SEED: Stage.SOWN, Origin.BOUGHT_IN: Stage.BOUGHT_IN}


def pace_of(key: str, figure: Figure) -> Pace:
    """The pace that a figure of the catalogue stands for.

    Measured points are interpolated, sums of degree-days added up, and plain days kept, except
    that rooting stated at a temperature is carried to others as `paces.ROOTING` says.
    """
    dim = None if figure.light_enough is None else DimLight(enough=figure.light_enough)
    low = figure.least / figure.typical if figure.low is not None else QUICKEST
    high = figure.most / figure.typical if figure.high is not None else SLOWEST
    if figure.points:
        return TemperatureGrid(points=figure.points, low=low, high=high, dim=dim)
    if figure.unit == "degC d":
        return ThermalTime(
            base_c=figure.base_c or 0.0,
            ceiling_c=figure.ceiling_c,
            degree_days=figure.typical,
            low=low,
            high=high,
            dim=dim,
        )
    rooting = key.endswith("_days_to_root") and figure.at_c is not None
    return PlainDays(
        low=figure.typical * low,
        typical=figure.typical,
        high=figure.typical * high,
        at_c=figure.at_c,
        scaling=ROOTING if rooting else None,
        dim=dim,
    )


def steps_from(crop: Crop, way: Origin) -> tuple[tuple[Stage, Stage, str], ...]:
    """The stages a planting passes, each with the figure that says how long it takes.

    way : how its plants began.
    Returns (from, to, key) in order, leaving out stages of which the catalogue knows no length.
    """
    if way is Origin.SEED:
        steps = [
            (Stage.SOWN, Stage.EMERGED, "seed_days_to_emerge"),
            (Stage.EMERGED, Stage.SET_OUT, "emerged_to_ready"),
        ]
    elif way is Origin.BOUGHT_IN:
        steps = []
    else:
        steps = [
            (Stage.STRUCK, Stage.ROOTED, f"{way.value}_days_to_root"),
            (Stage.ROOTED, Stage.SET_OUT, "rooted_to_ready"),
        ]
    bearing = bearing_stage(crop)
    if "set_out_to_flower" in crop.values:
        steps.append((Stage.SET_OUT, Stage.FLOWERING, "set_out_to_flower"))
        steps.append((Stage.FLOWERING, bearing, "flower_to_pick"))
    else:
        steps.append((Stage.SET_OUT, bearing, "set_out_to_pick"))
    steps.append((bearing, Stage.SPENT, "picking_life"))
    return tuple(step for step in steps if step[2] in crop.values)


def first_stage(way: Origin) -> Stage:
    """The stage in which plants begin, by how they are begun."""
    return _FIRST.get(way, Stage.STRUCK)


def bearing_stage(crop: Crop) -> Stage:
    """The stage in which a crop is picked: fruiting for fruit, picking for leaves and heads."""
    return Stage.FRUITING if crop.habit is Habit.FRUIT else Stage.PICKING


@lru_cache(maxsize=512)
def _pace(key: str, figure: Figure) -> Pace:
    return pace_of(key, figure)


def pace_for(crop: Crop, key: str) -> Pace:
    """The pace of one of a crop's stages, made once."""
    return _pace(key, crop.values[key])
