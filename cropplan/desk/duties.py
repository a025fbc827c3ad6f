"""Acts on duties: the grower's own, and their own intervals for the catalogue's."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cropplan.catalogue.read import read_catalogue
from cropplan.desk.desk import Desk, Outcome, first_house, house_called, numbers, today_in, write
from cropplan.holding.entry import DutyAdded, DutySet, DutyStopped
from cropplan.holding.growing import living, open_place
from cropplan.holding.holding import Holding
from cropplan.holding.own_duty import OwnDuty
from cropplan.holding.task import Keeps, Part, Subject, SubjectKind, subject
from cropplan.holding.things import loop_called
from cropplan.problems import Misuse, Refusal, did_you_mean
from cropplan.schedule.fixed import days_of
from cropplan.schedule.wording import at_large, day_text, days_text, every_text


def about(
    holding: Holding, *, place: str | None, loop: str | None, tag: str | None, house: str | None
) -> Subject:
    """What a duty is about: the one thing named, or the house when nothing is."""
    named = [word for word in (place, loop, tag) if word is not None]
    if len(named) > 1:
        raise Misuse(f"a duty is about one thing; '{', '.join(named)}' are {len(named)}")
    if place is not None:
        return subject(SubjectKind.PLACE, open_place(holding, place, date.max).code)
    if loop is not None:
        return subject(SubjectKind.LOOP, loop_called(holding, loop).name)
    if tag is not None:
        return subject(SubjectKind.PLANTING, living(holding, tag).tag)
    return subject(SubjectKind.HOUSE, house_called(holding, house).name)


def add_duty(
    desk: Desk,
    text: str,
    *,
    every_days: int | None = None,
    rule: str | None = None,
    begins: date | None = None,
    place: str | None = None,
    loop: str | None = None,
    tag: str | None = None,
    house: str | None = None,
    keeps: Keeps = Keeps.STAYS,
    part: Part = Part.ANY,
    minutes: float = 5.0,
) -> Outcome:
    """Add a duty of the grower's own: every so many days, or on the fixed days of a rule."""
    holding = desk.record.snapshot()
    today = today_in(desk, first_house(holding))
    if (every_days is None) == (rule is None):
        raise Misuse("a duty comes --every so many days or by a --rule; give one of the two")
    if every_days is not None and every_days < 1:
        raise Misuse(f"an interval is at least 1 day, got '{every_days}'")
    if not text.strip():
        raise Misuse('a duty needs words, such as "wipe the lamps"')
    number = len(holding.own_duties) + 1
    own = OwnDuty(
        id=f"own-{number}",
        code=f"o{number}",
        text=" ".join(text.split()),
        subject=about(holding, place=place, loop=loop, tag=tag, house=house),
        begins=begins or today,
        every_days=every_days,
        rule=rule,
        keeps=keeps,
        part=part,
        minutes=minutes,
    )
    if rule is not None:
        first = next(days_of(rule, own.begins), None)
        if first is None:
            raise Misuse(f"'{rule}' never falls on a day; write such as FREQ=WEEKLY;BYDAY=MO")
        when = f"first on {day_text(first, today)}"
    else:
        when = every_text(every_days or 1)
    _, entries = write(desk, today, [DutyAdded(duty=own)])
    return Outcome(said=(f"{own.code}: {own.text}, {when}",), entries=numbers(entries))


#: What a duty of the catalogue is about, when no one thing is meant.
_AT_LARGE = {
    SubjectKind.PLANTING: "plants",
    SubjectKind.PLACE: "medium",
    SubjectKind.LOOP: "loop",
    SubjectKind.HOUSE: "house",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownDuty:
    """A duty as listed: its words, how often, and whether that is the grower's own word."""

    id: str
    code: str
    job: str
    every: str
    own: bool
    stopped: bool


def duties(desk: Desk) -> list[KnownDuty]:
    """Every duty of the catalogue and of the grower."""
    holding = desk.record.snapshot(living_only=True)
    listed = []
    for duty in read_catalogue([]).duties.values():
        setting = holding.settings.get(duty.id)
        every = f"the crop's own ({duty.every_key})" if duty.every_key else "when its time comes"
        if duty.every is not None:
            every = days_text(round(duty.every.typical))
        if setting is not None and setting.every_days is not None:
            every = f"{days_text(setting.every_days)} (your own)"
        listed.append(
            KnownDuty(
                id=duty.id,
                code=duty.code,
                job=at_large(duty.job, _AT_LARGE[duty.subject]),
                every=every,
                own=False,
                stopped=setting is not None and setting.stopped,
            )
        )
    for own in holding.own_duties.values():
        setting = holding.settings.get(own.id)
        listed.append(
            KnownDuty(
                id=own.id,
                code=own.code,
                job=own.text,
                every=own.rule or days_text(own.every_days or 1),
                own=True,
                stopped=setting is not None and setting.stopped,
            )
        )
    return listed


def set_duty(desk: Desk, duty: str, *, every_days: int | None) -> Outcome:
    """Keep another interval than the catalogue's; None returns to it."""
    holding, day, id_ = _known(desk, duty)
    if every_days is None and id_ in holding.own_duties:
        raise Misuse(f"'{id_}' is your own duty; give it --every DAYS")
    _, entries = write(desk, day, [DutySet(duty=id_, every_days=every_days)])
    how = "as the catalogue says" if every_days is None else every_text(every_days)
    return Outcome(said=(f"{id_}: {how}",), entries=numbers(entries))


def stop_duty(desk: Desk, duty: str) -> Outcome:
    """Ask no more for a duty. 'undo' brings it back."""
    _, day, id_ = _known(desk, duty)
    _, entries = write(desk, day, [DutyStopped(duty=id_)])
    return Outcome(
        said=(f"{id_}: stopped; 'cropplan undo {entries[0].id}' brings it back",),
        entries=numbers(entries),
    )


def _known(desk: Desk, duty: str) -> tuple[Holding, date, str]:
    holding = desk.record.snapshot()
    day = today_in(desk, first_house(holding))
    codes = {known.code: known.id for known in duties(desk)}
    id_ = codes.get(duty, duty)
    if id_ not in codes.values():
        raise Refusal(f"no duty is called '{duty}'{did_you_mean(duty, codes.values())}")
    return holding, day, id_
