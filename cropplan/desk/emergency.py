"""The first things to do when power or heat fails, with the cautions that belong to them.

No time is given for which fish live without air: what is published differs from minutes to hours
with how many fish there are, so no figure is safe to print.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cropplan.catalogue.model import Caution
from cropplan.catalogue.read import read_catalogue
from cropplan.holding.house import Failing

#: What to do, in order, and what not to do. Common practice, no source; not feeding and air first
#: after Somerville et al. 2014, FAO Technical Paper 589, chapter 8.
_FIRST: Mapping[Failing, tuple[str, ...]] = {
    Failing.POWER: (
        "Air first: start the backup, or scoop and pour tank water back from a height.",
        "Look at the fish now, and again and again: gasping at the surface means more air.",
        "Feed nothing until air and pumps have run again for a while.",
        "Reset a tripped RCD (GFCI) once, with dry hands; if it trips again, unplug and call help.",
        "Keep the warmth in: shut vents and door, wrap the tank, cover the tray of cuttings.",
        "Drain no filter and stir up no solids while the water stands.",
    ),
    Failing.HEAT: (
        "Keep the warmth in: shut vents and door, draw the screens, cover the plants in fleece.",
        "Cuttings and seedlings first: carry the trays to a warm room.",
        "Wrap and cover the fish tank; leave air and pumps running.",
        "Feed nothing while the water cools; cold fish do not eat, and feed fouls the water.",
        "A burning heater only with flue, fresh air and a carbon monoxide alarm.",
        "Read low and high every hour or two, and write the lowest.",
    ),
}

_AFTER: Mapping[Failing, tuple[str, ...]] = {
    Failing.POWER: (
        "See that water and air run everywhere, and that siphons and drippers have started again.",
        "Test ammonia and oxygen; look for dead fish, and take them out.",
        "Begin feeding with a little, once the test is good.",
        "Ask why the alarm did or did not tell you, and test it.",
    ),
    Failing.HEAT: (
        "Warm up slowly; shade frosted plants from the morning sun.",
        "Test ammonia before feeding, and begin with a little.",
        "Test the alarm, and have the heater looked at by a qualified person.",
        "Write what was lost, and the days that growth stood still: 'cropplan set-back'.",
    ),
}

_CAUTIONS: Mapping[Failing, tuple[str, ...]] = {
    Failing.POWER: ("oxygen-failure", "electricity-and-water", "rcd-stops-air", "deep-water"),
    Failing.HEAT: ("heater", "oxygen-failure", "electricity-and-water"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class EmergencyPage:
    """What to do first and afterwards when something failed, and the cautions."""

    what: Failing
    first: tuple[str, ...]
    after: tuple[str, ...]
    cautions: tuple[Caution, ...]


def page(what: Failing) -> EmergencyPage:
    """The page of first things; it needs no record."""
    known = read_catalogue([], fish_ids=[], medium_ids=[]).cautions
    return EmergencyPage(
        what=what,
        first=_FIRST[what],
        after=_AFTER[what],
        cautions=tuple(known[name] for name in _CAUTIONS[what]),
    )
