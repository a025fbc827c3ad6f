"""Test readings against limits."""

from __future__ import annotations

import math
from datetime import date

import pytest

from cropplan.problems import Refusal
from cropplan.water.readings import (
    HARM,
    Key,
    Limits,
    Readings,
    Severity,
    Side,
    judge,
    perhaps_meant,
    ph_swing,
    retest_on,
)

FISH = (
    Limits(key=Key.TEMPERATURE, low=14, high=36, severity=Severity.URGENT),
    Limits(key=Key.PH, low=6, high=8.5, severity=Severity.URGENT),
    Limits(key=Key.AMMONIA, high=3, severity=Severity.URGENT),
    Limits(key=Key.NITRITE, high=1, severity=Severity.URGENT),
    Limits(key=Key.OXYGEN, low=4, severity=Severity.URGENT),
)
PLANTS = (
    Limits(key=Key.PH, low=6, high=7, severity=Severity.WATCH),
    Limits(key=Key.AMMONIA, high=1, severity=Severity.WATCH),
    Limits(key=Key.NITRATE, low=5, high=150, severity=Severity.WATCH),
)
GOOD = Readings(oxygen=6, ammonia=0, nitrite=0, temperature=25, ph=6.6, nitrate=40)


def test_good_water_has_no_findings() -> None:
    """Nothing outside a limit, nothing to do."""
    answer = judge(GOOD, (*FISH, *PLANTS))
    assert answer.findings == ()
    assert not answer.urgent
    assert answer.not_tested == ()


def test_ammonia_of_2_in_warm_alkaline_water_is_urgent_by_its_un_ionised_part() -> None:
    """Situation: ammonia 2 mg/L at pH 8.2 and 28 degC; the total alone would only be watched."""
    answer = judge(Readings(ammonia=2, ph=8.2, temperature=28), (*FISH, *PLANTS))
    first = answer.findings[0]
    assert (first.key, first.severity, first.side) == (Key.UN_IONISED, Severity.URGENT, Side.ABOVE)
    assert first.reading == pytest.approx(0.1996, abs=0.0001)
    assert first.limit == 0.05
    assert answer.un_ionised == first.reading
    assert [(f.key, f.severity) for f in answer.findings[1:]] == [
        (Key.AMMONIA, Severity.WATCH),
        (Key.PH, Severity.WATCH),
    ]


def test_the_same_ammonia_in_cool_acid_water_is_not_urgent() -> None:
    """At pH 6.4 and 18 degC the un-ionised part of 2 mg/L is under 0.002 mg/L."""
    answer = judge(Readings(ammonia=2, ph=6.4, temperature=18), (*FISH, *PLANTS))
    assert not answer.urgent
    assert answer.un_ionised is not None
    assert answer.un_ionised < 0.002


def test_zero_is_a_reading_and_a_blank_is_not() -> None:
    """Nitrate 0 is too low for plants; nitrite not tested is not judged but named."""
    answer = judge(Readings(nitrate=0), PLANTS + FISH)
    assert [(f.key, f.side, f.reading) for f in answer.findings] == [(Key.NITRATE, Side.BELOW, 0)]
    assert Key.NITRITE in answer.not_tested
    assert Key.NITRATE not in answer.not_tested


def test_ammonia_without_ph_leaves_the_un_ionised_part_unknown() -> None:
    """It is named as not judged, never taken for nought."""
    answer = judge(Readings(ammonia=2, temperature=25), FISH)
    assert answer.un_ionised is None
    assert Key.UN_IONISED in answer.not_tested


def test_no_ammonia_means_no_un_ionised_ammonia() -> None:
    """A reading of zero gives a computed zero."""
    assert judge(GOOD, FISH).un_ionised == 0


def test_the_ends_of_a_range_are_allowed() -> None:
    """A limit is passed only beyond it."""
    answer = judge(Readings(ph=6, nitrite=1, oxygen=4, temperature=36), FISH)
    assert answer.findings == ()


def test_a_reading_outside_two_limits_is_reported_once_at_the_graver() -> None:
    """A pH of 9 passes the plants' 7 and the fish's 8.5: one urgent line."""
    answer = judge(Readings(ph=9), (*PLANTS, *FISH))
    assert [(f.key, f.severity, f.limit) for f in answer.findings] == [
        (Key.PH, Severity.URGENT, 8.5)
    ]


def test_of_two_limits_equally_grave_the_one_most_passed_is_reported() -> None:
    """Plants want 7, bacteria 8: the line names 7."""
    bacteria = Limits(key=Key.PH, high=8, severity=Severity.WATCH)
    answer = judge(Readings(ph=8.2), (bacteria, *PLANTS))
    assert [f.limit for f in answer.findings] == [7]


def test_the_worst_for_the_fish_comes_first() -> None:
    """Urgent before watch, and oxygen before anything."""
    answer = judge(
        Readings(oxygen=2, ammonia=4, nitrite=3, temperature=25, ph=6.5, nitrate=300),
        (*PLANTS, *FISH),
    )
    assert [f.key for f in answer.findings] == [
        Key.OXYGEN,
        Key.AMMONIA,
        Key.NITRITE,
        Key.NITRATE,
    ]


def test_the_harm_limit_holds_even_when_a_milder_one_is_given() -> None:
    """A limit to watch must not silence the urgent one."""
    mild = Limits(key=Key.UN_IONISED, high=0.02, severity=Severity.WATCH)
    answer = judge(Readings(ammonia=2, ph=8.2, temperature=28), (mild,))
    assert answer.findings[0].severity is Severity.URGENT
    assert answer.findings[0].limit == HARM.high


def test_a_stricter_urgent_limit_replaces_the_general_one() -> None:
    """Trout are harmed by less."""
    trout = Limits(key=Key.UN_IONISED, high=0.02, severity=Severity.URGENT)
    answer = judge(Readings(ammonia=2, ph=7.8, temperature=12), (trout,))
    assert [f.limit for f in answer.findings] == [0.02]


def test_oxygen_is_given_as_a_share_of_what_the_water_holds() -> None:
    """8.26 mg/L at 25 degC and sea level is full; without air pressure there is no share."""
    reading = Readings(oxygen=8.26, temperature=25)
    assert judge(reading, (), pressure=101.325).oxygen_share == pytest.approx(1, abs=0.001)
    assert judge(reading, ()).oxygen_share is None


def test_the_day_after_an_urgent_reading_is_tested_again() -> None:
    """Situation: ammonia reading high; test again tomorrow, the routine day not moved."""
    bad = judge(Readings(nitrite=5), FISH)
    assert retest_on(bad, date(2026, 2, 28)) == date(2026, 3, 1)
    assert retest_on(judge(GOOD, FISH), date(2026, 2, 28)) is None


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        (Readings(ph=67), r"ph 67 .* did you mean 6\.7\?"),
        (Readings(ph=-6.7), r"did you mean 6\.7\?"),
        (Readings(temperature=77), r"temperature 77 .* did you mean 25\?"),
        (Readings(temperature=245), r"did you mean 24\.5\?"),
        (Readings(ammonia=-1), "did you mean 1"),
        (Readings(nitrate=40000), "did you mean 400"),
        (Readings(oxygen=75), r"did you mean 7\.5"),
    ],
)
def test_an_absurd_reading_is_refused_with_a_question(readings: Readings, said: str) -> None:
    """Situation: pH 67 is a slip for 6.7 and asked about, not stored and not merely an error."""
    with pytest.raises(Refusal, match=said):
        judge(readings, FISH)


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_reading_that_is_no_number_is_refused_without_a_guess(value: float) -> None:
    """There is nothing to guess from."""
    assert perhaps_meant(Key.PH, value) is None
    with pytest.raises(Refusal, match=r"outside 3 to 11$"):
        judge(Readings(ph=value), ())


def test_a_quick_change_of_ph_is_a_finding() -> None:
    """0.3 within about 12 hours is dangerous (FAO Technical Paper 589, 7.3)."""
    found = ph_swing(6.8, 7.1, hours=10)
    assert found is not None
    assert (found.side, found.severity) == (Side.ABOVE, Severity.WATCH)
    fallen = ph_swing(7.1, 6.5, hours=2)
    assert fallen is not None
    assert fallen.side is Side.BELOW
    assert fallen.limit == pytest.approx(6.8)


def test_a_small_or_slow_change_of_ph_is_none() -> None:
    """A drift over days, or within what a test can tell apart, is no swing."""
    assert ph_swing(6.8, 7.0, hours=10) is None
    assert ph_swing(6.8, 7.4, hours=48) is None


def test_limits_in_the_wrong_order_are_refused() -> None:
    """The lower end is first."""
    with pytest.raises(Refusal, match="ph 8 to 6"):
        Limits(key=Key.PH, low=8, high=6, severity=Severity.WATCH)
