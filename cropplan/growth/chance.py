"""How sure a duration is: Student's t, and the spread of a ratio around a typical one.

A stage seldom takes the predicted time exactly; it takes a ratio of it. The logarithm of that
ratio is spread like Student's t, whose wide tails carry that few records cannot fix the spread
itself. With five records a normal curve in its place holds only 69 of 100 where it promises 80.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import erf, erfc, exp, inf, lgamma, log, pi, sqrt

from cropplan.problems import Refusal

SHARPEST = 0.02
"""The least spread of a ratio's logarithm: nobody sees a stage end to better than two days in a
hundred. [-] Common practice, no source."""


@lru_cache(maxsize=4096)
def student_tail(t: float, df: float) -> float:
    """Chance that Student's t exceeds a value, P(T > t). [-]

    df : degrees of freedom, above 0; infinite for the normal curve. [-]
    Source: the incomplete beta function, Abramowitz & Stegun 1964, 26.7.1; checked against scipy
    in tests/published/test_growth_learning.py.
    """
    if df == inf:
        return (1 - erf(t / sqrt(2))) / 2
    if t < 0:
        return 1.0 - student_tail(-t, df)
    return 0.5 * _incomplete_beta(df / 2, 0.5, df / (df + t * t))


@lru_cache(maxsize=4096)
def student_exceeded(chance: float, df: float) -> float:
    """The value that Student's t exceeds with a given chance: the inverse of `student_tail`. [-]

    chance : between 0 and 1, both excluded. [-]
    df : degrees of freedom, above 0; infinite for the normal curve. [-]
    """
    if not 0 < chance < 1:
        raise Refusal(f"a chance of '{chance:g}' must lie between 0 and 1")
    if chance > 0.5:
        return -student_exceeded(1.0 - chance, df)
    if df == inf:
        return _normal_exceeded(chance)
    low, high = 0.0, 2.0
    while student_tail(high, df) > chance:
        low, high = high, high * 2
    t = (low + high) / 2
    for _ in range(100):
        excess = student_tail(t, df) - chance
        low, high = (t, high) if excess > 0 else (low, t)
        newton = t + excess / _student_density(t, df)
        before, t = t, newton if low < newton < high else (low + high) / 2
        if abs(t - before) <= 1e-12 * (1 + t):
            break
    return t


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How the ratio of the true duration to the predicted one is spread.

    median : as likely more as less. [-]
    below, above : scale of the ratio's logarithm under and over the median. [-]
    df : degrees of freedom; infinite for a lognormal spread. [-]
    """

    median: float
    below: float
    above: float
    df: float

    def still_waiting(self, ratio: float) -> float:
        """Chance that the stage takes longer than this ratio. [-]"""
        if ratio <= 0:
            return 1.0
        away = log(ratio) - log(self.median)
        return student_tail(away / (self.below if away < 0 else self.above), self.df)

    def ratio_at(self, chance: float) -> float:
        """The ratio by which the stage has ended with this chance. [-]

        chance : between 0 and 1, both excluded. [-]
        """
        return self._ratio_outlasted(1.0 - chance)

    def ratio_at_given_waited(self, chance: float, waited: float) -> float:
        """The same, for a stage that has not ended when it has waited this ratio. [-]

        chance : between 0 and 1, both excluded. [-]
        waited : progress made so far as a ratio of the predicted duration. [-]
        Returns a ratio that is never below the one waited.
        """
        outlasted = self.still_waiting(waited) * (1.0 - chance)
        return max(waited, self._ratio_outlasted(max(outlasted, 1e-300)))

    def _ratio_outlasted(self, chance: float) -> float:
        away = student_exceeded(chance, self.df)
        return self.median * exp(away * (self.below if away < 0 else self.above))


@lru_cache(maxsize=1024)
def spread_from(low: float, typical: float, high: float, df: float) -> Spread:
    """The spread that leaves one in ten under the low figure and one in ten over the high.

    low, typical, high : durations in any one unit, or ratios; 0 < low <= typical <= high.
    df : degrees of freedom, see `Spread`. [-]
    Returns a spread of which low and high are the 80 % span, no narrower than `SHARPEST`.
    """
    if not 0 < low <= typical <= high:
        raise Refusal(f"'{low:g}, {typical:g}, {high:g}' must be above 0 and rise from low to high")
    reach = student_exceeded(0.1, df)
    return Spread(
        median=typical,
        below=max(SHARPEST, log(typical / low) / reach),
        above=max(SHARPEST, log(high / typical) / reach),
        df=df,
    )


def _normal_exceeded(chance: float) -> float:
    """The value that the normal curve exceeds with a chance of at most a half.

    Newton's steps on the logarithm of the tail, which is concave: from where exp(-t²/2)/2, never
    less than the tail, has the chance, they come down to the value and cannot pass it.
    (`statistics` has it too, but takes longer to load than all that the morning list reckons.)
    """
    t = sqrt(-2 * log(2 * chance))
    for _ in range(100):
        tail = erfc(t / sqrt(2)) / 2
        step = log(tail / chance) * tail * sqrt(2 * pi) * exp(t * t / 2)
        t += step
        if abs(step) <= 1e-14 * (1 + t):
            break
    return t


def _student_density(t: float, df: float) -> float:
    scale = lgamma((df + 1) / 2) - lgamma(df / 2)
    return exp(scale - (df + 1) / 2 * log(1 + t * t / df)) / sqrt(df * pi)


def _incomplete_beta(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function by its continued fraction, DLMF 8.17.22."""
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    if x > (a + 1) / (a + b + 2):
        return 1.0 - _incomplete_beta(b, a, 1.0 - x)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log(1 - x)) / a
    return front * _beta_fraction(a, b, x)


def _beta_fraction(a: float, b: float, x: float) -> float:
    """Value of the continued fraction 1/(1 + d1/(1 + d2/(1 + ...))), by Lentz's method."""
    value, upper, lower = 1.0, inf, 1.0
    for term in range(1, 500):
        m = term // 2
        if term % 2 == 0:
            step = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        else:
            step = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        lower = 1 / (1 + step * lower)
        upper = 1 + step / upper
        value *= upper * lower
        if abs(upper * lower - 1) < 1e-15:
            break
    return value
