"""Ammonia in fish water: the poisonous share of a test reading, and what feed puts in.

A test reads total ammonia. Only the un-ionised part harms fish, and its share climbs steeply with
pH and temperature, so the same reading may be harmless or deadly.
"""

from __future__ import annotations

import math
from typing import Final

from cropplan.problems import Refusal

PKA_OFFSET: Final = 0.09018
PKA_SLOPE: Final = 2729.92
"""Emerson et al. 1975. [K] A package manual prints 2727.92, which does not give their table."""

ZERO_CELSIUS: Final = 273.15
"""[K]"""

UN_IONISED_HARM: Final = 0.05
"""Un-ionised ammonia that may harm fish. [mg N/L] Francis-Floyd et al., UF/IFAS FA16."""

UN_IONISED_DEATH: Final = 2.0
"""Un-ionised ammonia at which fish begin to die. [mg N/L] Francis-Floyd et al., UF/IFAS FA16."""

TAN_PER_PROTEIN: Final = 0.092
"""Total ammonia nitrogen from feed protein in a day. [g N/g] Timmons and Ebeling, from memory."""

_NITROGEN: Final = 14.007
_OXYGEN: Final = 15.999
_HYDROGEN: Final = 1.008
# Standard atomic weights (IUPAC, abridged). [g/mol]

NITRATE_PER_NITROGEN: Final = (_NITROGEN + 3 * _OXYGEN) / _NITROGEN
NITRITE_PER_NITROGEN: Final = (_NITROGEN + 2 * _OXYGEN) / _NITROGEN
AMMONIA_PER_NITROGEN: Final = (_NITROGEN + 3 * _HYDROGEN) / _NITROGEN


def pka_emerson1975(temp_water: float) -> float:
    """Acid constant of ammonium in fresh water, as its negative logarithm.

    temp_water : water temperature. [°C]
    Returns pKa; holds for 0 to 50 °C.
    Raises Refusal outside that range.
    Source: Emerson, Russo, Lund, Thurston 1975, J. Fish. Res. Board Can. 32.
    """
    if not 0 <= temp_water <= 50:
        raise Refusal(f"water temperature {temp_water:g} degC is outside 0 to 50")
    return PKA_OFFSET + PKA_SLOPE / (temp_water + ZERO_CELSIUS)


def un_ionised_fraction(temp_water: float, ph: float) -> float:
    """Share of total ammonia that is un-ionised (NH3) in fresh water.

    temp_water : water temperature. [°C]
    ph : pH of the water.
    Returns a share from 0 to 1; holds for 0 to 50 °C and fresh water.
    Raises Refusal outside 0 to 50 °C or pH 0 to 14.
    Source: Emerson et al. 1975; checked in tests/published/test_water_ammonia_table.py against
    UF/IFAS FA16, Table 1.
    """
    if not 0 <= ph <= 14:
        raise Refusal(f"pH {ph:g} is outside 0 to 14")
    return 1 / (1 + math.pow(10.0, pka_emerson1975(temp_water) - ph))


def un_ionised(total: float, temp_water: float, ph: float) -> float:
    """Un-ionised ammonia in water of a known total.

    total : total ammonia, as nitrogen. [mg N/L]
    temp_water : water temperature. [°C]
    ph : pH of the water.
    Returns un-ionised ammonia. [mg N/L]
    Raises Refusal for a negative total and as un_ionised_fraction does.
    """
    if not total >= 0:
        raise Refusal(f"total ammonia {total:g} mg/L cannot be below zero")
    return total * un_ionised_fraction(temp_water, ph)


def total_at_limit(limit: float, temp_water: float, ph: float) -> float:
    """Total ammonia at which the un-ionised part reaches a limit.

    limit : un-ionised ammonia not to be passed. [mg N/L]
    Returns total ammonia. [mg N/L]
    Raises Refusal as un_ionised_fraction does.
    """
    return limit / un_ionised_fraction(temp_water, ph)


def tan_from_feed(feed: float, protein_share: float) -> float:
    """Total ammonia nitrogen that a day's feed puts into the water.

    feed : feed given in a day. [g/d]
    protein_share : crude protein in the feed, 0 to 1. [g/g]
    Returns total ammonia nitrogen. [g N/d]
    Raises Refusal for negative feed or a share outside 0 to 1.
    Source: Timmons and Ebeling, Recirculating aquaculture, PTAN = F x PC x 0.092 (from memory,
    so it is not among the published checks).
    """
    if not feed >= 0:
        raise Refusal(f"feed {feed:g} g/d cannot be below zero")
    if not 0 <= protein_share <= 1:
        raise Refusal(f"protein share {protein_share:g} is outside 0 to 1; 32 % is 0.32")
    return feed * protein_share * TAN_PER_PROTEIN


def nitrogen_from_nitrate(nitrate: float) -> float:
    """Nitrate as nitrogen [mg N/L] from nitrate as the ion [mg NO3/L], by atomic weights."""
    return nitrate / NITRATE_PER_NITROGEN


def nitrate_from_nitrogen(nitrogen: float) -> float:
    """Nitrate as the ion [mg NO3/L] from nitrate as nitrogen [mg N/L], by atomic weights."""
    return nitrogen * NITRATE_PER_NITROGEN


def nitrogen_from_nitrite(nitrite: float) -> float:
    """Nitrite as nitrogen [mg N/L] from nitrite as the ion [mg NO2/L], by atomic weights."""
    return nitrite / NITRITE_PER_NITROGEN


def nitrite_from_nitrogen(nitrogen: float) -> float:
    """Nitrite as the ion [mg NO2/L] from nitrite as nitrogen [mg N/L], by atomic weights."""
    return nitrogen * NITRITE_PER_NITROGEN


def nitrogen_from_ammonia(ammonia: float) -> float:
    """Ammonia as nitrogen [mg N/L] from ammonia as the molecule [mg NH3/L]."""
    return ammonia / AMMONIA_PER_NITROGEN


def ammonia_from_nitrogen(nitrogen: float) -> float:
    """Ammonia as the molecule [mg NH3/L] from ammonia as nitrogen [mg N/L]."""
    return nitrogen * AMMONIA_PER_NITROGEN
