"""Learning: what counts as a record, whose figure wins, and which way it moves."""

from datetime import date

import pytest

from cropplan.growth.censored import Weighed, mixed_with_waiting
from cropplan.growth.learning import (
    Fate,
    Learnt,
    belief_from,
    fate,
    learn,
    predictive,
    tray_weight,
    updated,
)
from cropplan.problems import Refusal

CATALOGUE = (0.7, 1.0, 1.4)
MARCH = (date(2026, 3, 1), date(2026, 3, 31))


def rows(*ratios: float) -> list[Weighed]:
    """Records of one plant each."""
    return [Weighed(ratio=ratio) for ratio in ratios]


def figures(learnt: Learnt) -> tuple[float, float, float]:
    """Low, typical, high."""
    return learnt.low, learnt.typical, learnt.high


def test_without_a_record_the_catalogue_stands() -> None:
    """Nothing heard: its own figures, no weight, and its own name on them."""
    learnt = learn(CATALOGUE, [], [])
    assert figures(learnt) == pytest.approx(CATALOGUE)
    assert (learnt.weight, learnt.basis, learnt.n_finished) == (0, "catalogue", 0)


def test_the_belief_predicts_the_catalogue_before_any_record() -> None:
    """The prior is made so that its own 80 % span is the catalogue's."""
    spread = predictive(belief_from(0.7, 1.0, 1 / 0.7))
    assert [spread.ratio_at(chance) for chance in (0.1, 0.5, 0.9)] == pytest.approx(
        [0.7, 1.0, 1 / 0.7]
    )


def test_an_own_figure_wins_and_the_records_are_still_counted() -> None:
    """The grower's word stands against any number of records."""
    learnt = learn(CATALOGUE, rows(1.3, 1.4, 1.3), rows(0.2), own=(0.8, 0.9, 1.0))
    assert figures(learnt) == pytest.approx((0.8, 0.9, 1.0))
    assert (learnt.basis, learnt.weight) == ("own", 0)
    assert (learnt.n_finished, learnt.n_waiting) == (3, 1)


def test_records_move_the_typical_figure_towards_themselves() -> None:
    """The more of them, the nearer, and the more the weight shown."""
    few, many = learn(CATALOGUE, rows(1.3), []), learn(CATALOGUE, rows(*[1.3] * 9), [])
    assert 1 < few.typical < many.typical < 1.3
    assert 0 < few.weight < many.weight < 1
    assert many.basis == "house"


def test_like_records_narrow_the_span_and_unlike_ones_widen_it() -> None:
    """Predictive spans are honest in both directions."""
    alike = learn(CATALOGUE, rows(0.98, 1.0, 1.02, 1.0, 0.99, 1.01), [])
    unlike = learn(CATALOGUE, rows(0.5, 2.0, 0.6, 1.8, 0.7, 1.5), [])
    assert alike.high / alike.low < 2 < unlike.high / unlike.low


def test_those_still_waiting_lengthen_what_the_finished_say() -> None:
    """Leaving out three at 1.5 would make the figure too short."""
    finished = rows(0.9, 1.0, 1.1)
    without, heard = learn(CATALOGUE, finished, []), learn(CATALOGUE, finished, rows(*[1.5] * 3))
    assert heard.typical > without.typical
    assert heard.high > without.high
    assert heard.n_waiting == 3


def test_those_still_waiting_are_heard_before_any_has_finished() -> None:
    """Three late and none done: the figure grows though no record backs it with weight."""
    learnt = learn(CATALOGUE, [], rows(*[1.6] * 3))
    assert learnt.typical > 1.2
    assert (learnt.basis, learnt.weight, learnt.n_waiting) == ("house", 0, 3)


def test_those_that_have_hardly_waited_change_nothing() -> None:
    """A cutting struck yesterday is no evidence."""
    finished = rows(0.9, 1.0, 1.1)
    assert figures(learn(CATALOGUE, finished, rows(0.05, 0.1))) == figures(
        learn(CATALOGUE, finished, [])
    )


def test_a_cutting_far_overdue_is_more_likely_dead_than_slow() -> None:
    """Where some never root, waiting five times as long hardly moves the figure."""
    finished = rows(0.9, 1.0, 1.1)
    sure = learn(CATALOGUE, finished, rows(5.0))
    doubtful = learn(CATALOGUE, finished, rows(5.0), success=0.8)
    bare = learn(CATALOGUE, finished, [])
    assert doubtful.typical == pytest.approx(bare.typical, rel=0.01)
    assert sure.typical > bare.typical * 1.1


def test_one_waiting_beyond_all_measure_is_still_a_finite_answer() -> None:
    """A forgotten row of fifty times the usual age, against twenty like records: far out in the
    curve's tail, where its plain value is nothing, the sum is still made."""
    belief = updated(belief_from(*CATALOGUE), rows(*[1.0, 1.01, 0.99, 1.0] * 5))
    mix = mixed_with_waiting(belief, rows(50.0))
    assert mix.still_waiting(0) == 1
    low, typical, high = (mix.ratio_at(chance) for chance in (0.1, 0.5, 0.9))
    assert 0 < low < typical < high < 1e6


def test_a_record_of_weight_two_is_two_records() -> None:
    """Weights count records, finished and waiting alike."""
    prior = belief_from(*CATALOGUE)
    heavy, twice = [Weighed(ratio=1.2, weight=2)], rows(1.2, 1.2)
    assert updated(prior, heavy) == updated(prior, twice)
    assert mixed_with_waiting(prior, heavy).ratio_at(0.5) == pytest.approx(
        mixed_with_waiting(prior, twice).ratio_at(0.5)
    )


def test_a_tray_counts_as_one_to_two_records() -> None:
    """One plant is one; the hundredth tells little that the first did not."""
    assert tray_weight(1) == 1
    assert 1 < tray_weight(2) < tray_weight(100) < 2
    assert tray_weight(5, likeness=0) == 5
    with pytest.raises(Refusal, match="tray of 0 plants"):
        tray_weight(0)


@pytest.mark.parametrize(("ratio", "weight"), [(0.0, 1.0), (1.0, 0.0), (-1.0, 1.0)])
def test_a_record_that_says_nothing_is_refused(ratio: float, weight: float) -> None:
    """No time waited, or no weight."""
    with pytest.raises(Refusal, match="says nothing"):
        Weighed(ratio=ratio, weight=weight)


@pytest.mark.parametrize(
    ("start", "seen", "expected"),
    [
        ((2, 1), (2, 20), ("finished", (2, 20))),  # over before the stretch
        ((2, 1), (4, 9), ("finished", (4, 9))),  # seen well after it, so not within it
        ((2, 1), (4, 1), ("waiting", (3, 1))),  # found on the first day back
        ((2, 1), (3, 15), ("waiting", (3, 1))),  # written up for a day nobody wrote on
        ((2, 1), None, ("waiting", (3, 1))),  # not seen: it may have ended within
        ((3, 10), (4, 1), None),  # began within, found on the first day back
        ((4, 2), None, ("waiting", (5, 1))),  # began after it
        ((4, 2), (4, 20), ("finished", (4, 20))),
    ],
)
def test_unwritten_weeks_are_left_out(
    start: tuple[int, int],
    seen: tuple[int, int] | None,
    expected: tuple[str, tuple[int, int]] | None,
) -> None:
    """March was not written up; today is the first of May."""
    told = fate(date(2026, *start), seen and date(2026, *seen), date(2026, 5, 1), [MARCH])
    assert told == (
        expected and Fate(until=date(2026, *expected[1]), finished=expected[0] == "finished")
    )


def test_a_stage_begun_today_says_nothing_yet() -> None:
    """No day waited, no record."""
    assert fate(date(2026, 5, 1), None, date(2026, 5, 1), []) is None
