"""The accepted season plan as work: its strikes fall due, and striking fulfils them.

A planting of the crop begun since the plan was made stands for the plan's next strike. When it is
lost before it bears, that strike is open again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from cropplan.catalogue.model import Crop, Duty, Trigger
from cropplan.holding.planting import CLONAL, Origin, Planting
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
_DAY = timedelta(days=1)


def planned_crops(scene: Scene) -> frozenset[str]:
    """Crops that the plan in force takes care of; the relay leaves them to it."""
    plan = scene.holding.plan
    if plan is None or plan.until < scene.today:
        return frozenset()
    return frozenset(week.crop for week in plan.weeks)


def planned_end(scene: Scene, planting: Planting) -> date | None:
    """The day the plan in force has a planting pulled; None when it does not say."""
    return planned_ends(scene, [planting]).get(planting.tag)


def planned_ends(scene: Scene, plantings: Iterable[Planting]) -> dict[str, date]:
    """The days the plan in force has plantings pulled, by tag; only those that it names."""
    plan = scene.holding.plan
    if plan is None or plan.until < scene.today:
        return {}
    told: dict[str, date] = {}
    for stand in plan.stands:
        told[stand.tag] = max(stand.until, told.get(stand.tag, stand.until))
    told.update({end.tag: end.on for end in plan.ends})
    for strike, begun in begun_for(scene):
        for planting, _ in begun:
            told.setdefault(planting.tag, strike.last_pick + _DAY)
    ends = {}
    for planting in plantings:
        # What was set out of a tray ends with it.
        end = told.get(planting.tag) or told.get(planting.split_of or "")
        if end is not None:
            ends[planting.tag] = end
    return ends


def open_strikes(scene: Scene) -> Iterator[tuple[PlannedStrike, int]]:
    """The plan's strikes that nothing stands for yet, with how many are still to begin."""
    for strike, begun in begun_for(scene):
        done = sum(count for _, count in begun)
        if done < strike.count:
            yield strike, strike.count - done


def planned_places(scene: Scene, planting: Planting) -> tuple[str, ...]:
    """Where the plan in force has a planting go that is being raised; none when it is mute."""
    plan = scene.holding.plan
    if plan is None or plan.until < scene.today:
        return ()
    for stand in plan.stands:
        if stand.tag == planting.tag:
            return stand.places
    for strike, begun in begun_for(scene):
        if any(each.tag == planting.tag for each, _ in begun):
            return strike.places
    return ()


def planned_calls(scene: Scene) -> Iterator[Call]:
    """The open strikes of the plan in force."""
    for strike, count in open_strikes(scene):
        crop = scene.catalogue.crops.get(strike.crop)
        for duty in scene.catalogue.duties.values():
            if duty.trigger is Trigger.REPLACE and crop is not None:
                call = _call(scene, duty, crop, strike, count)
                if call is not None:
                    yield call


def begun_for(scene: Scene) -> Iterator[tuple[PlannedStrike, list[tuple[Planting, int]]]]:
    """The strikes of the plan in force by day, each with what was begun for it, and how many."""
    plan = scene.holding.plan
    if plan is None or plan.until < scene.today:
        return
    pools: dict[tuple[str, str], list[tuple[Planting, int]]] = defaultdict(list)
    for planting, count in _begun_since(scene, plan.made):
        pools[planting.crop, _sort(planting.way)].append((planting, count))
    for strike in sorted(plan.strikes, key=lambda strike: (strike.on, strike.number)):
        pool = pools[strike.crop, _sort(strike.way)]
        begun, wanted = [], strike.count
        while pool and wanted:
            planting, count = pool.pop(0)
            taken = min(wanted, count)
            begun.append((planting, taken))
            wanted -= taken
            if count > taken:
                pool.insert(0, (planting, count - taken))
        yield strike, begun


def _sort(way: Origin) -> str:
    """Ways that stand for each other: a runner for a cutting, but no bought plant for either."""
    return "clone" if way in CLONAL else way.value


def _begun_since(scene: Scene, made: date) -> list[tuple[Planting, int]]:
    """Living plantings begun since the plan was made and their plants, the eldest first.

    Cuttings that were set out since are counted in their parts.
    """
    begun = []
    for planting in scene.holding.plantings.values():
        started = planting.started
        if started is None or started < made or not planting.alive:
            continue
        # What was struck counts whole, the usual losses with it: the plan allowed for them.
        own = planting.count if planting.split_of else planting.begun - planting.split_off
        begun.append((started, planting, own))
    return [(planting, own) for _, planting, own in sorted(begun, key=lambda row: row[0])]


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
