"""Three-line builders for records with something in them."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

from cropplan.holding.entry import (
    Act,
    Began,
    Done,
    DutyAdded,
    DutySet,
    DutyStopped,
    Entry,
    Fed,
    HouseSet,
    LoopSet,
    OwnDuty,
    Picked,
    PlacesAdded,
    PutOff,
    Seen,
    SetBack,
    SetOut,
    SetOutPart,
    Skipped,
    TemperaturesRead,
    Tested,
    WentAway,
)
from cropplan.holding.house import Absence, DayTemperature, House, Setback
from cropplan.holding.loop import Loop
from cropplan.holding.notice import Published
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.season import (
    Goal,
    GoalDropped,
    GoalSet,
    PlannedEnd,
    PlannedStand,
    PlannedStrike,
    PlannedWeek,
    SeasonAccepted,
    SeasonPlan,
)
from cropplan.holding.task import SubjectKind, subject
from cropplan.record.store import Record, open_record

DAY = date(2026, 3, 1)
NOW = datetime(2026, 3, 1, 7, 30, tzinfo=UTC)


def entry(act: Act, day: date = DAY, *, by: str | None = None, note: str | None = None) -> Entry:
    """An entry as the desk makes one, its number not given yet."""
    return Entry(happened=day, written=NOW, act=act, by=by, note=note)


def reading(day: date, low: float, high: float) -> Entry:
    """One day's temperatures of the house."""
    one = DayTemperature(house="lean-to", day=day, low_c=low, high_c=high)
    return entry(TemperaturesRead(readings=(one,)), day)


def struck(tag: str, count: int = 4, place: str = "T1", parent: str | None = None) -> Entry:
    """Tomato cuttings struck in a tray."""
    return entry(
        Began(
            tag=tag,
            crop="tomato",
            origin=Origin.CUTTING,
            count=count,
            place=place,
            stage=Stage.STRUCK,
            parent=parent,
            started=DAY,
        )
    )


def bare_house() -> list[Entry]:
    """A house, a loop, two buckets and a tray."""
    house = House(
        name="lean-to", latitude=57.7, longitude=-3.2, zone="Europe/London", work_days=(1, 6)
    )
    loop = Loop(name="tank", house="lean-to", volume_l=900.0, species="tench", fish=12)
    return [
        entry(HouseSet(house=house)),
        entry(LoopSet(loop=loop)),
        entry(PlacesAdded(codes=("B1", "B2"), house="lean-to", kind=PlaceKind.BUCKET, loop="tank")),
        entry(PlacesAdded(codes=("T1",), house="lean-to", kind=PlaceKind.TRAY, holds=40)),
    ]


def lived_in() -> list[Entry]:
    """A bare house, then something in every table of the projection."""
    about = subject(SubjectKind.PLANTING, "tom1")
    own = OwnDuty(
        id="wash-glass",
        code="wg",
        text="wash the glass",
        subject=subject(SubjectKind.HOUSE, "lean-to"),
        begins=DAY,
        every_days=60,
    )
    return [
        *bare_house(),
        struck("tom1"),
        entry(Seen(tag="tom1", stage=Stage.ROOTED, count=3), date(2026, 3, 9)),
        entry(
            SetOut(tag="tom1", parts=(SetOutPart(place="B1", count=1, tag="tom2"),)),
            date(2026, 3, 12),
        ),
        entry(Picked(tag="tom2", amount=410.5), date(2026, 5, 20), by="Isla", note="first truss"),
        entry(Fed(loop="tank", grams=22.0), date(2026, 5, 20)),
        entry(Tested(loop="tank", values={"ph": 6.9, "nitrite": 0.0}), date(2026, 5, 20)),
        reading(date(2026, 5, 20), 9.5, 24.0),
        entry(DutyAdded(duty=own)),
        entry(DutySet(duty="test-water", every_days=5)),
        entry(DutyStopped(duty="de-leaf")),
        entry(Done(duty="check-roots", subjects=(about,)), date(2026, 3, 10)),
        entry(Skipped(duty="pot-on", subjects=(about,), why="no pots"), date(2026, 3, 11)),
        entry(PutOff(duty="pot-on", subjects=(about,), to=date(2026, 3, 14))),
        entry(WentAway(absence=Absence(first=date(2026, 7, 1), last=date(2026, 7, 9)))),
        entry(SetBack(setback=Setback(house="lean-to", day=DAY, days=2, why="heater out"))),
        entry(GoalSet(goal=Goal(crop="tomato", amount=1.5, first=DAY, last=date(2026, 12, 31)))),
        entry(GoalSet(goal=Goal(crop="basil", amount=2.0, first=DAY, last=date(2026, 9, 30)))),
        entry(GoalDropped(crop="basil")),
        entry(SeasonAccepted(plan=a_plan())),
    ]


def a_plan() -> SeasonPlan:
    """A plan of one strike, one end, one week and one planting that stands."""
    strike = PlannedStrike(
        number=1,
        crop="tomato",
        way=Origin.CUTTING,
        on=date(2026, 6, 1),
        count=4,
        plants=3,
        mothers=("tom1",),
        place="T1",
        places=("B1",),
        set_out=date(2026, 6, 22),
        first_pick=date(2026, 8, 17),
        last_pick=date(2026, 12, 14),
    )
    week = PlannedWeek(
        week=date(2026, 8, 17), crop="tomato", goal=1.5, expected=1.2, low=0.8, high=1.6
    )
    return SeasonPlan(
        made=DAY,
        until=date(2026, 12, 28),
        last_number=1,
        strikes=(strike,),
        ends=(PlannedEnd(tag="tom2", on=date(2026, 9, 7)),),
        weeks=(week,),
        stands=(
            PlannedStand(
                tag="tom2",
                count=1,
                until=date(2026, 9, 7),
                likely=date(2026, 8, 20),
                places=("B2",),
            ),
        ),
    )


def record_with(path: Path, entries: list[Entry]) -> Record:
    """A new record at `path` that holds the entries."""
    record = open_record(path, create=True)
    record.append(entries)
    return record


def notice(key: str, uid: str, sequence: int = 0) -> Published:
    """What calendars were told of one task."""
    return Published(
        key=key,
        uid=uid,
        sequence=sequence,
        created=NOW,
        stamp=NOW,
        digest="d1",
        day=DAY,
        tentative=False,
    )
