"""Journal entries in words: what was done or seen, as it would be said."""

from __future__ import annotations

from typing import Any

from cropplan.cli.show import plain, short_codes
from cropplan.desk.look import Written
from cropplan.desk.terms import day_text, days_text, every_text
from cropplan.holding import entry as acts
from cropplan.holding.entry import Act
from cropplan.holding.planting import Stage
from cropplan.holding.season import GoalDropped, GoalSet, SeasonAccepted
from cropplan.holding.task import Subject

_BEGAN = {Stage.STRUCK: "struck", Stage.SOWN: "sown"}


def entry_told(one: Written) -> tuple[str, ...]:
    """An entry as a row of the journal."""
    entry = one.entry
    what = act_told(entry.act)
    if entry.note:
        what += f"; {entry.note}"
    if one.voided:
        what = f"(undone) {what}"
    day = entry.happened.isoformat()
    late = (entry.written.date() - entry.happened).days
    if late > 1:
        what += f" (written {entry.written.date().isoformat()})"
    return str(entry.id), day, what, entry.by or ""


def plain_entry(one: Written) -> dict[str, Any]:
    """An entry as JSON has it."""
    entry = one.entry
    return {
        "entry": entry.id,
        "happened": entry.happened.isoformat(),
        "written": entry.written.isoformat(),
        "act": _kind(entry.act),
        "of": plain(entry.act),
        "by": entry.by,
        "note": entry.note,
        "undone": one.voided,
    }


def _kind(act: Act) -> str:
    name = type(act).__name__
    return "".join(f"-{sign.lower()}" if sign.isupper() else sign for sign in name).lstrip("-")


def act_told(act: Act) -> str:
    """An act in a few words."""
    return _of_plants(act) or _of_things(act) or _of_duties(act) or _of_season(act) or _kind(act)


def _of_plants(act: Act) -> str | None:  # noqa: PLR0911 - the match is the table
    match act:
        case acts.Began(tag=tag, crop=crop, count=count, place=place):
            how = _BEGAN.get(act.stage, f"brought in ({act.stage.value})")
            parent = f" from {act.parent}" if act.parent else ""
            return f"{tag}: {crop}, {count} {how}{parent} in {place}"
        case acts.Seen(tag=tag, stage=stage, count=count):
            return f"{tag}: {'' if count is None else f'{count} '}{stage.value} seen"
        case acts.SetOut(tag=tag, parts=parts):
            went = ", ".join(f"{part.count} to {part.place} as {part.tag}" for part in parts)
            return f"{tag}: set out, {went}"
        case acts.Moved(tag=tag, place=place):
            return f"{tag}: moved to {place}"
        case acts.Lost(tag=tag, count=count, why=why):
            return f"{tag}: {count} lost{_because(why)}"
        case acts.Pulled(tag=tag, why=why):
            return f"{tag}: pulled{_because(why)}"
        case acts.Picked(tag=tag, amount=amount):
            return f"{tag}: picked{'' if amount is None else f' {amount:g}'}"
        case acts.Named(tags=tags, cultivar=cultivar):
            return f"{', '.join(tags)}: named '{cultivar}'"
        case acts.Marked(tag=tag):
            return f"{tag}: marked"
    return None


def _of_things(act: Act) -> str | None:  # noqa: C901, PLR0911, PLR0912 - the match is the table
    match act:
        case acts.HouseSet(house=house):
            return f"house {house.name} set"
        case acts.LoopSet(loop=loop):
            return f"water {loop.name} set"
        case acts.LoopTurned(loop=name, state=state):
            return f"water {name}: {state.value}"
        case acts.PlacesAdded(codes=codes, kind=kind):
            return f"places {short_codes(codes)} put in ({kind.value})"
        case acts.PlaceSet(place=place):
            return f"place {place} put right"
        case acts.PlaceRetired(place=place, why=why):
            return f"place {place} out of service{_because(why)}"
        case acts.Tended(places=places, care=care):
            return f"medium of {short_codes(places)}: {care.value}"
        case acts.Fed(loop=name, grams=grams):
            return f"{name}: fed{'' if grams is None else f' {grams:.4g} g'}"
        case acts.Drained(loop=name, litres=litres):
            return f"{name}: solids drained{'' if litres is None else f', {litres:.4g} L'}"
        case acts.Tested(loop=name, values=values):
            return f"{name}: tested {', '.join(f'{k} {v:g}' for k, v in values.items())}".rstrip()
        case acts.TemperaturesRead(readings=[one]):
            return f"{one.house}: {one.low_c:.1f} to {one.high_c:.1f} °C"
        case acts.TemperaturesRead(readings=readings):
            return f"{readings[0].house}: {days_text(len(readings))} of temperatures"
        case acts.SetBack(setback=lost):
            return f"{lost.house}: set back {days_text(lost.days)}{_because(lost.why)}"
    return None


def _of_duties(act: Act) -> str | None:
    match act:
        case acts.Done(duty=duty, subjects=about):
            return f"{duty} done: {_about(about)}"
        case acts.Skipped(duty=duty, subjects=about, why=why, not_needed=not_needed):
            word = "not needed" if not_needed else "skipped"
            return f"{duty} {word}{_because(why)}: {_about(about)}"
        case acts.PutOff(duty=duty, subjects=about, to=to):
            return f"{duty} put off to {to}: {_about(about)}"
        case acts.DutyAdded(duty=own):
            return f"duty {own.code} added: {own.text}"
        case acts.DutySet(duty=duty, every_days=every):
            how = "as the catalogue says" if every is None else every_text(every)
            return f"duty {duty}: {how}"
        case acts.DutyStopped(duty=duty):
            return f"duty {duty} stopped"
    return None


def _of_season(act: Act) -> str | None:
    match act:
        case GoalSet(goal=goal):
            return f"goal: {goal.amount:g} of {goal.crop} a week, {goal.first} to {goal.last}"
        case GoalDropped(crop=crop):
            return f"no longer aimed at {crop}"
        case SeasonAccepted(plan=plan):
            return f"season plan to {plan.until} accepted, {len(plan.strikes)} strikes"
        case acts.WentAway(absence=away):
            return f"away {day_text(away.first)} to {day_text(away.last)}"
        case acts.Voided(entry=entry):
            return f"entry {entry} undone"
    return None


def _about(subjects: tuple[Subject, ...]) -> str:
    return short_codes([subject.code for subject in subjects])


def _because(why: str | None) -> str:
    return f" ({why})" if why else ""
