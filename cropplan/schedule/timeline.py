"""A planting's life in dates: what was seen stands, what is to come is predicted from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from cropplan.catalogue.model import Crop
from cropplan.growth.stages import Forecast, Weather, forecast, forecast_after, given_not_yet
from cropplan.holding.planting import ORDER, RAISING, Origin, Planting, Stage
from cropplan.holding.span import Basis, Dated, seen_on
from cropplan.schedule.lengths import bearing_stage, first_stage, pace_for, steps_from
from cropplan.schedule.lessons import Lessons

#: Plants that were bought in stand apart this long before they join the others: at the soonest,
#: usually, at the longest. [d] Common practice, no source.
QUARANTINE = (0, 7, 14)

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """The dates of one planting.

    dates : each stage's day, seen or predicted. The stage waited for is predicted given that it
        has not come yet, so it never lies in the past; `SPENT`, the end of picking, may, for a
        plant that is kept beyond it.
    first_guess : the same stages as first expected, which is when to start looking.
    counted : from which day, and by which figure of the crop, each guess was counted.
    """

    dates: Mapping[Stage, Dated]
    first_guess: Mapping[Stage, Dated] = field(default_factory=dict)
    counted: Mapping[Stage, tuple[date, str]] = field(default_factory=dict)

    def likely(self, stage: Stage) -> date | None:
        """The likely day of a stage, None when nothing is known of it."""
        dated = self.dates.get(stage)
        return None if dated is None else dated.likely


def timeline_of(
    planting: Planting,
    crop: Crop,
    weather: Weather,
    today: date,
    lessons: Lessons | None = None,
) -> Timeline:
    """The life of a planting, past and to come, as of today.

    A stage whose beginning is not known is not predicted: what depends on it waits for an anchor,
    such as the first flower seen.
    """
    taught = lessons or Lessons()
    dates = _known_days(planting)
    guesses: dict[Stage, Dated] = {}
    counted: dict[Stage, tuple[date, str]] = {}
    if planting.way is Origin.BOUGHT_IN:
        _quarantine(planting, dates, guesses, today)
    for begin, end, key in _steps(crop, planting.way):
        if end in dates or begin not in dates or _passed(planting, end):
            continue
        first, now = _next(dates[begin], crop, key, weather, today, taught)
        if first is None:
            break
        guesses[end] = first
        counted[end] = (dates[begin].likely, key)
        if end is Stage.SPENT:
            dates[end] = first
        elif now is not None:
            dates[end] = now
    _shorten_by_cuts(planting, crop, dates)
    return Timeline(dates=dates, first_guess=guesses, counted=counted)


def _known_days(planting: Planting) -> dict[Stage, Dated]:
    dates = {stage: seen_on(day) for stage, day in planting.seen.items()}
    if planting.started is not None:
        begun = seen_on(planting.started, planting.started_give)
        dates[first_stage(planting.way)] = begun
    if planting.stage is not Stage.SPENT:
        # It was seen tired once and has come back since.
        dates.pop(Stage.SPENT, None)
    return dates


def _steps(crop: Crop, way: Origin) -> tuple[tuple[Stage, Stage, str], ...]:
    """The steps to follow: a flower that was seen tells the first pick better than the planting."""
    steps = steps_from(crop, way)
    if "flower_to_pick" in crop.values and "set_out_to_flower" not in crop.values:
        return ((Stage.FLOWERING, bearing_stage(crop), "flower_to_pick"), *steps)
    return steps


def _passed(planting: Planting, stage: Stage) -> bool:
    """Whether the planting is at or beyond a stage, though nobody wrote when it came."""
    here = ORDER.get(planting.stage, ORDER[Stage.FRUITING])
    return ORDER[stage] <= here and stage is not Stage.SPENT


def _quarantine(
    planting: Planting, dates: dict[Stage, Dated], guesses: dict[Stage, Dated], today: date
) -> None:
    start = dates.get(Stage.BOUGHT_IN)
    if start is None or planting.stage not in RAISING or Stage.SET_OUT in dates:
        return
    soonest, usual, longest = (start.likely + timedelta(days=d) for d in QUARANTINE)
    guess = Dated(likely=usual, earliest=soonest, latest=longest, basis=Basis.PREDICTED)
    guesses[Stage.SET_OUT] = guess
    dates[Stage.SET_OUT] = guess.shifted(max(0, (today - usual).days))


def _next(
    begins: Dated, crop: Crop, key: str, weather: Weather, today: date, taught: Lessons
) -> tuple[Dated | None, Dated | None]:
    """When a stage ends: as first expected, and given that it has not ended by today.

    None for either where that would take longer than anything could be waited for.
    """
    pace = pace_for(crop, key)
    spread = taught.spreads.get((crop.id, key))
    if begins.basis is Basis.SEEN and begins.earliest == begins.latest:
        first = _dated(forecast(pace, begins.likely, weather, spread))
        if begins.likely >= today:
            return first, first
        return first, _dated(given_not_yet(pace, begins.likely, today, weather, spread))
    before = Forecast(
        likely=begins.likely,
        earliest=begins.earliest,
        latest=begins.latest,
        clamped=begins.clamped,
    )
    first = _dated(forecast_after(before, pace, weather, spread))
    return first, None if first is None else first.not_before(today + _DAY)


def _shorten_by_cuts(planting: Planting, crop: Crop, dates: dict[Stage, Dated]) -> None:
    """A crop that is cut and regrows ends by its cuts, if that is sooner than by its age."""
    cuts, apart = crop.values.get("cuts"), crop.values.get("pick_interval")
    first = dates.get(bearing_stage(crop))
    if cuts is None or apart is None or first is None:
        return
    left = max(0.0, cuts.typical - planting.cuts)
    start = planting.last_picked or first.likely
    ends = start + timedelta(days=round(left * apart.typical))
    known = dates.get(Stage.SPENT)
    if known is None or (known.basis is Basis.PREDICTED and ends < known.likely):
        dates[Stage.SPENT] = Dated(
            likely=ends,
            earliest=start + timedelta(days=round(max(0.0, left - 1) * apart.least)),
            latest=start + timedelta(days=round((left + 1) * apart.most)),
            basis=Basis.PREDICTED,
        )


def _dated(told: Forecast | None) -> Dated | None:
    if told is None:
        return None
    return Dated(
        likely=told.likely,
        earliest=told.earliest,
        latest=told.latest,
        basis=Basis.PREDICTED,
        clamped=told.clamped,
    )
