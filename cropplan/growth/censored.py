"""Stages that have not ended yet: what those still waiting say about how long a stage takes.

Leaving them out makes every figure too short, since the slow ones are the ones still waiting. Two
exact treatments: a lognormal duration by summing over its two unknowns, and a Weibull duration of
known shape, where the sum has a closed form.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import erfc, exp, log, pi, sqrt

from cropplan.problems import Refusal

_ROOT_TWO = sqrt(2)
_ROOT_TWO_PI = sqrt(2 * pi)
_FAR = 25.0
"""Beyond so many spreads the normal curve's tail is taken from its leading term. [-]"""

_NEGLIGIBLE = 14.0
"""A part of the sum this far below the largest, in logarithm, is left out. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """One record: a ratio of true to predicted duration, and how many records it is worth.

    ratio : for a finished stage its whole ratio, for a waiting one its ratio so far. [-]
    weight : 1 for a plant; see `learning.tray_weight` for a tray. [-]
    """

    ratio: float
    weight: float = 1.0

    def __post_init__(self) -> None:
        if self.ratio <= 0 or self.weight <= 0:
            raise Refusal(
                f"a record of ratio {self.ratio:g} and weight {self.weight:g} says nothing"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """What is believed of the logarithm of a ratio: normal, its mean and variance unknown.

    m : believed mean. [-]    k : how many records that is worth. [-]
    a, b : shape and scale of the inverse gamma belief about the variance. [-]
    Source: the normal-inverse-gamma family, e.g. Bishop 2006, Pattern Recognition and Machine
    Learning, 2.3.6.
    """

    m: float
    k: float
    a: float
    b: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """A duration that follows one of several lognormal curves, each with a chance.

    parts : (chance, mean of the logarithm, spread of the logarithm); chances add to 1.
    """

    parts: tuple[tuple[float, float, float], ...]

    def still_waiting(self, ratio: float) -> float:
        """Chance that the stage takes longer than this ratio. [-]"""
        if ratio <= 0:
            return 1.0
        at = log(ratio)
        return sum(chance * _tail((at - mu) / sigma) for chance, mu, sigma in self.parts)

    def ratio_at(self, chance: float) -> float:
        """The ratio by which the stage has ended with this chance; to 1 part in 10^8. [-]"""
        low = min(mu - 9 * sigma for _, mu, sigma in self.parts)
        high = max(mu + 9 * sigma for _, mu, sigma in self.parts)
        at = sum(part * mu for part, mu, _ in self.parts)
        for _ in range(100):
            lacking, density = chance - 1.0, 0.0
            for part, mu, sigma in self.parts:
                z = (at - mu) / sigma
                lacking += part * _tail(z)
                density += part * exp(-z * z / 2) / sigma
            low, high = (at, high) if lacking > 0 else (low, at)
            newton = at + lacking * _ROOT_TWO_PI / density if density > 0 else low
            before, at = at, newton if low < newton < high else (low + high) / 2
            if abs(at - before) < 1e-8:
                break
        return exp(at)


def mixed_with_waiting(belief: Belief, waiting: Sequence[Weighed]) -> Mix:
    """What is believed of a duration once those still waiting have been heard.

    belief : already updated with the finished ones.
    waiting : each with its ratio so far.
    Sums prior × chance of still waiting over the mean and the logarithm of the variance. For each
    variance the mean is summed around its own most likely value; equal steps then converge faster
    than any power of the step, and some hundred and fifty points agree with a grid of 160 000 to
    four digits (tests/published/test_growth_learning.py).
    """
    rows = _grouped(waiting)
    centre, step = log(belief.b / belief.a), 0.7 / sqrt(belief.a)
    slices: list[tuple[float, float, float]] = []

    def heaviest(turn: int) -> float:
        parts = _slice(belief, rows, centre + turn * step)
        slices.extend(parts)
        return max(weight for weight, _, _ in parts)

    best = max(_outward(heaviest))
    kept = [(exp(weight - best), mu, sigma) for weight, mu, sigma in slices]
    total = sum(weight for weight, _, _ in kept)
    return Mix(
        parts=tuple((w / total, mu, sigma) for w, mu, sigma in kept if w > exp(-_NEGLIGIBLE))
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WeibullBelief:
    """A Weibull duration of known shape, its scale unknown: t ** shape is exponential with a mean
    that is believed inverse gamma(a, b).

    shape : 1 for no ageing; about 3 for a stage with a usual length. [-]
    a : records behind the belief. [-]    b : sum of their t ** shape. [d ** shape]
    Source: the exponential family with censoring; NIST/SEMATECH e-Handbook 8.1.6.2 and 8.4.1.3 for
    the Weibull; checked in tests/published/test_growth_learning.py.
    """

    shape: float
    a: float
    b: float

    def updated(self, finished: Sequence[float], waiting: Sequence[float]) -> WeibullBelief:
        """The belief once finished and waiting durations are heard. [d]"""
        heard = sum(t**self.shape for t in (*finished, *waiting))
        return WeibullBelief(shape=self.shape, a=self.a + len(finished), b=self.b + heard)

    def still_waiting(self, days: float) -> float:
        """Chance that the stage takes longer. [-]"""
        return float((self.b / (self.b + days**self.shape)) ** self.a)

    def days_at(self, chance: float) -> float:
        """Days by which the stage has ended with this chance, between 0 and 1. [d]"""
        stretched = self.b * ((1 - chance) ** (-1 / self.a) - 1)
        return float(stretched ** (1 / self.shape))

    def ends_within(self, days: float, waited: float) -> float:
        """Chance that it ends in the next days, having waited so long. [-]"""
        return 1 - self.still_waiting(waited + days) / self.still_waiting(waited)


def weibull_belief(typical: float, shape: float, records: float) -> WeibullBelief:
    """A Weibull belief whose median duration is the catalogue's. [d]

    records : how many finished records the catalogue is worth. [-]
    """
    return WeibullBelief(shape=shape, a=records, b=(records - 1) * typical**shape / log(2))


def _slice(
    belief: Belief, rows: Sequence[tuple[float, float]], log_variance: float
) -> list[tuple[float, float, float]]:
    """For one variance: (logarithm of weight, mean, spread) at equal steps of the mean."""
    variance = exp(log_variance)
    sigma = sqrt(variance)
    mode, width = _likeliest_mean(belief, rows, sigma)
    step = 0.9 * width
    prior = -belief.a * log_variance - belief.b / variance - log(sigma) + log(step)
    parts: list[tuple[float, float, float]] = []

    def weigh(turn: int) -> float:
        mu = mode + turn * step
        weight = prior - belief.k * (mu - belief.m) ** 2 / (2 * variance)
        weight += sum(worth * _log_tail((at - mu) / sigma) for at, worth in rows)
        parts.append((weight, mu, sigma))
        return weight

    _outward(weigh)
    return parts


def _outward(weigh: Callable[[int], float]) -> list[float]:
    """Weights at 0, 1, 2, ... and at -1, -2, ..., each way until they no longer matter."""
    weights = [weigh(0)]
    for direction in (1, -1):
        turn, before = direction, weights[0]
        while True:
            weight = weigh(turn)
            weights.append(weight)
            if weight < before and weight < max(weights) - _NEGLIGIBLE:
                break
            turn, before = turn + direction, weight
    return weights


def _likeliest_mean(
    belief: Belief, rows: Sequence[tuple[float, float]], sigma: float
) -> tuple[float, float]:
    """The most likely mean for one spread, and how widely it is spread.

    Newton's rule; the slope of the log-weight falls ever more slowly in the mean, so that it
    cannot run away.
    """
    mean, steepness = belief.m, belief.k / sigma**2
    for _ in range(30):
        slope, steepness = -belief.k * (mean - belief.m) / sigma**2, belief.k / sigma**2
        for at, worth in rows:
            z = (at - mean) / sigma
            hazard = _hazard(z)
            slope += worth * hazard / sigma
            steepness += worth * hazard * (hazard - z) / sigma**2
        mean += slope / steepness
        if abs(slope) < 1e-3 * sqrt(steepness):
            break
    return mean, 1 / sqrt(steepness)


def _grouped(waiting: Sequence[Weighed]) -> list[tuple[float, float]]:
    """(logarithm of ratio, weight), those of one age together."""
    worth: dict[float, float] = {}
    for row in waiting:
        worth[row.ratio] = worth.get(row.ratio, 0.0) + row.weight
    return [(log(ratio), weight) for ratio, weight in sorted(worth.items())]


def _tail(z: float) -> float:
    return 0.5 * erfc(z / _ROOT_TWO)


def _log_tail(z: float) -> float:
    if z > _FAR:
        return -z * z / 2 - log(z * _ROOT_TWO_PI)
    return log(_tail(z))


def _hazard(z: float) -> float:
    if z > _FAR:
        return z + 1 / z
    return exp(-z * z / 2) / _ROOT_TWO_PI / _tail(z)
