"""Test readings of the water set against limits: what is urgent, what to watch, what is absurd.

Zero is a reading, None is a test that was not made. Limits come from the catalogue: those of the
fish are usually urgent, those of plants and filter bacteria usually something to watch.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum
from typing import Final

from cropplan.problems import Refusal
from cropplan.water import ammonia, oxygen


class Key(Enum):
    """What a test reads, worst for the fish first."""

    OXYGEN = "oxygen"
    UN_IONISED = "un-ionised ammonia"
    AMMONIA = "ammonia"
    NITRITE = "nitrite"
    TEMPERATURE = "temperature"
    PH = "ph"
    NITRATE = "nitrate"


class Severity(Enum):
    """How soon something has to be done."""

    URGENT = "urgent"
    WATCH = "watch"


class Side(Enum):
    """On which side of a limit a reading lies."""

    BELOW = "below"
    ABOVE = "above"


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """What one test of the water read; None for what was not tested.

    oxygen : dissolved oxygen. [mg/L]
    ammonia : total ammonia. [mg N/L]
    nitrite, nitrate : in the same terms (ion or nitrogen) as the limits. [mg/L]
    temperature : water temperature. [°C]
    ph : pH of the water.
    """

    oxygen: float | None = None
    ammonia: float | None = None
    nitrite: float | None = None
    temperature: float | None = None
    ph: float | None = None
    nitrate: float | None = None

    def read(self) -> dict[Key, float]:
        """What was tested, zero included."""
        every = {
            Key.OXYGEN: self.oxygen,
            Key.AMMONIA: self.ammonia,
            Key.NITRITE: self.nitrite,
            Key.TEMPERATURE: self.temperature,
            Key.PH: self.ph,
            Key.NITRATE: self.nitrate,
        }
        return {key: value for key, value in every.items() if value is not None}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """A range a reading should keep to, and how serious it is to leave it.

    low, high : ends of the range, both allowed; None when that side has no end.
    """

    key: Key
    low: float | None = None
    high: float | None = None
    severity: Severity

    def __post_init__(self) -> None:
        if self.low is not None and self.high is not None and self.low > self.high:
            raise Refusal(
                f"limits of {self.key.value} {self.low:g} to {self.high:g}: the lower is first"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One reading outside a limit.

    reading, limit : in the unit of the key.
    side : whether the reading lies below or above the limit.
    """

    key: Key
    reading: float
    limit: float
    side: Side
    severity: Severity


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What a set of readings amounts to.

    findings : urgent ones first, then by what is worst for the fish.
    un_ionised : computed un-ionised ammonia [mg N/L]; None without ammonia, pH and temperature.
    oxygen_share : oxygen as a share of saturation; None without oxygen, temperature, pressure.
    not_tested : what has a limit but was not read, and so was not judged.
    """

    findings: tuple[Finding, ...]
    un_ionised: float | None
    oxygen_share: float | None
    not_tested: tuple[Key, ...]

    @property
    def urgent(self) -> bool:
        """Whether anything has to be done today."""
        return any(finding.severity is Severity.URGENT for finding in self.findings)


POSSIBLE: Final[Mapping[Key, tuple[float, float]]] = {
    Key.OXYGEN: (0, 30),
    Key.AMMONIA: (0, 50),
    Key.NITRITE: (0, 50),
    Key.TEMPERATURE: (0, 40),
    Key.PH: (3, 11),
    Key.NITRATE: (0, 2000),
}
"""Readings that water with living fish, plants or filter bacteria can give, in the unit of the
key. Common practice, no source: wide enough never to refuse a bad day, only a slip of the pen."""

HARM: Final = Limits(key=Key.UN_IONISED, high=ammonia.UN_IONISED_HARM, severity=Severity.URGENT)
"""Holds unless an urgent limit of un-ionised ammonia is given, so that none can be forgotten.
Francis-Floyd et al., UF/IFAS FA16."""

DANGEROUS_PH_SWING: Final = 0.3
PH_SWING_HOURS: Final = 12.0
"""Change of pH, and the time within which it is dangerous to fish [h]. Somerville et al. 2014,
FAO Technical Paper 589, 7.3; the longer end of the time is unreadable in the copy read."""


def judge(
    readings: Readings, limits: Sequence[Limits], *, pressure: float | None = None
) -> Judgement:
    """Every reading against every limit, the un-ionised ammonia computed among them.

    limits : of the fish, the plants and the filter together; a reading outside several on one
        side is reported once, at the limit that is most serious and then the one most passed.
    pressure : air pressure [kPa]; None when not known, and then the share of oxygen is left out.
    Raises Refusal, with what was perhaps meant, for a reading that cannot be.
    """
    refuse_absurd(readings)
    values = readings.read()
    total, temp_water, ph = readings.ammonia, readings.temperature, readings.ph
    un_ionised = None
    if total is not None and temp_water is not None and ph is not None:
        un_ionised = ammonia.un_ionised(total, temp_water, ph)
        values[Key.UN_IONISED] = un_ionised
    share = None
    if readings.oxygen is not None and temp_water is not None and pressure is not None:
        share = oxygen.share_of_saturation(readings.oxygen, temp_water, pressure=pressure)
    every = list(limits)
    if not any(limit.key is HARM.key and limit.severity is HARM.severity for limit in every):
        every.append(HARM)
    limited = {limit.key for limit in every}
    return Judgement(
        findings=_worst_of_each(_findings(values, every)),
        un_ionised=un_ionised,
        oxygen_share=share,
        not_tested=tuple(key for key in Key if key in limited and key not in values),
    )


def retest_on(judgement: Judgement, tested_on: date) -> date | None:
    """Day of the extra test after an urgent finding: the morrow; None when nothing is urgent.

    The routine test keeps its own day. Common practice, no source.
    """
    return tested_on + timedelta(days=1) if judgement.urgent else None


def ph_swing(earlier: float, later: float, *, hours: float) -> Finding | None:
    """A change of pH quick enough to harm fish; None when it is small or slow.

    earlier, later : two readings of pH.
    hours : time between them. [h]
    Returns a finding to watch, whose reading is the later pH and whose limit is the last pH
    that would have been safe: a drop test reads no finer than the change that matters.
    Source: Somerville et al. 2014, FAO Technical Paper 589, 7.3.
    """
    change = later - earlier
    if hours > PH_SWING_HOURS or abs(change) < DANGEROUS_PH_SWING - 1e-9:
        return None
    return Finding(
        key=Key.PH,
        reading=later,
        limit=earlier + math.copysign(DANGEROUS_PH_SWING, change),
        side=Side.ABOVE if change > 0 else Side.BELOW,
        severity=Severity.WATCH,
    )


def perhaps_meant(key: Key, reading: float) -> float | None:
    """The likeliest reading behind one that cannot be; None when there is no good guess.

    A temperature in Fahrenheit, a lost decimal point and a stray minus are tried in turn.
    """
    guesses = []
    if key is Key.TEMPERATURE and reading >= 50:
        guesses.append((reading - 32) / 1.8)
    guesses += [reading / 10, reading / 100, -reading]
    return next((guess for guess in guesses if _is_possible(key, guess)), None)


def refuse_absurd(readings: Readings) -> None:
    """Refuse readings that no water with life in it gives, asking what was perhaps meant.

    Raises Refusal naming the reading, the range and the guess.
    """
    for key, value in readings.read().items():
        if _is_possible(key, value):
            continue
        low, high = POSSIBLE[key]
        guess = perhaps_meant(key, value)
        question = "" if guess is None else f"; did you mean {guess:.3g}?"
        raise Refusal(
            f"{key.value} {value:g} cannot be, it lies outside {low:g} to {high:g}{question}"
        )


def _is_possible(key: Key, reading: float) -> bool:
    low, high = POSSIBLE[key]
    return low <= reading <= high


def _findings(values: Mapping[Key, float], limits: Sequence[Limits]) -> list[Finding]:
    found = []
    for limit in limits:
        reading = values.get(limit.key)
        if reading is None:
            continue
        if limit.low is not None and reading < limit.low:
            found.append((limit, reading, limit.low, Side.BELOW))
        if limit.high is not None and reading > limit.high:
            found.append((limit, reading, limit.high, Side.ABOVE))
    return [
        Finding(key=limit.key, reading=reading, limit=end, side=side, severity=limit.severity)
        for limit, reading, end, side in found
    ]


def _worst_of_each(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    severities, keys = list(Severity), list(Key)

    def seriousness(finding: Finding) -> tuple[int, int, float]:
        passed_by = abs(finding.reading - finding.limit)
        return severities.index(finding.severity), keys.index(finding.key), -passed_by

    worst: dict[tuple[Key, Side], Finding] = {}
    for finding in sorted(findings, key=seriousness):
        worst.setdefault((finding.key, finding.side), finding)
    return tuple(worst.values())
