"""Amounts as typed: `450g`, `1.2kg`, `3gal`, `68F`, `14d`; out come SI and whole numbers.

A bare number is in the house's own units. Conversions are exact by definition (NIST Handbook 44,
Appendix C): 1 lb = 453.59237 g, 1 oz = 1 lb / 16, 1 US gallon = 231 cubic inches.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from enum import Enum

from cropplan.holding.house import Units
from cropplan.problems import Misuse, did_you_mean

GRAMS: Mapping[str, float] = {"g": 1.0, "kg": 1000.0, "oz": 453.59237 / 16, "lb": 453.59237}
LITRES: Mapping[str, float] = {"l": 1.0, "ml": 0.001, "gal": 231 * 16.387064 / 1000, "m3": 1000.0}
METRES: Mapping[str, float] = {"m": 1.0, "ft": 0.3048}
_OTHER_WORDS = {"lbs": "lb", "litre": "l", "litres": "l", "gallon": "gal", "gallons": "gal"}

UnitsOf = Callable[[], Units]


class Bare(Enum):
    """What a bare number of each kind is in, by the units of the house."""

    MASS = ("g", "oz")
    HARVEST = ("kg", "lb")
    VOLUME = ("l", "gal")
    WARMTH = ("c", "f")

    def of(self, units: Units) -> str:
        """The unit of a bare number."""
        metric, us = self.value
        return us if units is Units.US else metric


def grams(text: str, units: UnitsOf, bare: Bare = Bare.MASS) -> float:
    """A mass. [g] Raises Misuse."""
    number, unit = _parted(text, "450g, 1.2kg, 2oz or 1lb")
    return number * _factor(text, unit or bare.of(units()), GRAMS, "mass")


def litres(text: str, units: UnitsOf) -> float:
    """A volume. [L] Raises Misuse."""
    number, unit = _parted(text, "12L or 3gal")
    return number * _factor(text, unit or Bare.VOLUME.of(units()), LITRES, "volume")


def celsius(text: str, units: UnitsOf) -> float:
    """A temperature. [°C] Raises Misuse."""
    number, unit = _parted(text.replace("°", ""), "20C or 68F")
    unit = unit or Bare.WARMTH.of(units())
    if unit not in {"c", "f"}:
        raise Misuse(f"'{text}' is no temperature; write such as 20C or 68F")
    return number if unit == "c" else (number - 32) / 1.8


def harvest(text: str, pick_unit: str, units: UnitsOf) -> float:
    """An amount picked, in the crop's own unit. Raises Misuse."""
    if pick_unit == "kg":
        return grams(text, units, Bare.HARVEST) / 1000
    number, unit = _parted(text, f"a number of {pick_unit}")
    if unit is not None and not pick_unit.startswith(unit):
        raise Misuse(
            f"'{text}' cannot be: this crop is counted in {pick_unit}; write a bare number"
        )
    return number


def whole_days(text: str) -> int:
    """Days of an interval: `14d`, `2w` or a bare number. Raises Misuse."""
    match = re.fullmatch(r"(\d{1,5}) ?(d|days?|w|weeks?)?", text.strip().casefold())
    if match is None:
        raise Misuse(f"'{text}' is no number of days; write such as 14d or 2w")
    return int(match[1]) * (7 if (match[2] or "d")[0] == "w" else 1)


def number(text: str, such_as: str) -> float:
    """A bare number. Raises Misuse."""
    value, unit = _parted(text, such_as)
    if unit is not None:
        raise Misuse(f"'{text}' has a unit where none is wanted; write such as {such_as}")
    return value


def minutes(text: str) -> float:
    """Minutes that work takes: `5` or `5min`. Raises Misuse."""
    value = number(re.sub(r"\s*min(utes)?$", "", text.strip()), "5")
    if not 0 <= value <= 24 * 60:
        raise Misuse(f"'{text}' minutes cannot be; write such as 5")
    return value


def minutes_a_week(text: str) -> float:
    """Minutes of work in a week: `120` or `120min`. Raises Misuse."""
    return number(re.sub(r"\s*min(utes)?$", "", text.strip()), "120")


def metres(text: str, units: UnitsOf) -> float:
    """A height. [m] Raises Misuse."""
    value, unit = _parted(text, "340m or 1100ft")
    return value * _factor(text, unit or ("ft" if units() is Units.US else "m"), METRES, "height")


def share(text: str) -> float:
    """A share between 0 and 1; `60%` is 0.6. Raises Misuse."""
    typed = text.strip()
    if typed.endswith("%"):
        return number(typed[:-1], "0.6 or 60%") / 100
    return number(typed, "0.6 or 60%")


def position(text: str) -> tuple[float, float]:
    """Latitude and longitude in degrees: `53.3,-6.2` or `53.3N,6.2W`. Raises Misuse."""
    parts = re.split(r"\s*[,;]\s*|\s+", text.strip())
    one = re.compile(r"([+-]?\d+(?:\.\d+)?)°?([NSEWnsew]?)")
    read = [match for part in parts if (match := one.fullmatch(part))]
    if not len(read) == len(parts) == 2:
        raise Misuse(f"'{text}' is no position; write latitude,longitude such as 53.3,-6.2")
    degrees = []
    for match, wanted in zip(read, ("NS", "EW"), strict=True):
        side = match[2].upper()
        if side and side not in wanted:
            raise Misuse(f"'{text}' has latitude and longitude swapped; latitude comes first")
        degrees.append(float(match[1]) * (-1 if side in {"S", "W"} else 1))
    return degrees[0], degrees[1]


def pairs(texts: Sequence[str]) -> dict[str, str]:
    """Words given as `key=value`. Raises Misuse."""
    found: dict[str, str] = {}
    for text in texts:
        key, equals, value = text.partition("=")
        if not (key and equals and value):
            raise Misuse(f"'{text}' is not read; write KEY=VALUE such as ph=6.8")
        if key.casefold() in found:
            raise Misuse(f"'{key}' is given twice, the second time as '{text}'; give it once")
        found[key.casefold()] = value
    return found


def _parted(text: str, such_as: str) -> tuple[float, str | None]:
    """Number and unit of a text; the unit is None for a bare number."""
    match = re.fullmatch(r"([+-]?)(\d*[.,]?\d+|\d+[.,]?)\s*(m3|[a-z]*)", _tidy(text))
    if match is None:
        raise Misuse(f"'{text}' is not read; write such as {such_as}")
    digits = match[2]
    if re.fullmatch(r"\d+,\d{3}", digits):
        raise Misuse(
            f"'{text}' could be {digits.replace(',', '')} or {digits.replace(',', '.')}; "
            "write it with a point or without the comma"
        )
    value = float(digits.replace(",", ".")) * (-1 if match[1] == "-" else 1)
    unit = _OTHER_WORDS.get(match[3], match[3])
    return value, unit or None


def _tidy(text: str) -> str:
    return text.strip().casefold().replace("−", "-")


def _factor(text: str, unit: str, table: Mapping[str, float], what: str) -> float:
    if unit not in table:
        known = ", ".join(table)
        near = did_you_mean(unit, table)
        raise Misuse(f"'{text}' is no {what}: the unit '{unit}' is none of {known}{near}")
    return table[unit]
