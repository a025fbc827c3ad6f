"""What must hold of chances, learning, cuttings, yields, degree-days and any log whatever."""

from datetime import date
from math import inf

from hypothesis import assume, given
from hypothesis import strategies as st

from cropplan.growth.censored import Weighed
from cropplan.growth.chance import Spread
from cropplan.growth.learning import learn
from cropplan.growth.light import LightClimate, daily_light_integral
from cropplan.growth.paces import TemperatureGrid
from cropplan.growth.readings import COLDEST, HOTTEST, read_days
from cropplan.growth.rooting import how_many_to_strike, will_still_root
from cropplan.growth.sun import day_length, days_below
from cropplan.growth.warmth import (
    DayWarmth,
    average_degree_days,
    met_service_degree_days,
    modified_degree_days,
    sine_degree_days,
    triangle_degree_days,
)
from cropplan.growth.yields import LightUse, YieldAnchor, potential_yield, week_pick

CATALOGUE = (0.7, 1.0, 1.4)
RIPENING = TemperatureGrid(points=((14, 95), (18, 65), (22, 46), (26, 42)))
temps = st.floats(min_value=-30, max_value=50)
ratios = st.floats(min_value=0.2, max_value=4)
latitudes = st.floats(min_value=-90, max_value=90)
dates = st.dates(min_value=date(2000, 1, 1), max_value=date(2049, 12, 31))
spreads = st.builds(
    Spread,
    median=st.floats(min_value=0.1, max_value=10),
    below=st.floats(min_value=0.02, max_value=1),
    above=st.floats(min_value=0.02, max_value=1),
    df=st.one_of(st.floats(min_value=1, max_value=200), st.just(inf)),
)


@given(temps, temps, st.floats(min_value=0, max_value=15))
def test_degree_days_never_fall_as_a_day_warms(one: float, other: float, warmer: float) -> None:
    """Every rule without a falling cut-off, and none is ever below nothing."""
    low, high = sorted((one, other))
    day, warm = DayWarmth(low=low, high=high), DayWarmth(low=low + warmer / 2, high=high + warmer)
    slack = 1e-9
    for before, after in (
        (average_degree_days(day, 10), average_degree_days(warm, 10)),
        (modified_degree_days(day, 10, 30), modified_degree_days(warm, 10, 30)),
        (met_service_degree_days(day, 10), met_service_degree_days(warm, 10)),
        (sine_degree_days(day, 10, 30), sine_degree_days(warm, 10, 30)),
        (triangle_degree_days(day, 10, 30), triangle_degree_days(warm, 10, 30)),
    ):
        assert -slack <= before <= after + slack


@given(temps, temps, st.floats(min_value=-5, max_value=15), st.floats(min_value=0.1, max_value=25))
def test_cut_offs_take_away_in_their_order(
    one: float, other: float, base: float, room: float
) -> None:
    """None, then horizontal, then intermediate and vertical, which take more; never below 0."""
    low, high = sorted((one, other))
    day, ceiling = DayWarmth(low=low, high=high), base + room
    for rule in (sine_degree_days, triangle_degree_days):
        none, held = rule(day, base), rule(day, base, ceiling)
        assert none >= held - 1e-9
        assert held <= room + 1e-9
        for falling in ("intermediate", "vertical"):
            assert -1e-9 <= rule(day, base, ceiling, falling) <= held + 1e-9


@given(spreads, st.floats(min_value=0.001, max_value=0.999))
def test_a_quantile_undoes_its_chance(spread: Spread, chance: float) -> None:
    """The ratio by which so many have ended leaves the rest waiting."""
    ratio = spread.ratio_at(chance)
    assume(1e-100 < ratio < 1e100)
    assert abs(spread.still_waiting(ratio) - (1 - chance)) < 1e-6


@given(spreads, st.floats(min_value=0.01, max_value=0.99), st.floats(min_value=0, max_value=50))
def test_waiting_never_shortens(spread: Spread, chance: float, waited: float) -> None:
    """Given that it has waited, a stage ends no earlier than it has waited or than it would."""
    given_waited = spread.ratio_at_given_waited(chance, waited)
    assert given_waited >= waited
    assert given_waited >= spread.ratio_at(chance) * (1 - 1e-6)


@given(st.lists(ratios, min_size=1, max_size=6), st.data())
def test_a_longer_record_never_shortens_what_is_learnt(
    finished: list[float], data: st.DataObject
) -> None:
    """Raise one of the finished ratios, all others the same."""
    index = data.draw(st.integers(min_value=0, max_value=len(finished) - 1))
    longer = [*finished]
    longer[index] *= data.draw(st.floats(min_value=1, max_value=3))
    before = learn(CATALOGUE, [Weighed(ratio=ratio) for ratio in finished], [])
    after = learn(CATALOGUE, [Weighed(ratio=ratio) for ratio in longer], [])
    assert after.typical >= before.typical * (1 - 1e-9)


@given(st.lists(ratios, max_size=4), st.lists(ratios, min_size=1, max_size=4))
def test_those_who_wait_never_shorten_what_is_learnt(
    finished: list[float], waiting: list[float]
) -> None:
    """A stage not ended yet can only say: longer. To the sum's own precision."""
    heard = [Weighed(ratio=ratio) for ratio in finished]
    without = learn(CATALOGUE, heard, [])
    with_ = learn(CATALOGUE, heard, [Weighed(ratio=ratio) for ratio in waiting])
    assert with_.typical >= without.typical * (1 - 2e-3)
    assert with_.low <= with_.typical <= with_.high


@given(
    st.integers(min_value=1, max_value=60),
    st.floats(min_value=0.2, max_value=0.98),
    st.floats(min_value=0.3, max_value=0.98),
)
def test_more_wanted_or_surer_is_never_fewer_struck(
    wanted: int, success: float, certainty: float
) -> None:
    """And a better rooting crop never needs more."""
    struck = how_many_to_strike(wanted, success, certainty)
    assert struck >= wanted
    assert how_many_to_strike(wanted + 1, success, certainty) > struck - 1
    assert how_many_to_strike(wanted, success, (1 + certainty) / 2) >= struck
    assert how_many_to_strike(wanted, (1 + success) / 2, certainty) <= struck


@given(st.floats(min_value=0, max_value=1), st.floats(min_value=0, max_value=1))
def test_waiting_never_makes_rooting_likelier(success: float, unrooted: float) -> None:
    """A late cutting's chance lies between none and what it was struck with."""
    assume(success * unrooted + 1 - success > 0)
    assert 0 <= will_still_root(success, unrooted) <= max(success, 0) + 1e-12


@given(
    st.floats(min_value=0, max_value=60),
    st.floats(min_value=0, max_value=20),
    st.floats(min_value=-5, max_value=40),
    st.floats(min_value=0, max_value=10),
)
def test_more_light_or_warmth_never_lowers_the_pick(
    dli: float, more: float, temp: float, warmer: float
) -> None:
    """Up to twice the anchor's light it raises it, beyond it changes nothing."""
    anchor = YieldAnchor(low=0.3, typical=0.5, high=0.7, at_dli=20, at_c=20, elasticity=0.85)
    dim = week_pick(10, anchor, dli=dli, temp_c=temp, ripening=RIPENING)
    bright = week_pick(10, anchor, dli=dli + more, temp_c=temp + warmer, ripening=RIPENING)
    assert 0 <= dim.low <= dim.likely <= dim.high
    assert bright.likely >= dim.likely * (1 - 1e-12)


@given(
    st.floats(min_value=0, max_value=30),
    st.floats(min_value=0.1, max_value=1),
    st.floats(min_value=0, max_value=6),
    st.floats(min_value=1, max_value=2),
)
def test_the_ceiling_rises_with_light_cover_and_leaf(
    radiation: float, cover: float, leaf: float, times: float
) -> None:
    """More of any never lowers it, and without leaf there is nothing."""
    use = LightUse(extinction=0.75, efficiency=3, picked_share=0.7, dry_share=0.06)
    here = potential_yield(radiation, cover, leaf, use)
    assert potential_yield(radiation * times, cover, leaf, use) >= here
    assert potential_yield(radiation, cover * times, leaf, use) >= here
    assert potential_yield(radiation, cover, leaf * times, use) >= here
    assert potential_yield(radiation, cover, 0, use) == 0


@given(latitudes, dates)
def test_every_place_has_a_day_between_none_and_all(latitude: float, day: date) -> None:
    """0 to 24 h anywhere on the globe, and light never below nothing."""
    assert 0 <= day_length(latitude, day) <= 24.0000001
    assert daily_light_integral(LightClimate(latitude=latitude, cover=0.6), day) > -1e-9


@given(latitudes, dates)
def test_north_and_south_share_out_the_light(latitude: float, day: date) -> None:
    """To 60°, where it is day for one it is night for the other, but for refraction on both."""
    assume(abs(latitude) <= 60)
    both = day_length(latitude, day) + day_length(-latitude, day)
    assert 24 <= both < 25


@given(st.floats(min_value=-65, max_value=65), st.integers(min_value=1990, max_value=2040))
def test_dark_windows_are_in_order_and_dark(latitude: float, year: int) -> None:
    """Each begins in its year, ends after it begins, and holds its shortest day."""
    for first, last in days_below(round(latitude, 1), year):
        assert first.year == year
        assert first <= last
        middle = date.fromordinal((first.toordinal() + last.toordinal()) // 2)
        assert day_length(round(latitude, 1), middle) < 10


@given(st.text(max_size=400))
def test_any_text_is_read_or_reported_and_never_fails(text: str) -> None:
    """Whatever is in the file: days in order, none twice, each believable; problems by line."""
    _check(text)


cells = st.sampled_from(
    ["2026-01-01", "01/02/2026", "2.1.26", "12,5", "-3", "999", "", "date", "low", "high",
     "temp °F", "time", "06:00", '"', "x" * 9, "NaN", "1e5", "٣", "−4"]
)  # fmt: skip


@given(st.lists(st.lists(cells, max_size=4), max_size=12), st.sampled_from(",;\t|"))
def test_any_table_of_likely_cells_is_read_or_reported(table: list[list[str]], mark: str) -> None:
    """The same for text that looks like a log."""
    _check("\n".join(mark.join(row) for row in table))


def _check(text: str) -> None:
    days, problems = read_days(text, file="log.csv")
    assert [day.day for day in days] == sorted({day.day for day in days})
    for day in days:
        assert COLDEST <= day.warmth.low <= day.warmth.high <= HOTTEST
        assert day.count >= 1
    for problem in problems:
        assert problem.file == "log.csv"
        assert problem.line is None or problem.line >= 1
        assert problem.message


@given(
    st.dictionaries(
        st.dates(min_value=date(2000, 1, 1), max_value=date(2099, 12, 31)),
        st.tuples(st.floats(min_value=-20, max_value=20), st.floats(min_value=0, max_value=19)).map(
            lambda pair: (round(pair[0], 1), round(pair[0] + pair[1], 1))
        ),
        min_size=1,
        max_size=30,
    ),
    st.sampled_from([",", ";", "\t"]),
)
def test_a_log_that_was_written_is_read_back(
    written: dict[date, tuple[float, float]], mark: str
) -> None:
    """Low and high of every day come back; nothing is reported but missing days."""
    lines = [mark.join(("date", "low °C", "high °C"))]
    lines += [mark.join((str(day), str(low), str(high))) for day, (low, high) in written.items()]
    days, problems = read_days("\n".join(lines), file="log.csv")
    assert {day.day: (day.warmth.low, day.warmth.high) for day in days} == written
    assert all(problem.message.startswith("no reading") for problem in problems)
