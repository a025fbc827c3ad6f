"""The accepted season plan as work: its strikes fall due, and striking fulfils them.

A planting of the crop begun since the plan was made stands for the plan's next strike. When it is
lost before it bears, that strike is open again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta

from cropplan.catalogue.model import Crop, Duty, Trigger
from cropplan.holding.planting import CLONAL, Origin
from cropplan.holding.season import PlannedStrike
from cropplan.holding.span import Basis
from cropplan.holding.task import SubjectKind, subject
from cropplan.holding.turns import turn_of
from cropplan.schedule.call import Call, Window
from cropplan.schedule.scene import Scene
from cropplan.schedule.wording import begin_words, day_text, list_text, span_text

#: A strike of the plan may be done so long before its day, and still makes its pick so long after.
#: Common practice, no source. [d]
EARLY, LATE = 7, 7


def planned_crops(scene: Scene) -> frozenset[str]:
    """Crops that the plan in force takes care of; the relay leaves them to it."""
    plan = scene.holding.plan
    if plan is None or plan.until < scene.today:
        return frozenset()
    return frozenset(week.crop for week in plan.weeks)


def planned_end(scene: Scene, tag: str) -> date | None:
    """The day the plan in force has a planting pulled; None when it does not say."""
    plan = scene.holding.plan
    if plan is None or plan.until < scene.today:
        return None
    return next((end.on for end in plan.ends if end.tag == tag), None)


def open_strikes(scene: Scene) -> Iterator[tuple[PlannedStrike, int]]:
    """The plan's strikes that nothing stands for yet, with how many are still to begin."""
    plan = scene.holding.plan
    if plan is None or plan.until < scene.today:
        return
    begun = _begun_since(scene, plan.made)
    for strike in sorted(plan.strikes, key=lambda strike: (strike.on, strike.number)):
        kind = (strike.crop, strike.way in CLONAL)
        done = min(strike.count, begun[kind])
        begun[kind] -= done
        if done < strike.count:
            yield strike, strike.count - done


def planned_calls(scene: Scene) -> Iterator[Call]:
    """The open strikes of the plan in force."""
    for strike, count in open_strikes(scene):
        crop = scene.catalogue.crops.get(strike.crop)
        for duty in scene.catalogue.duties.values():
            if duty.trigger is Trigger.REPLACE and crop is not None:
                call = _call(scene, duty, crop, strike, count)
                if call is not None:
                    yield call


def _begun_since(scene: Scene, made: date) -> Counter[tuple[str, bool]]:
    """Living plants begun since the plan was made, by crop and whether they are clones.

    Cuttings that were set out since are counted in their parts; what was brought in stands for
    nothing the plan wanted struck.
    """
    begun: Counter[tuple[str, bool]] = Counter()
    for planting in scene.holding.plantings.values():
        started = planting.started
        if started is None or started < made or not planting.alive:
            continue
        if planting.way is not Origin.BOUGHT_IN:
            # What was struck counts whole, the usual losses with it: the plan allowed for them.
            own = planting.count if planting.split_of else planting.begun - planting.split_off
            begun[planting.crop, planting.way in CLONAL] += own
    return begun


def _call(scene: Scene, duty: Duty, crop: Crop, strike: PlannedStrike, count: int) -> Call | None:
    about = subject(SubjectKind.PLAN, str(strike.number))
    turn = turn_of(scene.holding, duty.id, about)
    places = scene.holding.places
    where = strike.place or next(iter(strike.places), None)
    if turn.number > 1 or where is None or where not in places:
        return None
    why = f"season plan: first pick {day_text(strike.first_pick, scene.today)}"
    if strike.places:
        why += f", to {list_text(strike.places)} {span_text(strike.set_out, strike.set_out)}"
    if strike.mothers:
        why += f"; from {list_text(strike.mothers, most=3)}"
    window = Window(
        due=strike.on,
        earliest=strike.on - timedelta(days=EARLY),
        latest=strike.on + timedelta(days=LATE),
        why=why,
        basis=Basis.PLANNED,
    )
    return Call(
        duty=duty,
        subject=about,
        turn=turn.number,
        window=window,
        house=places[where].house,
        places=(where,),
        thing=crop.id,
        thing_code=crop.tag if strike.way is crop.ways[0] else f"{crop.tag}-{strike.way.value}",
        named=crop.plural,
        name=crop.name.lower(),
        plants=count,
        job=begin_words(strike.way.value).replace("{name}", crop.name.lower()),
    )


def plan_in_danger(scene: Scene) -> Iterator[str]:
    """The first pick that is in danger, because its strike is late or its plants were lost."""
    for strike, count in open_strikes(scene):
        if strike.on + timedelta(days=LATE) < scene.today:
            yield (
                f"season plan: {count} {strike.crop} of {day_text(strike.on, scene.today)} not "
                f"begun, so the pick from {day_text(strike.first_pick, scene.today)} is in danger; "
                "'cropplan season plan' plans the rest anew"
            )
            return
