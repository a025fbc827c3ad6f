"""What entries about plantings do while these stay where they are: beginnings, stages, marks."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from cropplan.holding.entry import Began, Marked, Named, Seen
from cropplan.holding.holding import Holding
from cropplan.holding.place import Place
from cropplan.holding.planting import (
    CLONAL,
    MAY_BECOME,
    ORDER,
    RAISING,
    SPROUTED,
    Origin,
    Planting,
    Stage,
)
from cropplan.problems import Refusal, did_you_mean

_BEGUN = {Origin.SEED: "sown", Origin.BOUGHT_IN: "brought in"}


def known(holding: Holding, tag: str) -> Planting:
    """The planting with that tag, living or not; Refusal when there never was one."""
    planting = holding.plantings.get(tag)
    if planting is None:
        raise Refusal(f"no planting has the tag '{tag}'{did_you_mean(tag, holding.plantings)}")
    return planting


def living(holding: Holding, tag: str) -> Planting:
    """The living planting with that tag; Refusal when there is none, saying what became of it."""
    planting = known(holding, tag)
    if not planting.alive:
        raise Refusal(f"{tag} is gone: {planting.stage.value} on {planting.ended_on}")
    return planting


def alive_on(holding: Holding, tag: str, day: date) -> Planting:
    """The planting with that tag, which had not ended before `day`, though it may have since."""
    planting = known(holding, tag)
    if planting.ended_on is not None and planting.ended_on < day:
        return living(holding, tag)
    return planting


def place_called(holding: Holding, code: str) -> Place:
    """The place with that code, in service or not; Refusal when there is none."""
    place = holding.places.get(code)
    if place is None:
        raise Refusal(f"no place is called '{code}'{did_you_mean(code, holding.places)}")
    return place


def open_place(holding: Holding, code: str, day: date) -> Place:
    """The place with that code; Refusal when there is none or it is out of service."""
    place = place_called(holding, code)
    if place.retired_on is not None and place.retired_on <= day:
        raise Refusal(f"{code} is out of service since {place.retired_on}; choose another place")
    return place


def refuse_without_room(holding: Holding, code: str, count: int, day: date) -> None:
    """Refuse `count` more plants in a place that is unknown, out of service or full.

    What is spent takes no room, for the next plant may be set beside it.
    """
    place = open_place(holding, code, day)
    standing = [p for p in holding.standing_in(code) if p.stage is not Stage.SPENT]
    if sum(p.count for p in standing) + count > place.holds:
        there = ""
        if standing:
            stand = "stands" if len(standing) == 1 else "stand"
            there = f", and {', '.join(p.tag for p in standing)} {stand} there"
        raise Refusal(
            f"{code} holds {place.holds}{there}: no room for {count} more; "
            f"choose another place, pull what stands there, or give it more room with 'place set'"
        )


def refuse_before_beginning(planting: Planting, day: date, done: str) -> None:
    """Refuse what would have been `done` to a planting before it began."""
    started = planting.started
    if started is not None and (started - day).days > planting.started_give:
        begun = _BEGUN.get(planting.way, "struck")
        raise Refusal(f"{planting.tag} was {begun} on {started}; it cannot be {done} on {day}")


def began(holding: Holding, act: Began, day: date) -> Holding:
    """The holding with a new planting."""
    if act.count < 1:
        raise Refusal(f"a planting needs at least 1 plant, got {act.count}")
    if not 0 <= act.rooted <= act.count:
        raise Refusal(f"{act.rooted} of {act.count} plants cannot be rooted")
    if act.tag in holding.plantings:
        raise Refusal(f"the tag '{act.tag}' is taken; tags are never used twice")
    if act.started is not None and act.started > day:
        raise Refusal(f"what happened on {day} cannot have begun later, on {act.started}")
    refuse_without_room(holding, act.place, act.count, day)
    parent = _parent(holding, act, act.started or day)
    clonal = act.origin in CLONAL
    since = act.started if ORDER.get(act.stage) == 0 else None
    return with_planting(
        holding,
        Planting(
            tag=act.tag,
            crop=act.crop,
            origin=act.origin,
            way=act.origin,
            place=act.place,
            count=act.count,
            begun=act.count,
            stage=act.stage,
            clone=parent.clone if clonal and parent else act.tag,
            cultivar=act.cultivar or (parent.cultivar if clonal and parent else None),
            parent=act.parent,
            generation=(parent.generation + 1 if parent else 1) if clonal else 0,
            started=act.started,
            started_give=act.started_give,
            since=since,
            seen={act.stage: since} if since else {},
            rooted=act.rooted or (act.count if act.stage in SPROUTED else 0),
        ),
    )


def _parent(holding: Holding, act: Began, day: date) -> Planting | None:
    if act.parent is None:
        return None
    parent = alive_on(holding, act.parent, day)
    if parent.crop != act.crop:
        raise Refusal(f"{act.parent} is {parent.crop}; {act.crop} cannot be taken from it")
    refuse_before_beginning(parent, day, "taken from")
    return parent


def seen(holding: Holding, act: Seen, day: date) -> Holding:
    """The holding after a stage was seen on `day`.

    The first day a stage was seen stands; a second, different day stays in the journal only. What
    is written late, even after the planting ended, fills in its past and leaves it where it is.
    """
    planting = alive_on(holding, act.tag, day)
    _refuse_stage(planting, act.stage, day)
    plants = planting.count if planting.alive else planting.begun
    count = plants if act.count is None else act.count
    if not 0 < count <= plants:
        raise Refusal(f"{act.tag} has {plants} plants; {count} cannot be {act.stage.value}")
    stage = _stage_after(planting, act.stage, day)
    days = planting.seen
    if act.stage not in days and _is_first(planting, act.stage, day):
        days = {**days, act.stage: day}
    return with_planting(
        holding,
        replace(
            planting,
            stage=stage,
            since=planting.since if stage is planting.stage else day,
            seen=days,
            rooted=count if act.stage in SPROUTED and planting.alive else planting.rooted,
        ),
    )


def _refuse_stage(planting: Planting, stage: Stage, day: date) -> None:
    """Refuse a stage that the planting cannot have been in, or not on that day."""
    refuse_before_beginning(planting, day, stage.value)
    here = planting.stage if planting.alive else Stage.SPENT
    past = here not in RAISING and stage in SPROUTED
    if stage is Stage.EMERGED and planting.way is not Origin.SEED:
        past = False
    if not (past or stage is here or stage in MAY_BECOME[here]):
        raise Refusal(f"{planting.tag} is {planting.stage.value}; it cannot become {stage.value}")
    if stage not in planting.seen:
        refuse_disorder(planting, stage, day)


def refuse_disorder(planting: Planting, stage: Stage, day: date) -> None:
    """Refuse a first day of a stage that contradicts the days already known.

    A plant may flower again after it fruited, but it roots once; only what was bought with bare
    roots may root after it was set out. The beginning is left out: its day may be approximate.
    """
    rank = ORDER.get(stage)
    if rank is None:
        return
    once = stage in SPROUTED and planting.way is not Origin.BOUGHT_IN
    for other, when in planting.seen.items():
        at = ORDER.get(other, rank)
        if (0 < at < rank and day < when) or (once and at > rank and day > when):
            order = "before" if at < rank else "after"
            raise Refusal(
                f"{planting.tag} was {other.value} on {when}; it cannot have been first "
                f"{stage.value} on {day}, {order} that"
            )


def _stage_after(planting: Planting, stage: Stage, day: date) -> Stage:
    """The stage a planting is in once another was seen on a day.

    Forward always; back only when it was seen on a later day and the plant was resting or spent,
    for one that bears flowers anew without ceasing to bear.
    """
    if not planting.alive or (planting.stage not in RAISING and stage in SPROUTED):
        return planting.stage
    here, there = ORDER.get(planting.stage), ORDER.get(stage)
    if here is not None and there is not None and planting.stage is not Stage.SPENT:
        return stage if there >= here else planting.stage
    late = planting.since is not None and day < planting.since
    return planting.stage if late else stage


def _is_first(planting: Planting, stage: Stage, day: date) -> bool:
    """Whether a sighting may stand for the first day of a stage: no later one came before it."""
    rank = ORDER.get(stage)
    if rank is None or (planting.way is Origin.BOUGHT_IN and stage in SPROUTED):
        return True
    if planting.since is None and ORDER.get(planting.stage, rank) > rank:
        return False
    return all(
        ORDER.get(other, rank) <= rank or day <= when for other, when in planting.seen.items()
    )


def named(holding: Holding, act: Named) -> Holding:
    """The holding with the cultivar of plantings put right, living or not."""
    for tag in act.tags:
        planting = replace(known(holding, tag), cultivar=act.cultivar)
        holding = with_planting(holding, planting)
    return holding


def marked(holding: Holding, act: Marked) -> Holding:
    """The holding after a planting was chosen or barred as a mother, or left to insects."""
    planting = living(holding, act.tag)
    if act.mother is not None:
        planting = replace(planting, tagged_mother=act.mother)
    if act.barred_why is not None:
        planting = replace(planting, barred_why=act.barred_why or None)
    if act.by_insects is not None:
        planting = replace(planting, by_insects=act.by_insects)
    return with_planting(holding, planting)


def with_planting(holding: Holding, planting: Planting) -> Holding:
    """The holding in which a planting is as given."""
    return replace(holding, plantings={**holding.plantings, planting.tag: planting})
