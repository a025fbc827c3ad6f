"""Replay: what each journal entry does to the holding. Pure; the record calls it on append."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from cropplan.holding import duties, growing, moving, things, turns, waters
from cropplan.holding.entry import (
    Began,
    Done,
    Drained,
    DutyAdded,
    DutySet,
    DutyStopped,
    Entry,
    Fed,
    HouseSet,
    LoopSet,
    LoopTurned,
    Lost,
    Marked,
    Moved,
    Named,
    Picked,
    PlaceRetired,
    PlacesAdded,
    PlaceSet,
    Pulled,
    PutOff,
    Seen,
    SetBack,
    SetOut,
    Skipped,
    TemperaturesRead,
    Tended,
    Tested,
    Voided,
    WentAway,
)
from cropplan.holding.holding import Holding
from cropplan.holding.place import Care
from cropplan.holding.planting import Stage
from cropplan.holding.season import GoalDropped, GoalSet, SeasonAccepted
from cropplan.holding.task import Subject, SubjectKind, subject
from cropplan.holding.water_acts import ToppedUp, Treated, Weighed, WentWithout
from cropplan.problems import Refusal

_LOOKS = {Stage.ROOTED: turns.CHECK_ROOTS, Stage.EMERGED: turns.CHECK_SEEDLINGS}
_CARES = {Care.CHANGE: turns.RENEW, Care.FLUSH: turns.FLUSH}


def replay(entries: Iterable[Entry]) -> Holding:
    """The holding that a journal adds up to, voided entries left out.

    Raises Refusal when an entry cannot follow those before it.
    """
    listed = list(entries)
    voided = {e.act.entry for e in listed if isinstance(e.act, Voided)}
    holding = Holding()
    for entry in listed:
        if entry.id not in voided and not isinstance(entry.act, Voided):
            holding = apply(holding, entry)
    return holding


def apply(holding: Holding, entry: Entry) -> Holding:
    """The holding after one entry. Raises Refusal, with nothing changed, when it cannot be."""
    after = _apply_to_plantings(holding, entry)
    if after is None:
        after = _apply_to_things(holding, entry)
    if after is None:
        after = _apply_to_water(holding, entry)
    if after is None:
        after = _apply_to_duties(holding, entry)
    latest = entry.happened
    if after.last_entry is not None:
        latest = max(latest, after.last_entry)
    return replace(after, last_entry=latest)


def _apply_to_plantings(holding: Holding, entry: Entry) -> Holding | None:
    day, by = entry.happened, entry.by
    match entry.act:
        case Began() as act:
            return growing.began(holding, act, day)
        case Seen() as act:
            holding = growing.seen(holding, act, day)
            look = _LOOKS.get(act.stage)
            return turns.done(holding, look, [_planting(act.tag)], day, by) if look else holding
        case SetOut() as act:
            return moving.set_out(holding, act, day)
        case Moved() as act:
            return moving.moved(holding, act, day)
        case Lost() as act:
            return moving.lost(holding, act, day)
        case Pulled() as act:
            return moving.pulled(holding, act, day)
        case Picked() as act:
            holding = moving.picked(holding, act, day)
            return turns.done(holding, turns.PICK, [_planting(act.tag)], day, by)
        case Named() as act:
            return growing.named(holding, act)
        case Marked() as act:
            return growing.marked(holding, act)
    return None


def _apply_to_things(holding: Holding, entry: Entry) -> Holding | None:
    day, by = entry.happened, entry.by
    match entry.act:
        case HouseSet() as act:
            return things.house_set(holding, act)
        case LoopSet() as act:
            return waters.loop_set(holding, act)
        case LoopTurned() as act:
            return waters.loop_turned(holding, act)
        case PlacesAdded() as act:
            return things.places_added(holding, act)
        case PlaceSet() as act:
            return things.place_set(holding, act, day)
        case PlaceRetired() as act:
            return things.place_retired(holding, act, day)
        case Tended() as act:
            holding = things.tended(holding, act, day)
            duty = _CARES.get(act.care)
            about = [subject(SubjectKind.PLACE, code) for code in act.places]
            return turns.done(holding, duty, about, day, by) if duty else holding
        case TemperaturesRead() as act:
            return things.temperatures_read(holding, act)
        case WentWithout() as act:
            return things.went_without(holding, act, day)
    return None


def _apply_to_water(holding: Holding, entry: Entry) -> Holding | None:
    day, by = entry.happened, entry.by
    match entry.act:
        case Fed() as act:
            holding = waters.fed(holding, act, day, by)
            return turns.done(holding, turns.FISH, [_loop(act.loop)], day, by)
        case Drained() as act:
            holding = waters.drained(holding, act, day)
            return turns.done(holding, turns.DRAIN, [_loop(act.loop)], day, by)
        case Tested() as act:
            holding = waters.tested(holding, act, day)
            duty = turns.TEST_AGAIN if act.again else turns.TEST_WATER
            return turns.done(holding, duty, [_loop(act.loop)], day, by)
        case Weighed() as act:
            holding = waters.weighed(holding, act, day)
            return turns.done(holding, turns.WEIGH_FISH, [_loop(act.loop)], day, by)
        case ToppedUp() as act:
            return waters.topped_up(holding, act)
        case Treated() as act:
            return waters.treated(holding, act)
    return None


def _apply_to_duties(holding: Holding, entry: Entry) -> Holding:
    match entry.act:
        case Done() | Skipped() | PutOff() as act:
            return duties.answered(holding, act, entry.happened, entry.by)
        case DutyAdded() as act:
            return duties.duty_added(holding, act)
        case DutySet() as act:
            return duties.duty_set(holding, act)
        case DutyStopped() as act:
            return duties.duty_stopped(holding, act)
        case GoalSet() as act:
            return things.goal_set(holding, act)
        case GoalDropped(crop=crop):
            return things.goal_dropped(holding, crop)
        case SeasonAccepted(plan=plan):
            return replace(holding, plan=plan)
        case SetBack() as act:
            return things.set_back(holding, act)
        case WentAway() as act:
            return things.went_away(holding, act)
    raise Refusal(f"an entry of the kind {type(entry.act).__name__} cannot be replayed alone")


def _planting(tag: str) -> Subject:
    return subject(SubjectKind.PLANTING, tag)


def _loop(name: str) -> Subject:
    return subject(SubjectKind.LOOP, name)
