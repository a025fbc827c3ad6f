"""What entries about duties do: answers to turns, and the grower's own duties and intervals."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from cropplan.holding import turns
from cropplan.holding.entry import Done, DutyAdded, DutySet, DutyStopped, PutOff, Skipped
from cropplan.holding.growing import known, place_called
from cropplan.holding.handle import plain
from cropplan.holding.holding import DutySetting, Holding
from cropplan.holding.task import Subject, SubjectKind
from cropplan.holding.things import house_called, loop_called
from cropplan.problems import Refusal


def answered(holding: Holding, act: Done | Skipped | PutOff, day: date, by: str | None) -> Holding:
    """The holding after open turns were answered: done, skipped, not needed or put off."""
    for about in act.subjects:
        _refuse_unknown(holding, about)
    match act:
        case Done() | Skipped(not_needed=True):
            return turns.done(holding, act.duty, act.subjects, day, by)
        case Skipped():
            return turns.skipped(holding, act.duty, act.subjects, day, act.why)
        case PutOff():
            if act.to <= day:
                raise Refusal(f"{act.to} is not later than {day}; work is put off to a later day")
            return turns.put_off(holding, act.duty, act.subjects, act.to)


def duty_added(holding: Holding, act: DutyAdded) -> Holding:
    """The holding with a duty of the grower's own, whose code no other of theirs has."""
    own = act.duty
    if own.id in holding.own_duties:
        raise Refusal(f"the duty '{own.id}' is there already")
    if not plain(own.code):
        raise Refusal(f"'{own.code}' is no code for a duty; use letters or figures, such as o1")
    for other in holding.own_duties.values():
        if plain(other.code) == plain(own.code):
            raise Refusal(f"the code '{other.code}' is taken by the duty '{other.id}'")
    if (own.every_days is None) == (own.rule is None):
        raise Refusal(f"the duty '{own.id}' needs either an interval or a rule of fixed days")
    _refuse_interval(own.every_days)
    if own.subject.kind is SubjectKind.PLAN:
        raise Refusal("a duty is about a planting, a place, a water loop or a house")
    _refuse_unknown(holding, own.subject)
    return replace(holding, own_duties={**holding.own_duties, own.id: own})


def duty_set(holding: Holding, act: DutySet) -> Holding:
    """The holding with the grower's own interval for a duty; one that was stopped runs again."""
    _refuse_interval(act.every_days)
    own = holding.own_duties.get(act.duty)
    if own is not None:
        if own.rule is not None:
            raise Refusal(f"{act.duty} falls on fixed days ({own.rule}); stop it and add another")
        if act.every_days is None:
            raise Refusal(f"{act.duty} is your own duty and needs an interval of its own")
        changed = replace(own, every_days=act.every_days)
        holding = replace(holding, own_duties={**holding.own_duties, own.id: changed})
    setting = DutySetting(duty=act.duty, every_days=act.every_days)
    return replace(holding, settings={**holding.settings, act.duty: setting})


def duty_stopped(holding: Holding, act: DutyStopped) -> Holding:
    """The holding in which a duty is no longer wanted."""
    before = holding.settings.get(act.duty) or DutySetting(duty=act.duty)
    setting = replace(before, stopped=True)
    return replace(holding, settings={**holding.settings, act.duty: setting})


def _refuse_interval(days: int | None) -> None:
    if days is not None and days < 1:
        raise Refusal(f"an interval is at least 1 day, got {days}")


def _refuse_unknown(holding: Holding, about: Subject) -> None:
    match about.kind:
        case SubjectKind.PLANTING:
            known(holding, about.code)
        case SubjectKind.PLACE:
            place_called(holding, about.code)
        case SubjectKind.LOOP:
            loop_called(holding, about.code)
        case SubjectKind.HOUSE:
            house_called(holding, about.code)
        case SubjectKind.PLAN:
            strikes = holding.plan.strikes if holding.plan else ()
            if about.code not in {str(strike.number) for strike in strikes}:
                raise Refusal(f"the season plan has no strike number {about.code}")
