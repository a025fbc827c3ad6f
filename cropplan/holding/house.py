"""One glasshouse or tunnel, and the times its people are away."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import Enum


class Failing(Enum):
    """What a house may go without."""

    POWER = "power"
    HEAT = "heat"


class Units(Enum):
    """The units a house is spoken of in; inside the program all is SI."""

    METRIC = "metric"
    US = "us"


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """One house: where it stands, how it is heated and lit.

    latitude, longitude : position. [degrees north, degrees east]
    zone : IANA time-zone name; the house's day, not the computer's, is "today".
    day_c, night_c : set temperatures of the air. [°C]
    cover : share of outside light that reaches the plants, 0–1.
    lamp_mol : light that lamps add. [mol m⁻² d⁻¹]
    outside_low_c, outside_high_c : normals of the site for January to December; empty when not
        given, which leaves the set temperatures alone to speak. [°C]
    clearness : share of the light above the air that reaches the ground, January to December;
        empty when not given.
    number : 1 for the first house of a record; later houses carry it in their handles.
    since : day it was put into the record, from which its duties count.
    media_minutes : work on media that the grower has time for in a week; None for the usual. [min]
    solids_wait_days : wait of the grower's own choosing between solids on a bed and a pick; None
        for none. [d]
    altitude_m : height above the sea; None counts as sea level. [m]
    failed : what last failed. failed_on : the day it did.
    work_days : days of the week on which plants are struck, set out and pulled, 1 for Monday to 7
        for Sunday; every day when empty.
    """

    name: str
    latitude: float
    longitude: float
    zone: str
    units: Units = Units.METRIC
    day_c: float = 20.0
    night_c: float = 16.0
    cover: float = 0.6
    lamp_mol: float = 0.0
    outside_low_c: tuple[float, ...] = ()
    outside_high_c: tuple[float, ...] = ()
    clearness: tuple[float, ...] = ()
    number: int = 1
    since: date | None = None
    media_minutes: float | None = None
    solids_wait_days: int | None = None
    altitude_m: float | None = None
    failed: Failing | None = None
    failed_on: date | None = None
    work_days: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Absence:
    """A time away, both days included; None for `house` means away from all of them."""

    first: date
    last: date
    house: str | None = None

    def holds(self, day: date) -> bool:
        """Whether `day` falls within the absence."""
        return self.first <= day <= self.last


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTemperature:
    """The lowest and highest air temperature read in a house on one day. [°C]"""

    house: str
    day: date
    low_c: float
    high_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Setback:
    """A time in which plants stood still: the heater out, a dull spell, a check at planting.

    crop : None when it struck everything in the house.
    days : whole days of growth lost, from `day` on.
    low_c : the lowest temperature it came to, when that is known. [°C]
    """

    house: str
    day: date
    days: int
    why: str
    crop: str | None = None
    low_c: float | None = None

    def holds(self, day: date) -> bool:
        """Whether `day` was lost to it."""
        return 0 <= (day - self.day).days < self.days
