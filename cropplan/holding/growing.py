"""What entries about plantings do: beginnings, stages, moves, losses, picks and ends."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from cropplan.holding.entry import (
    Began,
    Lost,
    Marked,
    Moved,
    Named,
    Picked,
    Pulled,
    Seen,
    SetOut,
    SetOutPart,
)
from cropplan.holding.holding import Holding
from cropplan.holding.place import Place
from cropplan.holding.planting import CLONAL, MAY_BECOME, ORDER, Origin, Planting, Stage
from cropplan.problems import Refusal, did_you_mean

#: Reasons that mean a plant left alive; they do not count against rooting or survival.
LEFT_ALIVE = frozenset({"given", "sold", "given away"})
#: The reason that leaves a place under suspicion until its medium is seen to.
DISEASE = "disease"

_BEGAN_IN_WORDS = {
    Stage.STRUCK: "struck",
    Stage.SOWN: "sown",
    Stage.BOUGHT_IN: "brought in",
}


def living(holding: Holding, tag: str) -> Planting:
    """The living planting with that tag; Refusal when there is none, saying what became of it."""
    planting = holding.plantings.get(tag)
    if planting is None:
        raise Refusal(f"no planting has the tag '{tag}'{did_you_mean(tag, holding.plantings)}")
    if not planting.alive:
        raise Refusal(f"{tag} is gone: {planting.stage.value} on {planting.ended_on}")
    return planting


def open_place(holding: Holding, code: str, day: date) -> Place:
    """The place with that code; Refusal when there is none or it is out of service."""
    place = holding.places.get(code)
    if place is None:
        raise Refusal(f"no place is called '{code}'{did_you_mean(code, holding.places)}")
    if place.retired_on is not None and place.retired_on <= day:
        raise Refusal(f"{code} is out of service since {place.retired_on}; choose another place")
    return place


def _room_for(holding: Holding, code: str, count: int, day: date) -> None:
    place = open_place(holding, code, day)
    standing = [p for p in holding.standing_in(code) if p.stage is not Stage.SPENT]
    taken = sum(p.count for p in standing)
    if taken + count > place.holds:
        there = f", and {', '.join(p.tag for p in standing)} stands there" if standing else ""
        raise Refusal(
            f"{code} holds {place.holds}{there}: no room for {count} more; "
            f"choose another place, pull what stands there, or give it more room with 'place set'"
        )


def began(holding: Holding, act: Began) -> Holding:
    """The holding with a new planting."""
    if act.count < 1:
        raise Refusal(f"a planting needs at least 1 plant, got {act.count}")
    if act.tag in holding.plantings:
        raise Refusal(f"the tag '{act.tag}' is taken; tags are never used twice")
    parent = None
    if act.parent is not None:
        parent = holding.plantings.get(act.parent)
        if parent is None:
            near = did_you_mean(act.parent, holding.plantings)
            raise Refusal(f"no planting has the tag '{act.parent}' to take from{near}")
        if parent.crop != act.crop:
            raise Refusal(f"{act.parent} is {parent.crop}; {act.crop} cannot be taken from it")
    clonal = act.origin in CLONAL
    since = act.started
    planting = Planting(
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
        since=since if act.stage in _BEGAN_IN_WORDS else None,
        rooted=act.rooted,
        seen={act.stage: since} if since and act.stage in _BEGAN_IN_WORDS else {},
    )
    return _with(holding, planting)


def check_room(holding: Holding, act: Began, day: date) -> None:
    """Refuse a beginning in a place that is unknown, out of service or full."""
    _room_for(holding, act.place, act.count, day)


def seen(holding: Holding, act: Seen, day: date) -> Holding:
    """The holding after a stage was seen on `day`.

    The first day a stage was seen stands; a second, different day stays in the journal only.
    """
    planting = living(holding, act.tag)
    _refuse_disorder(planting, act.stage, day)
    rooted = planting.rooted
    if act.count is not None:
        if not 0 < act.count <= planting.count:
            raise Refusal(
                f"{act.tag} has {planting.count} plants; {act.count} cannot be {act.stage.value}"
            )
        rooted = act.count
    elif act.stage in {Stage.ROOTED, Stage.EMERGED}:
        rooted = planting.count
    same = planting.stage is act.stage
    # A rooting written late, after the plants were set out, does not take them back.
    ahead = ORDER.get(act.stage, 9) < ORDER.get(planting.stage, -1)
    return _with(
        holding,
        replace(
            planting,
            stage=planting.stage if ahead else act.stage,
            since=planting.since if same or ahead else day,
            seen=planting.seen if act.stage in planting.seen else {**planting.seen, act.stage: day},
            rooted=rooted if act.stage in {Stage.ROOTED, Stage.EMERGED} else planting.rooted,
        ),
    )


def _refuse_disorder(planting: Planting, stage: Stage, day: date) -> None:
    tag = planting.tag
    earliest = planting.started
    if earliest is not None and (day - earliest).days < -planting.started_give:
        word = _BEGAN_IN_WORDS.get(next(iter(planting.seen), planting.stage), "begun")
        raise Refusal(f"{tag} was {word} on {earliest}; it cannot be {stage.value} on {day}")
    late_rooting = stage in {Stage.ROOTED, Stage.EMERGED} and planting.stage is Stage.SET_OUT
    if stage not in MAY_BECOME[planting.stage] and stage is not planting.stage and not late_rooting:
        raise Refusal(f"{tag} is {planting.stage.value}; it cannot become {stage.value}")
    rank = ORDER.get(stage)
    if rank is None:
        return
    for known, when in planting.seen.items():
        other = ORDER.get(known, rank)
        if (other < rank and day < when) or (other > rank and day > when):
            order = "before" if other < rank else "after"
            raise Refusal(
                f"{tag} was {known.value} on {when}; it cannot have been first "
                f"{stage.value} on {day}, {order} that"
            )


def set_out(holding: Holding, act: SetOut, day: date) -> Holding:
    """The holding after plants went to their places; a part that leaves a rest has its own tag."""
    source = living(holding, act.tag)
    _refuse_disorder_of_setting_out(source, day)
    wanted = sum(part.count for part in act.parts)
    if wanted > source.count or any(part.count < 1 for part in act.parts):
        raise Refusal(f"{act.tag} has {source.count} plants; {wanted} cannot be set out")
    for part in act.parts:
        keeps_tag = part.tag == act.tag
        rest = holding.plantings[act.tag]
        if keeps_tag and part.count != rest.count:
            raise Refusal(f"{act.tag} keeps its tag only when all of it goes to one place")
        if not keeps_tag and part.tag in holding.plantings:
            raise Refusal(f"the tag '{part.tag}' is taken; tags are never used twice")
        if not (keeps_tag and part.place == rest.place):
            _room_for(holding, part.place, part.count, day)
        standing = _standing(rest, part.place, day)
        if keeps_tag:
            holding = _with(holding, standing)
        else:
            holding = _with(holding, _after_split(rest, part.count, day))
            holding = _with(holding, _part_of(standing, part))
    return holding


def _refuse_disorder_of_setting_out(planting: Planting, day: date) -> None:
    if planting.started is not None and (day - planting.started).days < -planting.started_give:
        raise Refusal(
            f"{planting.tag} was begun on {planting.started}; it cannot be set out on {day}"
        )


def _standing(planting: Planting, place: str, day: date) -> Planting:
    raised = ORDER.get(planting.stage, 9) < ORDER[Stage.SET_OUT]
    return replace(
        planting,
        place=place,
        stage=Stage.SET_OUT if raised else planting.stage,
        since=day if raised else planting.since,
        seen={Stage.SET_OUT: day, **planting.seen},
    )


def _part_of(batch: Planting, part: SetOutPart) -> Planting:
    return replace(
        batch,
        tag=part.tag,
        origin=Origin.SPLIT,
        split_of=batch.tag,
        count=part.count,
        begun=part.count,
        rooted=part.count if batch.rooted else 0,
        lost=0,
        left=0,
        split_off=0,
        pulled=0,
        cuts=0,
        picked=0.0,
        last_picked=None,
        tagged_mother=False,
    )


def _after_split(batch: Planting, count: int, day: date) -> Planting:
    rest = replace(
        batch,
        count=batch.count - count,
        split_off=batch.split_off + count,
        rooted=max(0, batch.rooted - count),
    )
    return _ended_if_empty(rest, Stage.PULLED, day, "all set out")


def moved(holding: Holding, act: Moved, day: date) -> Holding:
    """The holding after a whole planting went to another place."""
    planting = living(holding, act.tag)
    if planting.place == act.place:
        raise Refusal(f"{act.tag} stands in {act.place} already")
    _room_for(holding, act.place, planting.count, day)
    return _with(holding, replace(planting, place=act.place))


def lost(holding: Holding, act: Lost, day: date) -> Holding:
    """The holding after plants died, failed, or were given away or sold."""
    planting = living(holding, act.tag)
    if not 0 < act.count <= planting.count:
        raise Refusal(f"{act.tag} has {planting.count} plants; {act.count} cannot be lost")
    alive = (act.why or "").casefold() in LEFT_ALIVE
    fewer = replace(
        planting,
        count=planting.count - act.count,
        rooted=min(planting.rooted, planting.count - act.count),
        lost=planting.lost + (0 if alive else act.count),
        left=planting.left + (act.count if alive else 0),
    )
    return _with(holding, _ended_if_empty(fewer, Stage.LOST, day, act.why))


def pulled(holding: Holding, act: Pulled, day: date) -> Holding:
    """The holding after a planting was cleared; a diseased one leaves its place under suspicion."""
    planting = living(holding, act.tag)
    holding = _with(
        holding,
        replace(
            planting,
            count=0,
            rooted=0,
            pulled=planting.pulled + planting.count,
            stage=Stage.PULLED,
            since=day,
            ended_on=day,
            ended_why=act.why,
        ),
    )
    place = holding.places[planting.place]
    if (act.why or "").casefold() == DISEASE:
        place = replace(place, disease_on=day)
    return replace(holding, places={**holding.places, place.code: place})


def picked(holding: Holding, act: Picked, day: date) -> Holding:
    """The holding after a pick; heads cut whole leave the count."""
    planting = living(holding, act.tag)
    if act.amount is not None and act.amount < 0:
        raise Refusal(f"an amount picked cannot be {act.amount:g}; leave it out if not weighed")
    if act.cleared > planting.count:
        raise Refusal(f"{act.tag} has {planting.count} plants; {act.cleared} cannot be cut")
    latest = day if planting.last_picked is None else max(planting.last_picked, day)
    after = replace(
        planting,
        cuts=planting.cuts + 1,
        picked=planting.picked + (act.amount or 0.0),
        last_picked=latest,
        count=planting.count - act.cleared,
        pulled=planting.pulled + act.cleared,
    )
    return _with(holding, _ended_if_empty(after, Stage.PULLED, day, "picked"))


def named(holding: Holding, act: Named) -> Holding:
    """The holding with the cultivar of plantings put right, living or not."""
    plantings = dict(holding.plantings)
    for tag in act.tags:
        if tag not in plantings:
            raise Refusal(f"no planting has the tag '{tag}'{did_you_mean(tag, plantings)}")
        plantings[tag] = replace(plantings[tag], cultivar=act.cultivar)
    return replace(holding, plantings=plantings)


def marked(holding: Holding, act: Marked) -> Holding:
    """The holding after a planting was chosen or barred as a mother, or left to insects."""
    planting = living(holding, act.tag)
    if act.mother is not None:
        planting = replace(planting, tagged_mother=act.mother)
    if act.barred_why is not None:
        planting = replace(planting, barred_why=act.barred_why or None)
    if act.by_insects is not None:
        planting = replace(planting, by_insects=act.by_insects)
    return _with(holding, planting)


def _ended_if_empty(planting: Planting, stage: Stage, day: date, why: str | None) -> Planting:
    if planting.count:
        return planting
    return replace(planting, stage=stage, since=day, ended_on=day, ended_why=why)


def _with(holding: Holding, planting: Planting) -> Holding:
    return replace(holding, plantings={**holding.plantings, planting.tag: planting})
