"""What one plant of a crop gives in this house, week by week, from the catalogue and the record."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil

from cropplan.catalogue.model import Crop, Habit
from cropplan.growth.chance import spread_from
from cropplan.growth.stages import Weather
from cropplan.holding.planting import Stage
from cropplan.schedule.attained import Attained
from cropplan.schedule.harvest import anchor_of, light_for, pick_of_plants
from cropplan.schedule.lengths import bearing_stage, steps_from
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.relay import usual_way
from cropplan.season.demand import Mothering

WEEK = timedelta(days=7)
#: A plant's first week of picking gives half of full bearing. Common practice, no source.
_FIRST_WEEK = 0.5
#: Lengths of picking to choose from, as shares of the usual one. Common practice, no source.
_STAYS = (0.5, 0.75, 1.0, 1.25)
#: Where the catalogue has no span for a picking life, eight in ten lie so far about it, as shares
#: of the usual one. Common practice, no source.
_LIFE_LOW, _LIFE_HIGH = 0.75, 1.33
#: An 80 % span of the normal curve is so many standard deviations wide.
DEVIATIONS_IN_80 = 2.563
_LONGEST = 60


def life_of(crop: Crop) -> int:
    """Weeks that a plant is usually picked. [week]"""
    figure = crop.values.get("picking_life")
    cuts, apart = crop.values.get("cuts"), crop.values.get("pick_interval")
    days = [figure.typical] if figure else []
    if cuts and apart:
        days.append(cuts.typical * apart.typical)
    return min(_LONGEST, max(1, round(min(days) / 7))) if days else 1


def bearing_on(crop: Crop, lessons: Lessons) -> tuple[float, ...]:
    """The share of plants that still bear, by week since the first pick. [1]

    By the catalogue's 80 % span of the picking life, or the house's own once it is learnt. It ends
    where a plant is pulled at the longest stay.
    """
    if crop.habit is Habit.HEAD:
        return (1.0,)
    life = life_of(crop)
    figure = crop.values.get("picking_life")
    low, high = _LIFE_LOW, _LIFE_HIGH
    if figure is not None and figure.low is not None and figure.high is not None:
        low, high = figure.least / figure.typical, figure.most / figure.typical
    known = lessons.spreads.get((crop.id, "picking_life"))
    spread = known or spread_from(low, 1.0, high, float("inf"))
    longest = max(stays_of(crop))
    return tuple(spread.still_waiting((week + 0.5) / life) for week in range(longest))


def curve_of(crop: Crop, lessons: Lessons) -> tuple[float, ...]:
    """The pick of one plant in full light, by week since the first. [unit per plant and week]"""
    if crop.habit is Habit.HEAD:
        return (1.0,)
    figure = crop.values.get("weekly_yield")
    full = 0.0 if figure is None else figure.typical
    first = _FIRST_WEEK if life_of(crop) > 1 else 1.0
    shares = bearing_on(crop, lessons)
    return tuple(full * share * (first if week == 0 else 1.0) for week, share in enumerate(shares))


def stays_of(crop: Crop) -> tuple[int, ...]:
    """Lengths of picking worth choosing from. [week]"""
    if crop.habit is Habit.HEAD:
        return (1,)
    life = life_of(crop)
    return tuple(sorted({min(_LONGEST, max(1, round(life * share))) for share in _STAYS}))


def full_bearing(crop: Crop, week: date, weather: Weather, attained: Attained | None) -> float:
    """The share of the catalogue's yield that a plant in full bearing gives in a week. [1]

    By the light and warmth behind the pick, and by what this house has attained before.
    """
    anchor = anchor_of(crop)
    if anchor is None or crop.habit is Habit.HEAD:
        return 1.0
    own = None if attained is None else attained.spread_at(light_for(crop, week, weather))
    return pick_of_plants(crop, anchor, 1.0, week, weather, own).likely / anchor.typical


def pick_weeks(crop: Crop) -> float:
    """Weeks between the picks of one planting; 0 for what is cut once. [week]"""
    apart = crop.values.get("pick_interval")
    return 0.0 if apart is None or crop.habit is Habit.HEAD else apart.typical / 7


def yield_spread(crop: Crop, week: date, weather: Weather, attained: Attained | None) -> float:
    """How far the pick of a week of all plants of a crop strays from the likely, as a share. [1]

    As a standard deviation. Before the house has weighed any, from the catalogue's span of houses.
    """
    figure = crop.values.get("weekly_yield")
    if figure is None or figure.typical <= 0 or crop.habit is Habit.HEAD:
        return 0.0
    if attained is not None:
        own = attained.spread_at(light_for(crop, week, weather))
        return (own.ratio_at(0.9) - own.ratio_at(0.1)) / own.median / DEVIATIONS_IN_80
    return (figure.most - figure.least) / figure.typical / DEVIATIONS_IN_80


def mothering_of(crop: Crop) -> Mothering | None:
    """What its plants give as mothers; None when the catalogue does not know."""
    shoots, fit = crop.values.get("shoots_per_week"), crop.values.get("mother_from")
    if shoots is None:
        return None
    cap = crop.values.get("generations")
    begin = 0 if fit is None else ceil(fit.typical / 7)
    lead = sum(
        crop.values[key].typical
        for _, end, key in steps_from(crop, usual_way(crop))
        if end in {Stage.FLOWERING, bearing_stage(crop)}
    )
    return Mothering(
        shoots=shoots.typical,
        fit_from=begin,
        fit_until=max(begin + 1, ceil(lead / 7) + life_of(crop)),
        generation_cap=None if cap is None else round(cap.typical),
    )
