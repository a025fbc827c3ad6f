"""When the solids filter wants draining: by the feed it has had, between a floor and a ceiling."""

from __future__ import annotations

from datetime import date, timedelta

from cropplan.holding.holding import Turn
from cropplan.holding.house import Units
from cropplan.holding.loop import Loop
from cropplan.schedule.call import Window
from cropplan.schedule.interval import Interval
from cropplan.schedule.measures import mass_text
from cropplan.schedule.ration import feed_log, ration_for
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text, days_text, every_text
from cropplan.water.drain import Drain, DrainBasis, DrainRhythm, next_drain, rhythm_for_filter


def drain_of(scene: Scene, loop: Loop, turn: Turn, interval: Interval) -> Drain | None:
    """The next drain and what it rests on; None when nothing tells the filter's usual feed.

    A filter that was never drained counts from the day the loop was put into the record.
    """
    rhythm = rhythm_of(scene, loop, interval)
    if rhythm is None:
        return None
    last = turn.last_done or loop.since
    return next_drain(feed_log(scene, loop), last_drain=last, rhythm=rhythm, today=scene.today)


def rhythm_of(scene: Scene, loop: Loop, interval: Interval) -> DrainRhythm | None:
    """How often a filter is drained, by what it holds where that is known."""
    figures = scene.catalogue.waters.get("loop.any", {})
    ration = ration_for(scene, loop)
    normal = loop.normal_feed_g or loop.feed_g or (ration.grams if ration is not None else 0.0)
    if not normal or not {"drain_floor", "drain_ceiling", "solids_from_feed"} <= figures.keys():
        return None
    floor = round(figures["drain_floor"].typical)
    ceiling = max(round(figures["drain_ceiling"].typical), interval.typical)
    kind = None if loop.filter_kind is None else f"filter.{loop.filter_kind.value}"
    caught = scene.catalogue.waters.get(kind or "", {}).get("caught_share")
    if caught is not None and loop.filter_holds_g:
        return rhythm_for_filter(
            holds=loop.filter_holds_g,
            solids_share=figures["solids_from_feed"].typical,
            caught_share=caught.typical,
            normal_feed=normal,
            floor_days=floor,
            ceiling_days=ceiling,
        )
    return DrainRhythm(
        normal_days=interval.typical,
        normal_feed=normal,
        floor_days=min(floor, interval.typical),
        ceiling_days=ceiling,
    )


def drain_window(drain: Drain, ceiling: int, units: Units, today: date) -> Window:
    """The window of a drain, with some grace where the longest interval leaves it."""
    last = drain.why.last_drain
    latest = drain.due + timedelta(days=max(1, (drain.interval_days or 0) // 2))
    if last is not None:
        latest = max(drain.due, min(latest, last + timedelta(days=ceiling)))
    return Window(
        due=drain.due,
        earliest=min(drain.due, (last or drain.due) + timedelta(days=1)),
        latest=latest,
        why=drain_words(drain, units, today),
    )


def drain_words(drain: Drain, units: Units, today: date) -> str:
    """What the day of a drain rests on."""
    why = drain.why
    if why.last_drain is None or drain.interval_days is None:
        return "never written as drained"
    every = every_text(drain.interval_days)
    match drain.basis:
        case DrainBasis.LOG_THIN:
            return (
                f"feed written on {why.days_logged} of {days_text(why.days_looked_at)}, too few to "
                f"go by: {every} as usual"
            )
        case DrainBasis.LOG_ABSURD:
            slip = why.absurd[0]
            return (
                f"a feed of {mass_text(slip.grams, units)} on {day_text(slip.day, today)} cannot "
                f"be: {every} as usual; 'cropplan undo' puts it right"
            )
    fed = mass_text(why.feed_since or 0.0, units)
    full = f"filter about {(drain.fill or 0.0) * 100:.0f} % full"
    bound = {
        DrainBasis.CEILING: f"; {every} is the longest",
        DrainBasis.FLOOR: "; daily is the shortest",
    }.get(drain.basis, f"; {every} at this feed")
    return f"{fed} fed since {day_text(why.last_drain, today)}, {full}{bound}"
