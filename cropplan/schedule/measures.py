"""Masses, volumes and temperatures in the words of a house's own units."""

from __future__ import annotations

from cropplan.holding.house import Units

_GRAMS_PER_OUNCE = 453.59237 / 16
_LITRES_PER_GALLON = 231 * 16.387064 / 1000
# Both exact by definition: NIST Handbook 44, Appendix C.


def mass_text(grams: float, units: Units) -> str:
    """`54 g`, `12 kg` or `1.9 oz`."""
    if units is Units.US:
        ounces = grams / _GRAMS_PER_OUNCE
        return f"{ounces:.1f} oz" if ounces < 100 else f"{ounces / 16:.1f} lb"
    if grams >= 10_000:
        return f"{grams / 1000:.0f} kg"
    return f"{grams:.0f} g" if grams >= 10 or grams == 0 else f"{grams:.1f} g"


def volume_text(litres: float, units: Units) -> str:
    """`18 L` or `4.8 gal`."""
    amount = litres / _LITRES_PER_GALLON if units is Units.US else litres
    digits = 1 if amount < 10 else 0
    return f"{amount:.{digits}f} {'gal' if units is Units.US else 'L'}"


def warmth_text(celsius: float, units: Units) -> str:
    """`18 °C` or `64 °F`."""
    return f"{celsius * 1.8 + 32:.0f} °F" if units is Units.US else f"{celsius:.0f} °C"
