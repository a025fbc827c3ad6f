"""What entries do that set plants out, move them, take from them or end them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from cropplan.holding.entry import Lost, Moved, Picked, Pulled, SetOut, SetOutPart
from cropplan.holding.growing import (
    alive_on,
    living,
    refuse_before_beginning,
    refuse_disorder,
    refuse_without_room,
    with_planting,
)
from cropplan.holding.holding import Holding
from cropplan.holding.planting import RAISING, Origin, Planting, Stage
from cropplan.problems import Refusal

#: Reasons that mean a plant left alive; they do not count against rooting or survival.
LEFT_ALIVE = frozenset({"given", "sold", "given away"})
#: The word in a reason that leaves a place under suspicion until its medium is seen to.
DISEASE = "disease"


def set_out(holding: Holding, act: SetOut, day: date) -> Holding:
    """The holding after plants went to their places; a part that leaves a rest has its own tag."""
    source = living(holding, act.tag)
    refuse_before_beginning(source, day, "set out")
    if source.stage in RAISING:
        refuse_disorder(source, Stage.SET_OUT, day)
    wanted = sum(part.count for part in act.parts)
    if not act.parts or any(part.count < 1 for part in act.parts) or wanted > source.count:
        raise Refusal(f"{act.tag} has {source.count} plants; {wanted} cannot be set out")
    for part in act.parts:
        if part.tag == act.tag:
            holding = _set_out_whole(holding, act.tag, part, day)
        else:
            holding = _set_out_part(holding, act.tag, part, day)
    return holding


def _set_out_whole(holding: Holding, tag: str, part: SetOutPart, day: date) -> Holding:
    rest = living(holding, tag)
    if part.count != rest.count:
        raise Refusal(f"{tag} keeps its tag only when all of it goes to one place")
    if part.place != rest.place:
        refuse_without_room(holding, part.place, part.count, day)
    return with_planting(holding, _standing(rest, part.place, day))


def _set_out_part(holding: Holding, tag: str, part: SetOutPart, day: date) -> Holding:
    batch = living(holding, tag)
    if part.tag in holding.plantings:
        raise Refusal(f"the tag '{part.tag}' is taken; tags are never used twice")
    rest = replace(
        batch,
        count=batch.count - part.count,
        split_off=batch.split_off + part.count,
        rooted=max(0, batch.rooted - part.count),
    )
    holding = with_planting(holding, _ended_if_empty(rest, Stage.PULLED, day, "all set out"))
    refuse_without_room(holding, part.place, part.count, day)
    new = replace(
        _standing(batch, part.place, day),
        tag=part.tag,
        origin=Origin.SPLIT,
        split_of=batch.tag,
        count=part.count,
        begun=part.count,
        rooted=min(part.count, batch.rooted),
        lost=0,
        left=0,
        split_off=0,
        pulled=0,
        cuts=0,
        picked=0.0,
        last_picked=None,
        tagged_mother=False,
    )
    return with_planting(holding, new)


def _standing(planting: Planting, place: str, day: date) -> Planting:
    """The planting in its place; what stood in one before is only moved, and keeps its stage."""
    if planting.stage not in RAISING:
        return replace(planting, place=place)
    seen = {**planting.seen, Stage.SET_OUT: day}
    return replace(planting, place=place, stage=Stage.SET_OUT, since=day, seen=seen)


def moved(holding: Holding, act: Moved, day: date) -> Holding:
    """The holding after a whole planting went to another place."""
    planting = living(holding, act.tag)
    refuse_before_beginning(planting, day, "moved")
    if planting.place == act.place:
        raise Refusal(f"{act.tag} stands in {act.place} already")
    refuse_without_room(holding, act.place, planting.count, day)
    return with_planting(holding, replace(planting, place=act.place))


def lost(holding: Holding, act: Lost, day: date) -> Holding:
    """The holding after plants died, failed, or were given away or sold."""
    planting = living(holding, act.tag)
    refuse_before_beginning(planting, day, "lost")
    if not 0 < act.count <= planting.count:
        raise Refusal(f"{act.tag} has {planting.count} plants; {act.count} cannot be lost")
    alive = (act.why or "").strip().casefold() in LEFT_ALIVE
    left = planting.count - act.count
    fewer = replace(
        planting,
        count=left,
        rooted=min(planting.rooted, left),
        lost=planting.lost + (0 if alive else act.count),
        left=planting.left + (act.count if alive else 0),
    )
    holding = with_planting(holding, _ended_if_empty(fewer, Stage.LOST, day, act.why))
    return _suspect_if_diseased(holding, planting.place, act.why, day)


def pulled(holding: Holding, act: Pulled, day: date) -> Holding:
    """The holding after a planting was cleared; a diseased one leaves its place under suspicion."""
    planting = living(holding, act.tag)
    refuse_before_beginning(planting, day, "pulled")
    cleared = replace(planting, count=0, rooted=0, pulled=planting.pulled + planting.count)
    holding = with_planting(holding, _ended_if_empty(cleared, Stage.PULLED, day, act.why))
    return _suspect_if_diseased(holding, planting.place, act.why, day)


def picked(holding: Holding, act: Picked, day: date) -> Holding:
    """The holding after a pick, which may be written after the planting ended.

    Heads cut whole leave the count.
    """
    planting = alive_on(holding, act.tag, day)
    refuse_before_beginning(planting, day, "picked")
    if act.amount is not None and act.amount < 0:
        raise Refusal(f"an amount picked cannot be {act.amount:g}; leave it out if not weighed")
    if not 0 <= act.cleared <= planting.count:
        raise Refusal(f"{act.tag} has {planting.count} plants; {act.cleared} cannot be cut")
    left = planting.count - act.cleared
    after = replace(
        planting,
        cuts=planting.cuts + 1,
        picked=planting.picked + (act.amount or 0.0),
        last_picked=max(planting.last_picked or day, day),
        count=left,
        rooted=min(planting.rooted, left),
        pulled=planting.pulled + act.cleared,
    )
    return with_planting(holding, _ended_if_empty(after, Stage.PULLED, day, "picked"))


def _suspect_if_diseased(holding: Holding, code: str, why: str | None, day: date) -> Holding:
    if DISEASE not in (why or "").casefold():
        return holding
    place = replace(holding.places[code], disease_on=day)
    return replace(holding, places={**holding.places, code: place})


def _ended_if_empty(planting: Planting, stage: Stage, day: date, why: str | None) -> Planting:
    if planting.count or not planting.alive:
        return planting
    return replace(planting, stage=stage, since=day, ended_on=day, ended_why=why)
