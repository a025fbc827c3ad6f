"""Learning against NIST's handbook, scipy, lifelines and brute force.

The worked sets (catalogue 14 d; finished 12 15 11 14 13; waiting 20 20 18) were computed
beforehand with a grid of 400 by 400, by a script that shares no code with ours.
"""

from math import inf, log, sqrt
from random import Random

import numpy as np
import pytest
from lifelines import LogNormalFitter, WeibullFitter
from scipy import stats
from scipy.special import log_ndtr, ndtr

from cropplan.growth.censored import (
    Belief,
    WeibullBelief,
    Weighed,
    mixed_with_waiting,
    weibull_belief,
)
from cropplan.growth.chance import student_exceeded, student_tail
from cropplan.growth.learning import predictive, spread_of, updated

PRIOR = Belief(m=log(14), k=4, a=3, b=0.125)
FINISHED, WAITING = (12, 15, 11, 14, 13), (20, 20, 18)

NIST_FAILED = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)
NIST_WAITING = (500,) * 10
"""NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: ten failures, ten units censored."""

SEEDS = range(20)


def rows(durations: tuple[float, ...] | list[float]) -> list[Weighed]:
    """Durations as records of one plant each."""
    return [Weighed(ratio=duration) for duration in durations]


def invented(seed: int, count: int = 60) -> tuple[list[float], list[float]]:
    """Lognormal durations, those beyond a chance age still waiting at it."""
    chance = Random(seed)  # noqa: S311 - invented records, not secrets
    mean, spread = chance.uniform(1.5, 4), chance.uniform(0.1, 0.6)
    finished: list[float] = []
    waiting: list[float] = []
    for _ in range(count):
        duration = chance.lognormvariate(mean, spread)
        age = chance.lognormvariate(mean + 0.2, 0.5)
        (finished if duration <= age else waiting).append(min(duration, age))
    return finished, waiting


@pytest.mark.parametrize("df", [1, 2, 3, 5.5, 6, 11, 30, 200, 5000])
def test_student_s_t_is_scipy_s(df: float) -> None:
    """scipy.stats.t: tail and its inverse to 1 part in 10^9."""
    for t in (-30, -3, -0.5, 0, 0.001, 0.5, 1, 2, 5, 20):
        assert student_tail(t, df) == pytest.approx(stats.t.sf(t, df), rel=1e-9, abs=1e-300)
    for chance in (1e-9, 1e-4, 0.01, 0.1, 0.3, 0.5, 0.9, 0.999):
        assert student_exceeded(chance, df) == pytest.approx(stats.t.isf(chance, df), rel=1e-9)


def test_without_end_the_degrees_of_freedom_are_the_normal_curve() -> None:
    """scipy.stats.norm."""
    assert student_tail(1.3, inf) == pytest.approx(stats.norm.sf(1.3))
    assert student_exceeded(0.1, inf) == pytest.approx(stats.norm.isf(0.1))


def test_the_conjugate_worked_set() -> None:
    """Mean 2.594565, k 9, a 5.5, b 0.162179; median 13.391 d, 80 % from 10.462 to 17.139 d."""
    belief = updated(PRIOR, rows(FINISHED))
    assert (belief.k, belief.a) == (9, 5.5)
    assert (belief.m, belief.b) == pytest.approx((2.594565, 0.162179), abs=5e-7)
    spread = predictive(belief)
    assert spread.median == pytest.approx(13.391, abs=5e-4)
    assert [spread.ratio_at(0.1), spread.ratio_at(0.9)] == pytest.approx([10.462, 17.139], abs=5e-4)


def test_the_prior_alone() -> None:
    """The catalogue's 14 d with 80 % from 10.08 to 19.45 d."""
    spread = predictive(PRIOR)
    assert [spread.ratio_at(c) for c in (0.1, 0.5, 0.9)] == pytest.approx(
        [10.08, 14, 19.45], abs=5e-3
    )


def test_the_worked_set_with_waiting_rows() -> None:
    """Median 15.233 d, 80 % from 10.535 to 22.241 d; done within 3 d given 20 d waited: 0.518."""
    mix = mixed_with_waiting(updated(PRIOR, rows(FINISHED)), rows(WAITING))
    found = [mix.ratio_at(chance) for chance in (0.1, 0.5, 0.9)]
    assert found == pytest.approx([10.535, 15.233, 22.241], abs=1e-3)
    assert 1 - mix.still_waiting(23) / mix.still_waiting(20) == pytest.approx(0.518, abs=1e-3)


def test_the_short_form_of_the_mix_keeps_its_chances() -> None:
    """One spread in place of the mix: the same 80 % span, and 0.518 to within 0.01."""
    belief = updated(PRIOR, rows(FINISHED))
    spread = spread_of(mixed_with_waiting(belief, rows(WAITING)), 2 * belief.a)
    assert [spread.ratio_at(c) for c in (0.1, 0.5, 0.9)] == pytest.approx(
        [10.535, 15.233, 22.241], abs=1e-3
    )
    assert 1 - spread.still_waiting(23) / spread.still_waiting(20) == pytest.approx(0.518, abs=0.01)


def test_with_nobody_waiting_the_sum_is_the_conjugate_answer() -> None:
    """The sum over the two unknowns gives Student's t again, to 5 digits."""
    belief = updated(PRIOR, rows(FINISHED))
    mix, spread = mixed_with_waiting(belief, []), predictive(belief)
    for chance in (0.01, 0.1, 0.5, 0.9, 0.99):
        assert mix.ratio_at(chance) == pytest.approx(spread.ratio_at(chance), rel=1e-4)


def _ended_by(days: list[float], belief: Belief, waiting: list[float]) -> list[float]:
    """Chance of having ended by each day, from half a million points in numpy. [-]"""
    log_variance = log(belief.b / belief.a) + np.linspace(-3.5, 16, 600)[:, None] / sqrt(belief.a)
    spread = np.exp(log_variance / 2)
    mean = belief.m + np.linspace(-8, 16, 800) * spread / sqrt(belief.k)
    weight = -belief.a * log_variance - belief.b / spread**2
    weight = weight - belief.k * ((mean - belief.m) / spread) ** 2 / 2
    for age in waiting:
        weight = weight + log_ndtr((mean - log(age)) / spread)
    weight = np.exp(weight - weight.max())
    weight /= weight.sum()
    return [float((weight * ndtr((log(day) - mean) / spread)).sum()) for day in days]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_sum_with_waiting_rows_against_brute_force(seed: int) -> None:
    """Twenty invented houses, 2 to 11 records with some waiting: by numpy and scipy's normal curve
    on half a million points, our 10, 50 and 90 % are those to 0.001."""
    finished, waiting = invented(seed, count=2 + seed // 2)
    belief = updated(Belief(m=2.5, k=0.25, a=1.5, b=0.05), rows(finished))
    mix = mixed_with_waiting(belief, rows(waiting))
    ours = [mix.ratio_at(chance) for chance in (0.1, 0.5, 0.9)]
    assert _ended_by(ours, belief, waiting) == pytest.approx([0.1, 0.5, 0.9], abs=1e-3)


@pytest.mark.parametrize("seed", SEEDS)
def test_with_hardly_a_prior_the_median_is_lifelines_own(seed: int) -> None:
    """Lifelines LogNormalFitter on 20 invented sets of 60, a third of them waiting: median within
    1 %, the spread of the logarithm within 5 % (theirs is the likeliest, ours averages)."""
    finished, waiting = invented(seed)
    belief = updated(Belief(m=0, k=1e-4, a=1e-3, b=1e-6), rows(finished))
    mix = mixed_with_waiting(belief, rows(waiting))
    fitted = LogNormalFitter().fit(
        finished + waiting, event_observed=[1] * len(finished) + [0] * len(waiting)
    )
    assert mix.ratio_at(0.5) == pytest.approx(fitted.median_survival_time_, rel=0.01)
    span = log(mix.ratio_at(0.9) / mix.ratio_at(0.1)) / (2 * stats.norm.isf(0.1))
    assert span == pytest.approx(fitted.sigma_, rel=0.05)


@pytest.mark.parametrize("seed", SEEDS)
def test_with_no_prior_the_mean_is_scipy_s_when_all_have_finished(seed: int) -> None:
    """scipy.stats.lognorm.fit and scipy.stats.t on 20 invented sets: conjugate median and the
    predictive interval of the textbook, mean ± t s sqrt(1 + 1/n)."""
    chance = Random(seed)  # noqa: S311 - invented records, not secrets
    logs = [chance.gauss(2.5, 0.3) for _ in range(4 + seed)]
    days = [float(np.exp(value)) for value in logs]
    n, s = len(logs), float(np.std(logs, ddof=1))
    # Jeffreys' prior: k 0, a -1/2, b 0.
    spread = predictive(updated(Belief(m=0, k=0, a=-0.5, b=0), rows(days)))
    _, _, scale = stats.lognorm.fit(days, floc=0)
    assert spread.median == pytest.approx(scale, rel=1e-6)
    reach = stats.t.isf(0.1, n - 1) * s * sqrt(1 + 1 / n)
    assert log(spread.ratio_at(0.9) / spread.median) == pytest.approx(reach, rel=1e-6)


def test_the_weibull_worked_set() -> None:
    """Shape 3, catalogue 14 d worth 4 records: a 9, b 45083.2656; 8.0971, 15.3395, 23.5999 d; done
    within 3 d given 20 d waited: 0.493451. Without the three that wait: 6.493, 12.301, 18.926."""
    prior = weibull_belief(14, 3, 4)
    assert prior.b == pytest.approx(11876.2656, abs=5e-5)
    belief = prior.updated(FINISHED, WAITING)
    assert (belief.a, belief.b) == pytest.approx((9, 45083.2656), abs=5e-5)
    assert [belief.days_at(c) for c in (0.1, 0.5, 0.9)] == pytest.approx(
        [8.0971, 15.3395, 23.5999], abs=5e-5
    )
    assert belief.ends_within(3, 20) == pytest.approx(0.493451, abs=5e-7)
    bare = prior.updated(FINISHED, ())
    assert [bare.days_at(c) for c in (0.1, 0.5, 0.9)] == pytest.approx(
        [6.493, 12.301, 18.926], abs=5e-4
    )


def test_nist_s_censored_failures() -> None:
    """NIST 8.4.1.3 prints Weibull shape 1.7208 and scale 606.5280. Given that shape and no prior,
    our scale is NIST's to 5 digits; scipy and lifelines agree on both."""
    belief = WeibullBelief(shape=1.7208, a=0, b=0).updated(NIST_FAILED, NIST_WAITING)
    scale = (belief.b / belief.a) ** (1 / belief.shape)
    assert scale == pytest.approx(606.5280, abs=0.01)
    sample = stats.CensoredData.right_censored(
        [*NIST_FAILED, *NIST_WAITING], [False] * 10 + [True] * 10
    )
    shape_, _, scale_ = stats.weibull_min.fit(sample, floc=0)
    assert (shape_, scale_) == pytest.approx((1.7208, 606.528), rel=1e-4)
    fitted = WeibullFitter().fit([*NIST_FAILED, *NIST_WAITING], [1] * 10 + [0] * 10)
    assert scale == pytest.approx(fitted.lambda_, rel=1e-4)
    assert fitted.log_likelihood_ == pytest.approx(-75.135, abs=5e-4)


def test_nist_s_failures_as_lognormal() -> None:
    """Lifelines on NIST 8.4.1.3: mu 6.22600, sigma 0.90891 (AIC 154.39, as NIST prints). Ours with
    hardly a prior: the median within 4 %; ten of twenty waiting leave no more."""
    belief = updated(Belief(m=6, k=1e-4, a=1e-3, b=1e-6), rows([float(t) for t in NIST_FAILED]))
    mix = mixed_with_waiting(belief, rows([float(t) for t in NIST_WAITING]))
    fitted = LogNormalFitter().fit([*NIST_FAILED, *NIST_WAITING], [1] * 10 + [0] * 10)
    assert fitted.mu_ == pytest.approx(6.22600, abs=1e-4)
    assert abs(fitted.AIC_ - 154.39) < 5e-3
    assert mix.ratio_at(0.5) == pytest.approx(float(np.exp(fitted.mu_)), rel=0.04)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_weibull_scale_by_scipy_on_twenty_sets(seed: int) -> None:
    """scipy.stats.weibull_min.fit with the shape held, right-censored: our scale without a prior,
    to 1 part in 10 000."""
    finished, waiting = invented(seed)
    belief = WeibullBelief(shape=3, a=0, b=0).updated(finished, waiting)
    sample = stats.CensoredData.right_censored(
        finished + waiting, [False] * len(finished) + [True] * len(waiting)
    )
    *_, scale = stats.weibull_min.fit(sample, f0=3, floc=0)
    assert (belief.b / belief.a) ** (1 / 3) == pytest.approx(scale, rel=1e-4)


def test_eighty_of_a_hundred_lie_in_the_span_and_a_normal_curve_would_hold_sixty_nine() -> None:
    """Calibration, the prior's own worlds: 8 000 houses of 5 records. Student's t covers 80 % (a
    central 99.9 % band of the binomial by scipy); mean ± 1.2816 s covers about 69 %."""
    chance = np.random.default_rng(7)
    houses, hits, plug_in = 8_000, 0, 0
    for _ in range(houses):
        s2 = 1 / chance.gamma(PRIOR.a, 1 / PRIOR.b)
        mean = chance.normal(PRIOR.m, sqrt(s2 / PRIOR.k))
        *heard, following = chance.normal(mean, sqrt(s2), 6)
        spread = predictive(updated(PRIOR, rows([float(np.exp(x)) for x in heard])))
        hits += spread.ratio_at(0.1) <= np.exp(following) <= spread.ratio_at(0.9)
        plug_in += abs(following - np.mean(heard)) <= 1.2816 * np.std(heard, ddof=1)
    low, high = stats.binom.interval(0.999, houses, 0.80)
    assert low <= hits <= high
    assert 0.67 < plug_in / houses < 0.71
