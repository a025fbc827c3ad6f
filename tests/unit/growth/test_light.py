"""Light in the house: lamps, limits and climates, beside the published figures."""

from datetime import date

import pytest

from cropplan.growth.light import (
    MOL_PER_MJ,
    LightClimate,
    clear_sky_radiation,
    clearness_of_site,
    daily_light_integral,
    lit_hours,
    radiation_from_sunshine,
    radiation_outside,
)
from cropplan.growth.sun import day_length, extraterrestrial_radiation
from cropplan.problems import Refusal

MIDWINTER, MIDSUMMER = date(2026, 12, 21), date(2026, 6, 21)


def test_light_inside_is_the_product_of_its_four_parts() -> None:
    """R_a × clearness × mol per MJ × cover, and nothing else."""
    climate = LightClimate(latitude=52, clearness=(0.4,) * 12, cover=0.6)
    above = extraterrestrial_radiation(52, MIDSUMMER)
    expected = above * 0.4 * MOL_PER_MJ * 0.6
    assert daily_light_integral(climate, MIDSUMMER) == pytest.approx(expected)


def test_each_month_has_its_own_clearness() -> None:
    """Clearness is taken by the month of the day."""
    cloudy_june = LightClimate(latitude=52, clearness=(0.5,) * 5 + (0.25,) + (0.5,) * 6, cover=1)
    june, july = (
        radiation_outside(cloudy_june, MIDSUMMER),
        radiation_outside(cloudy_june, date(2026, 7, 1)),
    )
    assert june == pytest.approx(july / 2, rel=0.05)


def test_lamps_without_hours_burn_every_day() -> None:
    """Light given as mol a day is added the year round."""
    dark = LightClimate(latitude=52, cover=0.6)
    lit = LightClimate(latitude=52, cover=0.6, lamp_mol=4)
    for day in (MIDWINTER, MIDSUMMER):
        added = daily_light_integral(lit, day) - daily_light_integral(dark, day)
        assert added == pytest.approx(4)


def test_lamps_that_make_up_the_day_rest_in_summer() -> None:
    """Lamps set to a 14 h day burn in December, not in June, when the sun gives more."""
    lit = LightClimate(latitude=52, cover=0.6, lamp_mol=4, lamp_hours=14)
    dark = LightClimate(latitude=52, cover=0.6)
    assert daily_light_integral(lit, MIDWINTER) == daily_light_integral(dark, MIDWINTER) + 4
    assert daily_light_integral(lit, MIDSUMMER) == daily_light_integral(dark, MIDSUMMER)
    assert lit_hours(lit, MIDWINTER) == 14
    assert lit_hours(lit, MIDSUMMER) == day_length(52, MIDSUMMER)


def test_polar_night_leaves_only_the_lamps() -> None:
    """Without sun the light is what the lamps give."""
    assert daily_light_integral(LightClimate(latitude=75, cover=0.6), MIDWINTER) < 1e-9
    lit = LightClimate(latitude=75, cover=0.6, lamp_mol=9)
    assert daily_light_integral(lit, MIDWINTER) == pytest.approx(9)


def test_a_climate_table_gives_back_its_own_clearness() -> None:
    """Clearness times radiation above the air, averaged by month, is the table again."""
    table = tuple(3.0 + month for month in range(12))
    climate = LightClimate(latitude=36, clearness=clearness_of_site(36, table), cover=1)
    january = [radiation_outside(climate, date(2023, 1, day)) for day in range(1, 32)]
    assert sum(january) / 31 == pytest.approx(3.0)


def test_a_month_of_polar_night_takes_the_typical_clearness() -> None:
    """The ratio of nothing to nothing is not asked for."""
    assert clearness_of_site(80, (0.0,) * 12)[0] == 0.5


def test_more_sunshine_than_the_day_has_is_the_whole_day() -> None:
    """A recorder's 25 h reads as an unbroken day, 0.75 of what comes in above."""
    assert radiation_from_sunshine(52, MIDSUMMER, 25) == pytest.approx(
        0.75 * extraterrestrial_radiation(52, MIDSUMMER)
    )
    assert radiation_from_sunshine(80, MIDWINTER, 3) == pytest.approx(0, abs=1e-9)


def test_a_clear_sky_is_brighter_higher_up() -> None:
    """FAO-56 eq. 37 adds 2 parts in 100 000 a metre."""
    low, high = clear_sky_radiation(40, MIDSUMMER, 0), clear_sky_radiation(40, MIDSUMMER, 1000)
    assert high / low == pytest.approx(0.77 / 0.75)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"clearness": (0.5,) * 11}, "got 11"),
        ({"clearness": (0.5,) * 11 + (1.5,)}, "month 12 is '1.5'"),
        ({"cover": 0.0}, "cover transmission '0'"),
        ({"lamp_mol": -1.0}, "lamps add 0 or more"),
        ({"lamp_hours": 25.0}, "0 to 24 hours"),
    ],
)
def test_a_climate_that_cannot_be_is_refused(wrong: dict[str, object], said: str) -> None:
    """Each figure's range is checked where the climate is made, and the figure shown."""
    right: dict[str, object] = {"latitude": 52.0, "cover": 0.6}
    with pytest.raises(Refusal, match=said):
        LightClimate(**{**right, **wrong})  # type: ignore[arg-type]


def test_a_short_climate_table_is_refused() -> None:
    """Twelve months or nothing."""
    with pytest.raises(Refusal, match="got 3"):
        clearness_of_site(52, (1.0, 2.0, 3.0))
