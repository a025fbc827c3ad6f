"""Strategies: journals a grower might write, valid entry by entry, in any order a house allows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import strategies as st

from cropplan.catalogue.read import read_catalogue
from cropplan.holding import entry as acts
from cropplan.holding.entry import Act, Entry
from cropplan.holding.holding import Holding
from cropplan.holding.house import Absence, Setback
from cropplan.holding.loop import LoopState
from cropplan.holding.place import Care
from cropplan.holding.planting import CLONAL, MAY_BECOME, Origin, Planting, Stage
from cropplan.holding.replay import apply, replay
from cropplan.holding.task import Keeps, Subject, SubjectKind, subject
from cropplan.problems import Refusal
from tests.builders import (
    START,
    after,
    bare_house,
    bearing,
    journal,
    on,
    saw,
    set_out,
    sown,
    standing,
    struck,
)

CROPS = read_catalogue(["tomato", "strawberry", "pepper", "basil", "lettuce", "cucumber"]).crops
DUTIES = read_catalogue([]).duties
_FIRST = {Origin.SEED: Stage.SOWN, Origin.BOUGHT_IN: Stage.BOUGHT_IN}
_LATER = (Stage.ROOTED, Stage.SET_OUT, Stage.FLOWERING, Stage.FRUITING)
_RULES = ("FREQ=WEEKLY;BYDAY=MO", "FREQ=MONTHLY;BYMONTHDAY=31", "FREQ=DAILY;INTERVAL=3")
_PLANTED = (
    bearing("tom1", "B1", cultivar="Ruby"),
    bearing("tom2", "S1", start=after(9)),
    struck("tom3", after(90), count=6),
    [
        *struck("str1", crop="strawberry", count=3, way=Origin.RUNNER),
        *set_out("str1", after(30), ("W1", 3, "str1")),
        *saw("str1", Stage.FLOWERING, after(60)),
    ],
    sown("let1", after(40), place="ST1"),
    standing("pep1", "B2", crop="pepper"),
    standing("bas1", "B3", crop="basil", stage=Stage.PICKING),
)
_WHY = st.sampled_from([None, "rot", "disease", "given", "finished"])


@st.composite
def journals(draw: st.DrawFn, *, most: int = 30, absences: bool = True) -> list[Entry]:
    """A house with some plants and up to so many entries more, some of them written late.

    What a house would refuse is left out, so that every journal can be replayed.
    """
    begun = draw(st.lists(st.sampled_from(range(len(_PLANTED))), unique=True))
    written = journal(bare_house(second=True), *(_PLANTED[n] for n in begun))
    holding = replay(written)
    today = last_day(written)
    for _ in range(draw(st.integers(0, most))):
        today += timedelta(days=draw(st.integers(0, 9)))
        late = draw(st.sampled_from([0, 0, 0, 0, 1, 3, 12]))
        act = draw(an_act(holding, today, absences=absences))
        (entry,) = on(max(START, today - timedelta(days=late)), act, by=draw(_by))
        entry = replace(entry, id=len(written) + 1)
        try:
            holding = apply(holding, entry)
        except Refusal:
            continue
        written.append(entry)
    return written


def last_day(entries: Sequence[Entry]) -> date:
    """The latest day on which anything of a journal happened."""
    return max(entry.happened for entry in entries)


_by = st.sampled_from([None, "Ann", "Ben"])


@st.composite
def an_act(draw: st.DrawFn, holding: Holding, today: date, *, absences: bool) -> Act:
    """Anything that might be written; a house may still refuse it."""
    kind = draw(st.sampled_from("pppppppppbbbaaatttdw"))
    if kind == "p" and holding.plantings:
        return draw(about_plantings(holding))
    if kind == "a":
        return draw(answers(holding, today))
    if kind == "t":
        return draw(about_things(holding))
    if kind == "d":
        return draw(about_duties(holding, today))
    if kind == "w" and absences:
        return draw(times(today))
    return draw(beginnings(holding, today))


@st.composite
def beginnings(draw: st.DrawFn, holding: Holding, today: date) -> Act:
    """Plants struck, sown or brought in, of known age or not."""
    crop = draw(st.sampled_from(sorted(CROPS)))
    way = draw(st.sampled_from(CROPS[crop].ways))
    known = draw(st.booleans()) or way is not Origin.BOUGHT_IN
    stage = _FIRST.get(way, Stage.STRUCK) if known else draw(st.sampled_from(_LATER))
    parents = [p.tag for p in holding.plantings.values() if p.crop == crop]
    taken = way in CLONAL and parents and draw(st.booleans())
    return acts.Began(
        tag=_new_tag(holding, crop),
        crop=crop,
        origin=way,
        count=draw(st.integers(1, 6)),
        place=draw(st.sampled_from(["T1", "T2", "ST1", "W1", "B1", "C2", "S3"])),
        stage=stage,
        cultivar=draw(st.sampled_from([None, "Ruby"])),
        parent=draw(st.sampled_from(parents)) if taken else None,
        started=today if known else None,
        started_give=draw(st.sampled_from([0, 0, 9])),
    )


def _new_tag(holding: Holding, crop: str) -> str:
    """A tag that no planting has, as the desk would choose it."""
    letters = CROPS[crop].tag
    taken = [int(tag.removeprefix(letters)) for tag in holding.plantings if tag.startswith(letters)]
    return f"{letters}{max(taken, default=0) + 1}"


@st.composite
def about_plantings(draw: st.DrawFn, holding: Holding) -> Act:
    """What is seen of plantings and done to them."""
    tag = draw(st.sampled_from(sorted(holding.plantings)))
    planting = holding.plantings[tag]
    count = draw(st.integers(1, max(1, planting.count)))
    place = draw(st.sampled_from(sorted(holding.places)))
    whole = draw(st.booleans())
    part = acts.SetOutPart(
        place=place,
        count=planting.count if whole else count,
        tag=tag if whole else _new_tag(holding, planting.crop),
    )
    return draw(
        st.sampled_from(
            [
                *[acts.Seen(tag=tag, stage=stage) for stage in _next_stages(planting)],
                acts.Seen(tag=tag, stage=Stage.ROOTED, count=count),
                acts.Seen(tag=tag, stage=draw(st.sampled_from(list(Stage)))),
                acts.SetOut(tag=tag, parts=(part,)),
                acts.SetOut(tag=tag, parts=(part,)),
                acts.Moved(tag=tag, place=place),
                acts.Lost(tag=tag, count=count, why=draw(_WHY)),
                acts.Pulled(tag=tag, why=draw(_WHY)),
                acts.Picked(tag=tag, amount=draw(st.sampled_from([None, 0.0, 1.5]))),
                acts.Picked(tag=tag, cleared=count),
                acts.Marked(tag=tag, mother=whole, by_insects=draw(st.booleans())),
                acts.Marked(tag=tag, barred_why=draw(st.sampled_from(["mosaic", ""]))),
                acts.Named(tags=(tag,), cultivar=draw(st.sampled_from([None, "Amber"]))),
            ]
        )
    )


def _next_stages(planting: Planting) -> list[Stage]:
    """The stages a planting may well be seen in next, in one order."""
    return sorted(MAY_BECOME[planting.stage], key=list(Stage).index)[:4]


@st.composite
def about_things(draw: st.DrawFn, holding: Holding) -> Act:
    """What is done to places, media and water."""
    place = draw(st.sampled_from(sorted(holding.places)))
    return draw(
        st.sampled_from(
            [
                acts.Tended(places=(place,), care=draw(st.sampled_from(list(Care)))),
                acts.PlaceRetired(place=place),
                acts.PlaceSet(place=place, holds=draw(st.integers(1, 9)), medium="coir"),
                acts.Fed(loop="main", grams=draw(st.sampled_from([None, 0.0, 30.0]))),
                acts.Drained(loop="main"),
                acts.Tested(loop="main", values={"ph": 6.8, "nitrite": 0.0}),
                acts.LoopTurned(loop="main", state=draw(st.sampled_from(list(LoopState)))),
            ]
        )
    )


def subjects_of(holding: Holding) -> list[Subject]:
    """Everything that a duty may be about."""
    return [
        *(subject(SubjectKind.PLANTING, tag) for tag in sorted(holding.plantings)),
        *(subject(SubjectKind.PLACE, code) for code in sorted(holding.places)),
        *(subject(SubjectKind.LOOP, name) for name in holding.loops),
        *(subject(SubjectKind.HOUSE, name) for name in holding.houses),
    ]


@st.composite
def answers(draw: st.DrawFn, holding: Holding, today: date) -> Act:
    """Turns done, skipped, found not needed or put off, of duties that fit their subject."""
    about = draw(st.sampled_from(subjects_of(holding)))
    fitting = [duty.id for duty in DUTIES.values() if duty.subject is about.kind]
    fitting += [own.id for own in holding.own_duties.values() if own.subject == about]
    duty = draw(st.sampled_from(fitting))
    kind = draw(st.integers(0, 4))
    if kind <= 1:
        return acts.Done(duty=duty, subjects=(about,))
    if kind == 2:
        return acts.PutOff(duty=duty, subjects=(about,), to=today + timedelta(days=5))
    return acts.Skipped(duty=duty, subjects=(about,), why="rain", not_needed=kind == 3)


@st.composite
def about_duties(draw: st.DrawFn, holding: Holding, today: date) -> Act:
    """Own duties, own intervals, and duties that are stopped."""
    number = len(holding.own_duties) + 1
    days = draw(st.integers(1, 40))
    fixed = draw(st.booleans())
    own = acts.OwnDuty(
        id=f"own-{number}",
        code=f"o{number}",
        text="wipe the lamps",
        subject=draw(st.sampled_from(subjects_of(holding))),
        begins=today + timedelta(days=draw(st.integers(-9, 9))),
        every_days=None if fixed else days,
        rule=draw(st.sampled_from(_RULES)) if fixed else None,
        keeps=draw(st.sampled_from(list(Keeps))),
    )
    duty = draw(st.sampled_from([*sorted(DUTIES), *sorted(holding.own_duties)]))
    return draw(
        st.sampled_from(
            [
                acts.DutyAdded(duty=own),
                acts.DutySet(duty=duty, every_days=days),
                acts.DutySet(duty=duty, every_days=None),
                acts.DutyStopped(duty=duty),
            ]
        )
    )


@st.composite
def times(draw: st.DrawFn, today: date) -> Act:
    """A time away, or a time in which nothing grew."""
    first = today + timedelta(days=draw(st.integers(-3, 15)))
    house = draw(st.sampled_from([None, "north", "south"]))
    days = draw(st.integers(1, 14))
    if draw(st.booleans()):
        setback = Setback(house=house or "north", day=first, days=days, why="heater out")
        return acts.SetBack(setback=setback)
    last = first + timedelta(days=days - 1)
    return acts.WentAway(absence=Absence(first=first, last=last, house=house))
