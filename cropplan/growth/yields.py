"""Yields: what to expect in the basket each week, from what a plant is said to give.

The anchor is the catalogue's yield of a plant in bearing, at a stated light and temperature. Light
and temperature of this house move it, the house's own pickings correct it, and what light could
make at the very best is a ceiling, never a forecast.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp, floor, inf, log10

from cropplan.growth.chance import Spread
from cropplan.growth.pace_law import rate
from cropplan.growth.paces import Pace
from cropplan.problems import Refusal

FRUIT_LIGHT_ELASTICITY = 0.85
"""One hundredth more light gives this many hundredths more fruit: the middle of 0.7 to 1. [-]
Marcelis, Broekhuijsen, Nijs & Raaphorst 2006, Acta Hort. 711:97-103, fruit vegetables."""

LEAF_LIGHT_ELASTICITY = 0.9
"""The same for salads and herbs: the middle of 0.8 to 1, vegetables grown in soil. [-] Marcelis
et al. 2006."""

BRIGHTEST = 2.0
"""Light beyond this many times the anchor's is given no credit: the rule was found near the light
that growers have. [-] Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class YieldAnchor:
    """What one plant in bearing gives in a week, and in which light and temperature.

    low, typical, high : eight houses in ten lie between low and high. [kg plant-1 week-1]
    at_dli : light on the leaf at which it was seen. [mol m-2 d-1]
    at_c : mean temperature at which it was seen. [°C]
    elasticity : hundredths of yield for one hundredth of light. [-]
    """

    low: float
    typical: float
    high: float
    at_dli: float
    at_c: float
    elasticity: float

    def __post_init__(self) -> None:
        if not 0 < self.low <= self.typical <= self.high:
            raise Refusal(
                f"a yield must be above 0 and rise; got {self.low:g}, {self.typical:g}, "
                f"{self.high:g}"
            )
        if self.at_dli <= 0:
            raise Refusal(
                f"a yield needs the light it was seen at; got {self.at_dli:g} mol m-2 d-1"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekPick:
    """What a week should bring. [kg]"""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LightUse:
    """How a crop turns light into what is picked.

    extinction : k, how fast leaves shade each other. [-]
    efficiency : dry matter made of light caught. [g MJ-1 of usable light]
    picked_share : share of the dry matter that is picked. [-]
    dry_share : dry matter in what is picked. [g g-1]
    """

    extinction: float
    efficiency: float
    picked_share: float
    dry_share: float


def week_pick(
    plants: float,
    anchor: YieldAnchor,
    *,
    dli: float,
    temp_c: float,
    ripening: Pace | None,
    attained: Spread | None = None,
) -> WeekPick:
    """The pick of one week from plants in bearing. [kg]

    plants : in bearing that week. [-]
    dli : light that made it; see `light_behind`. [mol m-2 d-1]
    temp_c : mean temperature of the week. [°C]
    ripening : pace from flower to ripe; None for a crop whose pick does not wait for ripening.
    attained : ratio of the house's own pickings to this forecast, as learnt; None before any.
    Returns typical yield × light factor × warmth factor; low and high are the anchor's, or, once
    learnt, the house's.
    """
    moved = light_factor(anchor, dli)
    if ripening is not None:
        moved *= warmth_factor(ripening, temp_c, anchor.at_c)
    likely = plants * anchor.typical * moved
    if attained is not None:
        low, median, high = (attained.ratio_at(chance) for chance in (0.1, 0.5, 0.9))
        return WeekPick(low=likely * low, likely=likely * median, high=likely * high)
    return WeekPick(
        low=plants * anchor.low * moved, likely=likely, high=plants * anchor.high * moved
    )


def light_factor(anchor: YieldAnchor, dli: float) -> float:
    """Yield in this light over yield in the anchor's, (dli / at_dli) ** elasticity. [-]

    Source: Marcelis et al. 2006, Acta Hort. 711:97-103, read as a constant elasticity.
    """
    return float(min(BRIGHTEST, dli / anchor.at_dli) ** anchor.elasticity)


def warmth_factor(ripening: Pace, temp_c: float, at_c: float) -> float:
    """Yield at this temperature over yield at the anchor's, at most 1. [-]

    Colder, fruit ripens more slowly and fewer come in a week: the ratio of the two paces. Warmer
    brings fruit sooner but fewer or smaller, so it earns nothing: Adams et al. 2001, Annals of
    Botany 88:869-877 (tomato); Le Miere et al. 1998, J. Hort. Sci. Biotech. 73:786-795
    (strawberry).
    """
    # Endless light, so that only temperature tells the two paces apart.
    usual = rate(ripening, at_c, inf).per_day
    if usual == 0:
        raise Refusal(f"nothing ripens at {at_c:g} °C, so no yield can have been seen there")
    return min(1.0, rate(ripening, temp_c, inf).per_day / usual)


def light_behind(week_start: date, days_to_ripen: int, dli_of: Callable[[date], float]) -> float:
    """Mean light over the time in which a week's pick was made. [mol m-2 d-1]

    week_start : first day of the week of picking.
    days_to_ripen : from flower to ripe at that time of year; 0 takes the week itself. [d]
    """
    first = week_start - timedelta(days=days_to_ripen)
    days = [first + timedelta(days=day) for day in range(days_to_ripen + 7)]
    return sum(dli_of(day) for day in days) / len(days)


def potential_yield(radiation: float, cover: float, leaf_area: float, use: LightUse) -> float:
    """What light could make at the very best in a day: a ceiling. [kg m-2 d-1]

    radiation : outside, on level ground. [MJ m-2 d-1]
    cover : share that reaches the plants. [-]
    leaf_area : leaf over ground, LAI. [m2 m-2]
    Radiation × usable half × cover × share caught, 1 - exp(-k LAI) × efficiency × picked share /
    dry share. Usable half: Szeicz 1974, J. Appl. Ecol., 0.50 ± 0.03 of the energy. Catching of
    light by a canopy: Monsi & Saeki 1953, Jap. J. Bot. 14:22-52.
    """
    caught = radiation * 0.5 * cover * (1 - exp(-use.extinction * leaf_area))
    return caught * use.efficiency * use.picked_share / use.dry_share / 1000


def under_ceiling(pick: WeekPick, ceiling: float) -> WeekPick:
    """The pick with nothing above what light can make. [kg]"""
    return WeekPick(
        low=min(pick.low, ceiling), likely=min(pick.likely, ceiling), high=min(pick.high, ceiling)
    )


def in_round_figures(pick: WeekPick) -> WeekPick:
    """The pick to two figures, which is all that a planner knows. [kg]"""
    return WeekPick(
        low=_two_figures(pick.low), likely=_two_figures(pick.likely), high=_two_figures(pick.high)
    )


def _two_figures(value: float) -> float:
    return round(value, 1 - floor(log10(value))) if value > 0 else 0.0
