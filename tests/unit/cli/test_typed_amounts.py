"""Amounts as typed become SI, or a line that says what to write."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropplan.cli import amounts
from cropplan.holding.house import Units
from cropplan.problems import Misuse


def metric() -> Units:
    """A house spoken of in metric units."""
    return Units.METRIC


def us() -> Units:
    """A house spoken of in US units."""
    return Units.US


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("450g", 450),
        ("1.2kg", 1200),
        ("1,2 kg", 1200),
        ("1lb", 453.59237),
        ("2 oz", 56.69904625),
        (".5kg", 500),
        ("60", 60),
        ("1 LB", 453.59237),
    ],
)
def test_masses_come_out_in_grams(typed: str, grams: float) -> None:
    """Source: NIST Handbook 44 (2024), Appendix C: 1 lb = 0.453 592 37 kg exactly, 16 oz a lb."""
    assert amounts.grams(typed, metric) == pytest.approx(grams, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "litres"), [("12L", 12), ("3gal", 11.356235352), ("250ml", 0.25), ("1.5m3", 1500)]
)
def test_volumes_come_out_in_litres(typed: str, litres: float) -> None:
    """Source: NIST Handbook 44 (2024), Appendix C: 1 US gallon = 3.785 411 784 L exactly."""
    assert amounts.litres(typed, metric) == pytest.approx(litres, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "celsius"), [("20C", 20), ("68F", 20), ("-40F", -40), ("20 °C", 20), ("32f", 0)]
)
def test_temperatures_come_out_in_celsius(typed: str, celsius: float) -> None:
    """Source: NIST SP 811 (2008), Appendix B: t/°C = (t/°F − 32)/1.8."""
    assert amounts.celsius(typed, metric) == pytest.approx(celsius)


def test_bare_numbers_are_in_the_units_of_the_house() -> None:
    """A house in US units weighs feed in ounces and crops in pounds, and reads °F."""
    assert amounts.grams("2", us) == pytest.approx(56.69904625)
    assert amounts.harvest("1", "kg", us) == pytest.approx(0.45359237)
    assert amounts.harvest("1", "kg", metric) == 1
    assert amounts.litres("1", us) == pytest.approx(3.785411784)
    assert amounts.celsius("68", us) == pytest.approx(20)


def test_a_unit_that_is_typed_never_asks_for_the_house() -> None:
    """With a unit, the house need not be known."""

    def unknown() -> Units:
        raise AssertionError("the house was asked for")

    assert amounts.grams("450g", unknown) == 450
    assert amounts.celsius("20C", unknown) == 20


def test_crops_that_are_counted_take_numbers_without_units() -> None:
    """Pieces and bunches are counted; a weight for them is refused."""
    assert amounts.harvest("12", "pieces", metric) == 12
    assert amounts.harvest("3 bunches", "bunches", metric) == 3
    with pytest.raises(Misuse, match="'450g' cannot be"):
        amounts.harvest("450g", "pieces", metric)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("450q", "no mass: the unit 'q'"),
        ("12L", "no mass: the unit 'l'"),
        ("1,200", "could be 1200 or 1.200"),
        ("much", "is not read"),
        ("1e3", "is not read"),
        ("nan", "is not read"),
        ("inf g", "is not read"),
        ("", "is not read"),
        ("1.2.3kg", "is not read"),
    ],
)
def test_an_amount_that_cannot_be_read_is_refused_with_its_text(typed: str, says: str) -> None:
    """No unit is guessed, and a comma that may mean a thousand is asked about."""
    with pytest.raises(Misuse) as refused:
        amounts.grams(typed, metric)
    assert f"'{typed}'" in str(refused.value)
    assert says in str(refused.value)


@given(st.text(max_size=15))
def test_any_text_is_a_finite_amount_or_a_misuse(text: str) -> None:
    """Nothing endless reaches the record, and every refusal holds what was typed."""
    told = grams_or_refusal(text)
    assert f"'{text}'" in told if isinstance(told, str) else math.isfinite(told)


def grams_or_refusal(text: str) -> float | str:
    """The mass that a text means, or why it is none."""
    try:
        return amounts.grams(text, metric)
    except Misuse as refused:
        return str(refused)


@pytest.mark.parametrize(
    ("typed", "days"), [("14d", 14), ("2w", 14), ("10", 10), ("1 day", 1), ("3 weeks", 21)]
)
def test_intervals_come_out_in_days(typed: str, days: int) -> None:
    """An interval is typed in days or weeks."""
    assert amounts.whole_days(typed) == days


@pytest.mark.parametrize("typed", ["-3d", "1.5d", "fortnight", ""])
def test_an_interval_that_is_no_number_of_days_is_refused(typed: str) -> None:
    """Intervals are whole days."""
    with pytest.raises(Misuse, match=f"'{typed}'"):
        amounts.whole_days(typed)


@pytest.mark.parametrize(
    ("typed", "degrees"),
    [
        ("53.3,-6.2", (53.3, -6.2)),
        ("53.3N 6.2W", (53.3, -6.2)),
        ("33.9S,151.2E", (-33.9, 151.2)),
        ("53, -6", (53, -6)),
    ],
)
def test_positions_come_out_north_and_east(typed: str, degrees: tuple[float, float]) -> None:
    """South and west are negative."""
    assert amounts.position(typed) == degrees


@pytest.mark.parametrize("typed", ["53.3", "53,3,-6,2", "here", "6.2W,53.3N"])
def test_a_position_that_is_none_is_refused(typed: str) -> None:
    """Latitude and longitude are two numbers in that order."""
    with pytest.raises(Misuse, match=f"'{typed}'"):
        amounts.position(typed)


def test_shares_are_read_as_parts_or_per_cent() -> None:
    """Both ways of saying that a cover lets through six tenths."""
    assert amounts.share("0.6") == 0.6
    assert amounts.share("60%") == pytest.approx(0.6)


def test_values_of_a_water_test_are_read_by_key() -> None:
    """Keys may be typed in capitals; one given twice is a slip."""
    assert amounts.pairs(["pH=6.8", "ammonia=0"]) == {"ph": "6.8", "ammonia": "0"}
    for wrong in (["ph"], ["ph="], ["=6.8"], ["ph=6", "PH=7"]):
        with pytest.raises(Misuse):
            amounts.pairs(wrong)
