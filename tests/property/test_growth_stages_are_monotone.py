"""What must hold of every stage in every weather: warmer or brighter is never later."""

from collections.abc import Callable
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from cropplan.growth.pace_law import rate
from cropplan.growth.paces import DimLight
from cropplan.growth.stages import (
    ROOTING,
    DayConditions,
    LightSum,
    Pace,
    PlainDays,
    TemperatureGrid,
    ThermalTime,
    Weather,
    YanHunt,
    finish,
    forecast,
    given_not_yet,
    progress,
    start_for,
)
from cropplan.growth.warmth import DayWarmth

ADAMS = TemperatureGrid(points=((14, 95), (18, 65), (22, 46), (26, 42)))
DIM = DimLight(enough=12, strength=0.7)
PACES: list[tuple[Pace, float, float]] = [
    (PlainDays(low=8, typical=10, high=14), -10, 45),
    (PlainDays(low=8, typical=10, high=14, dim=DIM), -10, 45),
    (PlainDays(low=8, typical=10, high=14, at_c=22, scaling=ROOTING), -10, 27),
    (ThermalTime(base_c=2.9, degree_days=891), -10, 45),
    (ThermalTime(base_c=10, ceiling_c=30, degree_days=120, dim=DIM), -10, 45),
    (ADAMS, -10, 45),
    (TemperatureGrid(points=((5, None), (10, 43), (15, 14), (20, 8), (25, 6))), -10, 45),
    (YanHunt(r_max=0.024, t_opt_c=26.5, t_max_c=36.7), -10, 26.5),
    (LightSum(days_min=40, mol=287), -10, 45),
]
"""A pace, and the temperatures between which warmer is quicker. [°C]"""

days = st.dates(min_value=date(2024, 1, 1), max_value=date(2030, 12, 31))
shares = st.floats(min_value=0, max_value=1, allow_nan=False)
lights = st.floats(min_value=0, max_value=40, allow_nan=False)
LATER_THAN_ALL = date(2200, 1, 1)


@st.composite
def weathers(draw: st.DrawFn, low: float = -10, high: float = 45) -> tuple[Weather, Weather]:
    """A weather of weekly rhythm, and one that is on no day colder or darker."""
    week, better = [], []
    for _ in range(7):
        cold, warm = sorted((draw(shares), draw(shares)))
        dli, lift, more = draw(lights), draw(shares), draw(lights)
        span = high - low
        week.append(_day(low + span * cold, low + span * warm, dli))
        cold, warm = cold + (1 - cold) * lift, warm + (1 - warm) * lift
        better.append(_day(low + span * cold, low + span * warm, dli + more))
    return _repeated(week), _repeated(better)


def _day(low: float, high: float, dli: float) -> DayConditions:
    return DayConditions(warmth=DayWarmth(low=low, high=max(low, high)), dli=dli)


def _repeated(week: list[DayConditions]) -> Weather:
    return lambda day: week[day.toordinal() % 7]


def _ends(pace: Pace, start: date, weather: Weather) -> date:
    return finish(pace, start, weather) or LATER_THAN_ALL


@given(data=st.data(), start=days)
def test_warmer_and_brighter_is_never_later(data: st.DataObject, start: date) -> None:
    """Whatever the form of the pace, where its source says that warmer is quicker."""
    pace, low, high = data.draw(st.sampled_from(PACES))
    weather, better = data.draw(weathers(low, high))
    assert _ends(pace, start, better) <= _ends(pace, start, weather)


@given(data=st.data(), first=days, later=st.integers(min_value=0, max_value=400))
def test_a_later_start_is_never_an_earlier_end(
    data: st.DataObject, first: date, later: int
) -> None:
    """In any weather a stage begun later does not overtake."""
    pace, low, high = data.draw(st.sampled_from(PACES))
    weather, _ = data.draw(weathers(low, high))
    after = first + timedelta(days=later)
    assert _ends(pace, first, weather) <= _ends(pace, after, weather)


@given(data=st.data(), wanted=days, factor=st.floats(min_value=0.3, max_value=2))
def test_backward_is_the_inverse_of_forward(
    data: st.DataObject, wanted: date, factor: float
) -> None:
    """The last day to start ends in time; the day after does not."""
    pace, low, high = data.draw(st.sampled_from(PACES))
    weather, _ = data.draw(weathers(low, high))
    start = start_for(pace, wanted, weather, factor)
    if start is None:
        assert progress(pace, wanted - timedelta(days=900), wanted, weather) < factor
        return
    ended = finish(pace, start, weather, factor)
    assert ended is not None
    assert ended <= wanted
    late = finish(pace, start + timedelta(days=1), weather, factor)
    assert late is None or late > wanted


@given(data=st.data(), start=days, waited=st.integers(min_value=0, max_value=300))
def test_what_has_not_happened_is_never_predicted_for_the_past(
    data: st.DataObject, start: date, waited: int
) -> None:
    """Tomorrow at the earliest, in order, and never earlier than before one waited."""
    pace, low, high = data.draw(st.sampled_from(PACES))
    weather, _ = data.draw(weathers(low, high))
    today = start + timedelta(days=waited)
    told = given_not_yet(pace, start, today, weather)
    fresh = forecast(pace, start, weather)
    if told is None or fresh is None:
        return
    assert today < told.earliest <= told.likely <= told.latest
    assert fresh.likely <= told.likely
    assert fresh.latest <= told.latest


@given(
    pace=st.sampled_from([pace for pace, _, _ in PACES]),
    temp=st.floats(min_value=-40, max_value=70),
    dli=st.floats(min_value=0, max_value=100),
)
def test_a_rate_is_a_share_of_the_stage_at_any_temperature(
    pace: Pace, temp: float, dli: float
) -> None:
    """Never negative, never a stage in less than a day, never not a number."""
    assert 0 <= rate(pace, temp, dli).per_day < 1


@given(data=st.data(), start=days)
def test_the_kept_months_change_nothing(data: st.DataObject, start: date) -> None:
    """Asked twice, asked through another function of the same weather: the same day."""
    pace, low, high = data.draw(st.sampled_from(PACES))
    weather, _ = data.draw(weathers(low, high))
    again: Callable[[date], DayConditions] = lambda day: weather(day)  # noqa: E731, PLW0108
    assert finish(pace, start, weather) == finish(pace, start, weather)
    assert finish(pace, start, again) == finish(pace, start, weather)
