"""Water added, set against what a loop is likely to lose."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from cropplan.holding.house import Units
from cropplan.holding.logged import LoggedKind
from cropplan.holding.loop import Loop
from cropplan.schedule.measures import volume_text
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import day_text, days_text
from cropplan.water.level import LevelJudgement, LevelQuestion, TopUp, judge_top_up

#: A large top-up this long ago was seen to or has shown itself harmless. [d]
#: Common practice, no source.
_ASKED_FOR = 7
#: A loop counts as full on the day it was put in, for a first top-up written so soon after. [d]
#: Common practice, no source.
_FULL_AT_FIRST = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """The last water added to a loop.

    litres : of that day. [L] days : since the top-up before. judged : against the usual loss.
    """

    day: date
    litres: float
    days: int
    judged: LevelJudgement
    units: Units
    today: date

    @property
    def words(self) -> str:
        """What was added, and what was to be expected, on one line."""
        usual = "its own" if self.judged.from_own_record else "a loop's"
        return (
            f"{volume_text(self.litres, self.units)} added on {day_text(self.day, self.today)} "
            f"after {days_text(self.days)}, {self.judged.lost:.1f} % a day; {usual} usual is "
            f"{self.judged.usual_low:.1f} to {self.judged.usual_high:.1f} %"
        )


def last_top_up(scene: Scene, loop: Loop) -> Added | None:
    """The last top-up, judged; None before there are two to count the days between."""
    figure = scene.catalogue.waters.get("loop.any", {}).get("top_up")
    spans = _spans(scene, loop)
    if figure is None or not spans:
        return None
    day, last = spans[-1]
    judged = judge_top_up(
        last,
        volume=loop.volume_l,
        loss_low=figure.least,
        loss_high=figure.most,
        earlier=[top_up for _, top_up in spans[:-1]],
    )
    return Added(
        day=day,
        litres=last.added,
        days=last.days,
        judged=judged,
        units=scene.holding.houses[loop.house].units,
        today=scene.today,
    )


def unusual_top_up(scene: Scene, loop: Loop) -> Added | None:
    """The last top-up, when it lately was more than the loop should have lost."""
    last = last_top_up(scene, loop)
    if last is None or last.judged.question is not LevelQuestion.LEAK:
        return None
    return last if (scene.today - last.day).days <= _ASKED_FOR else None


def _spans(scene: Scene, loop: Loop) -> list[tuple[date, TopUp]]:
    """Each top-up with the days since the one before and what was drained in them."""
    added: dict[date, float] = defaultdict(float)
    drained: dict[date, float] = defaultdict(float)
    for one in scene.water_log.get(loop.name, ()):
        if one.kind is LoggedKind.TOPPED_UP:
            added[one.day] += one.amount
        elif one.kind is LoggedKind.DRAINED:
            drained[one.day] += one.amount
    days = sorted(added)
    if loop.since is not None and days and 0 < (days[0] - loop.since).days <= _FULL_AT_FIRST:
        days = [loop.since, *days]
    spans = []
    for before, day in pairwise(days):
        let_out = sum(litres for on, litres in drained.items() if before < on <= day)
        spans.append((day, TopUp(added=added[day], days=(day - before).days, drained=let_out)))
    return spans
