"""The pace of a stage: how far it gets in a day, by temperature and light.

A pace is one of five small values, each the form in which sources give a stage's length. Whatever
the form, the answer is one number: the share of the stage done in a day. `pace_law` works it out;
a stage ends when its shares add up to one, which `stages` does.
"""

from __future__ import annotations

from dataclasses import dataclass

from cropplan.growth.warmth import DayWarmth
from cropplan.problems import Refusal

QUICKEST, SLOWEST = 0.85, 1.18
"""The 80 % span where a source gives no spread: about a sixth either way. [-] Common practice, no
source; the house's own records replace it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayConditions:
    """What one day offers a plant.

    warmth : low and high where the plant stands. [°C]
    dli : usable photons on the leaf. [mol m-2 d-1]
    lost : share of the day's growth lost to a setback; 1 for a day that did not count. [-]
    """

    warmth: DayWarmth
    dli: float
    lost: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DimLight:
    """How a stage slows in poor light: pace × min(1, dli / enough) ** strength.

    enough : light from which more brings nothing. [mol m-2 d-1]
    strength : 1 for a stage that waits for a sum of light, 0 for one that does not care. [-]
    """

    enough: float
    strength: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MildScaling:
    """How far days stated at one temperature may be carried to another: by the ratio of two
    readings of the Yan-Hunt curve, no further than a stated range.

    t_opt_c, t_max_c : the curve's optimum and upper end. [°C]
    from_c, to_c : outside these the reading at the edge is kept, and said to be. [°C]
    """

    t_opt_c: float
    t_max_c: float
    from_c: float
    to_c: float


ROOTING = MildScaling(t_opt_c=27.0, t_max_c=35.0, from_c=18.0, to_c=30.0)
"""For rooting by the medium's temperature. Assumed, no source for the curve; the slow end under
20 °C and failure over 32 °C follow Wilkerson et al. 2005, J. ASHS 130:302-307 (poinsettia)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainDays:
    """Days, whatever the weather, unless `scaling` says that they may be carried elsewhere.

    low, typical, high : days that one in ten beats, half beat, nine in ten beat. [d]
    at_c : the temperature that the days were seen at; None when it was not stated. [°C]
    scaling : how they change with temperature; needs `at_c`; None for not at all.
    dim : how poor light slows the stage; None where no source says that it does.
    """

    low: float
    typical: float
    high: float
    at_c: float | None = None
    scaling: MildScaling | None = None
    dim: DimLight | None = None

    def __post_init__(self) -> None:
        _check_rising("days", self.low, self.typical, self.high)
        if self.scaling and self.at_c is None:
            raise Refusal("days can only be scaled from the temperature they were seen at")


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalTime:
    """Degree-days above a base, by the single sine; above the ceiling it gets no faster.

    base_c, ceiling_c : no growth below, no more above; None for no ceiling. [°C]
    degree_days : likely sum. [°C d]
    low, high : ratio to it that one in ten beats, and nine in ten beat. [-]
    """

    base_c: float
    degree_days: float
    ceiling_c: float | None = None
    low: float = QUICKEST
    high: float = SLOWEST
    dim: DimLight | None = None

    def __post_init__(self) -> None:
        _check_rising("ratios", self.low, 1.0, self.high)
        if self.degree_days <= 0:
            raise Refusal(f"a sum of {self.degree_days:g} degree-days must be above 0")


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperatureGrid:
    """Days measured at several temperatures; between them 1/days runs straight.

    points : (temperature [°C], days [d]) rising by temperature; None days where nothing came.
    low, high : ratio to the likely days that one in ten beats, and nine in ten beat. [-]
    Outside the measured temperatures the nearest measurement is kept, and said to be.
    """

    points: tuple[tuple[float, float | None], ...]
    low: float = QUICKEST
    high: float = SLOWEST
    dim: DimLight | None = None

    def __post_init__(self) -> None:
        _check_rising("ratios", self.low, 1.0, self.high)
        temps = [temp for temp, _ in self.points]
        if not temps or temps != sorted(set(temps)):
            raise Refusal("a temperature grid needs one or more temperatures, each above the last")
        if any(days is not None and days <= 0 for _, days in self.points):
            raise Refusal("days in a temperature grid must be above 0; leave out what never came")


@dataclass(frozen=True, slots=True, kw_only=True)
class YanHunt:
    """A curve with an optimum: r_max (Tm - T)/(Tm - To) (T/To) ** (To/(Tm - To)).

    r_max : share of the stage done in a day at the optimum. [d-1]
    t_opt_c, t_max_c : fastest, and none at or above; none at or below 0 °C. [°C]
    from_c, to_c : the range the curve was fitted in; outside, the edge is kept and said to be;
        None for the whole curve. [°C]
    low, high : ratio to the likely days that one in ten beats, and nine in ten beat. [-]
    Source: Yan & Hunt 1999, Annals of Botany 84:607-614.
    """

    r_max: float
    t_opt_c: float
    t_max_c: float
    from_c: float | None = None
    to_c: float | None = None
    low: float = QUICKEST
    high: float = SLOWEST
    dim: DimLight | None = None

    def __post_init__(self) -> None:
        _check_rising("ratios", self.low, 1.0, self.high)
        if not (self.r_max > 0 and 0 < self.t_opt_c < self.t_max_c):
            raise Refusal("a Yan-Hunt curve needs r_max above 0 and 0 < optimum < maximum")


@dataclass(frozen=True, slots=True, kw_only=True)
class LightSum:
    """A sum of light, and never fewer than some days: days = max(days_min, mol / dli).

    days_min : however bright. [d]
    mol : light needed. [mol m-2]
    low, high : ratio to the likely days that one in ten beats, and nine in ten beat. [-]
    Source: Calvert 1959, J. Hort. Sci., for tomato to first flower: 40 d, and 400 000 foot-candle
    hours, which are 287 mol m-2 at 54 lx per µmol m-2 s-1 (Thimijan & Heins 1983).
    """

    days_min: float
    mol: float
    low: float = QUICKEST
    high: float = SLOWEST

    def __post_init__(self) -> None:
        _check_rising("ratios", self.low, 1.0, self.high)
        if self.days_min <= 0 or self.mol <= 0:
            raise Refusal("a light sum needs days and mol above 0")


Pace = PlainDays | ThermalTime | TemperatureGrid | YanHunt | LightSum


def _check_rising(what: str, low: float, typical: float, high: float) -> None:
    if not 0 < low <= typical <= high:
        raise Refusal(
            f"{what} of a stage must be above 0 and rise; got {low:g}, {typical:g}, {high:g}"
        )
