"""Rooting: will a late cutting still root, when to give up, and how many to strike.

Not every cutting roots. One that has waited long past its time is either slow or dead, and the
longer it waits the likelier dead. Striking the wanted number divided by the success rate falls
short every other time; what is asked here is the number that falls short seldom enough.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, exp, lgamma, log, prod

from cropplan.growth.chance import Spread
from cropplan.problems import Refusal

GIVE_UP_BELOW = 0.2
"""A cutting with less than this chance of rooting is better re-struck. [-] Common practice, no
source."""

MOST_TO_STRIKE = 10_000
"""No small house strikes more at once; past this the answer is a refusal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Success:
    """What is believed of the share that roots: a beta curve.

    rooted, failed : as if so many had been seen to root and to fail. [-]
    """

    rooted: float
    failed: float

    def __post_init__(self) -> None:
        if self.rooted <= 0 or self.failed <= 0:
            raise Refusal("a belief about rooting needs some weight on rooting and on failing")

    @property
    def mean(self) -> float:
        """Expected share that roots. [-]"""
        return self.rooted / (self.rooted + self.failed)

    def updated(self, rooted: float, failed: float) -> Success:
        """The belief once the house's own cuttings have been counted."""
        return Success(rooted=self.rooted + rooted, failed=self.failed + failed)


def success_from(share: float, cuttings: float) -> Success:
    """The belief that a catalogue's share is worth.

    share : that roots, between 0 and 1. [-]
    cuttings : how many of the house's own cuttings the catalogue is worth. [-]
    """
    _check_share("success", share)
    return Success(rooted=share * cuttings, failed=(1 - share) * cuttings)


def will_still_root(success: float, unrooted: float) -> float:
    """Chance that a cutting which has not rooted yet still will. [-]

    success : share that roots at all, 0 to 1. [-]
    unrooted : of those that root, the share that takes longer than this one has waited; from
        `Spread.still_waiting` or `WeibullBelief.still_waiting`. [-]
    Source: the mixture cure model, Boag 1949, J. R. Stat. Soc. B 11:15-53; checked by hand in
    tests/published/test_growth_rooting.py.
    """
    alive = success * unrooted
    return alive / (alive + 1 - success) if success < 1 else 1.0


def give_up_at(success: float, spread: Spread, threshold: float = GIVE_UP_BELOW) -> float:
    """The ratio to the predicted duration after which a cutting is not worth waiting for. [-]

    success : share that roots at all, above `threshold`, below 1. [-]
    spread : how long those that root take.
    threshold : give up when the chance of rooting falls under this. [-]
    Returns a ratio for `stages.finish`, so that the day follows the weather.
    Raises Refusal when even a fresh cutting has no better chance than the threshold.
    """
    _check_share("success", success)
    _check_share("threshold", threshold)
    if success <= threshold:
        raise Refusal(
            f"only {success:.0%} are expected to root; that is not above the {threshold:.0%} "
            "at which a cutting is given up"
        )
    # will_still_root(success, s) = threshold, solved for s.
    unrooted = threshold * (1 - success) / (success * (1 - threshold))
    return spread.ratio_at(1 - unrooted)


def how_many_to_strike(wanted: int, success: float, certainty: float) -> int:
    """The fewest cuttings of which the wanted number root with the given certainty.

    wanted : rooted plants. [-]
    success : share that roots, above 0, to 1. [-]
    certainty : above 0, below 1. [-]
    Raises Refusal when that would take more than `MOST_TO_STRIKE`.
    Source: binomial distribution, P(X >= wanted) >= certainty; checked in
    tests/published/test_growth_rooting.py.
    """
    if success == 1:
        return max(0, wanted)
    _check_share("success", success)
    log_fail = log(1 - success)
    ways = (
        _log_ways(struck, wanted) + wanted * log(success) + (struck - wanted) * log_fail
        for struck in range(max(1, wanted), MOST_TO_STRIKE)
    )
    return _fewest(wanted, ways, certainty)


def how_many_to_strike_believing(wanted: int, success: Success, certainty: float) -> int:
    """The same when the share that roots is only believed: more are struck the less is known.

    Source: beta-binomial distribution; checked in tests/published/test_growth_rooting.py.
    """
    known = _log_beta(success.rooted, success.failed)
    ways = (
        _log_ways(struck, wanted)
        + _log_beta(success.rooted + wanted, success.failed + struck - wanted)
        - known
        for struck in range(max(1, wanted), MOST_TO_STRIKE)
    )
    return _fewest(wanted, ways, certainty)


def left_after(losses: Sequence[float]) -> float:
    """Share left after one loss upon another. [-]

    losses : share lost at each step: rooting, bench, setting out. [-]
    """
    if any(not 0 <= loss < 1 for loss in losses):
        raise Refusal("each loss must be 0 or more and less than 1")
    return prod(1 - loss for loss in losses)


def to_begin_with(wanted: int, losses: Sequence[float]) -> int:
    """How many to begin with so that the wanted number is left on average."""
    return ceil(wanted / left_after(losses) - 1e-9)


def _fewest(wanted: int, log_chances: Iterator[float], certainty: float) -> int:
    """The first number struck by which the wanted-th success has come with the certainty.

    log_chances : for wanted, wanted + 1, ... struck: logarithm of the chance that the last one
        struck is the wanted-th to root.
    """
    _check_share("certainty", certainty)
    if wanted <= 0:
        return 0
    reached = 0.0
    for struck, log_chance in enumerate(log_chances, start=wanted):
        reached += exp(log_chance)
        if reached >= certainty - 1e-12:
            return struck
    raise Refusal(
        f"{wanted} rooted plants at {certainty:.0%} certainty would take more than "
        f"{MOST_TO_STRIKE} cuttings; ask for fewer or for less certainty"
    )


def _log_ways(struck: int, wanted: int) -> float:
    """Logarithm of the ways to place the other successes before the last one struck."""
    return lgamma(struck) - lgamma(wanted) - lgamma(struck - wanted + 1) if wanted > 0 else 0.0


def _log_beta(a: float, b: float) -> float:
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def _check_share(what: str, share: float) -> None:
    if not 0 < share < 1:
        raise Refusal(f"{what} '{share:g}' must lie between 0 and 1")
