"""A grower and a record: whatever is entered, refused and undone, the record equals its journal."""

from __future__ import annotations

import shutil
import tempfile
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

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
    Lost,
    Moved,
    Named,
    OwnDuty,
    Picked,
    PlaceRetired,
    PlacesAdded,
    Pulled,
    PutOff,
    Seen,
    SetBack,
    SetOut,
    SetOutPart,
    Skipped,
    TemperaturesRead,
    Tended,
    Voided,
    WentAway,
)
from cropplan.holding.entry import Tested as WaterTested
from cropplan.holding.house import Absence, DayTemperature, House, Setback
from cropplan.holding.loop import Loop
from cropplan.holding.place import Care, PlaceKind
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.replay import apply, replay
from cropplan.holding.season import Goal, GoalDropped, GoalSet, SeasonAccepted, SeasonPlan
from cropplan.holding.task import SubjectKind, subject
from cropplan.problems import Refusal
from cropplan.record.audit import check
from cropplan.record.projection import temperatures_in
from cropplan.record.store import open_record

# A world so small that entries often meet: the same tag, the same place, the same day.
DAYS = st.integers(0, 40).map(lambda n: date(2026, 3, 1) + timedelta(days=n))
HOUSES = st.sampled_from(["lean-to", "tunnel"])
LOOPS = st.sampled_from(["tank", "pond"])
PLACES = st.sampled_from(["B1", "B2", "T1", "T2"])
TAGS = st.sampled_from(["tom1", "tom2", "tom3", "bas1"])
COUNTS = st.integers(1, 4)
DUTIES = st.sampled_from(["pollinate", "check-roots", "wash"])
SUBJECTS = st.lists(
    st.builds(lambda tag: subject(SubjectKind.PLANTING, tag), TAGS)
    | st.builds(lambda code: subject(SubjectKind.PLACE, code), PLACES),
    min_size=1,
    max_size=2,
).map(tuple)
NUMBERS = st.floats(0, 50, allow_nan=False)

GROWING: st.SearchStrategy[Act] = st.one_of(
    st.builds(
        Began,
        tag=TAGS,
        crop=st.sampled_from(["tomato", "basil"]),
        origin=st.sampled_from([Origin.CUTTING, Origin.SEED, Origin.BOUGHT_IN]),
        count=COUNTS,
        place=PLACES,
        stage=st.sampled_from([Stage.STRUCK, Stage.SOWN, Stage.BOUGHT_IN]),
        parent=st.none() | TAGS,
        started=st.none() | DAYS,
    ),
    st.builds(Seen, tag=TAGS, stage=st.sampled_from(list(Stage)), count=st.none() | COUNTS),
    st.builds(
        SetOut,
        tag=TAGS,
        parts=st.lists(st.builds(SetOutPart, place=PLACES, count=COUNTS, tag=TAGS), max_size=2).map(
            tuple
        ),
    ),
    st.builds(Moved, tag=TAGS, place=PLACES),
    st.builds(Lost, tag=TAGS, count=COUNTS, why=st.sampled_from([None, "rot", "given"])),
    st.builds(Pulled, tag=TAGS, why=st.sampled_from([None, "disease"])),
    st.builds(Picked, tag=TAGS, amount=st.none() | NUMBERS),
    st.builds(Named, tags=st.lists(TAGS, max_size=2).map(tuple), cultivar=st.none() | st.text()),
)
HOUSEKEEPING: st.SearchStrategy[Act] = st.one_of(
    st.builds(
        HouseSet,
        house=st.builds(
            House,
            name=HOUSES,
            latitude=st.just(57.7),
            longitude=st.just(-3.2),
            zone=st.just("Europe/London"),
            day_c=st.floats(15, 25),
        ),
    ),
    st.builds(
        LoopSet,
        loop=st.builds(
            Loop, name=LOOPS, house=HOUSES, volume_l=st.just(900.0), species=st.just("tench")
        ),
    ),
    st.builds(
        PlacesAdded,
        codes=st.lists(PLACES, min_size=1, max_size=2).map(tuple),
        house=HOUSES,
        kind=st.sampled_from(list(PlaceKind)),
        holds=st.integers(1, 6),
        loop=st.none() | LOOPS,
    ),
    st.builds(PlaceRetired, place=PLACES),
    st.builds(
        Tended, places=st.lists(PLACES, max_size=2).map(tuple), care=st.sampled_from(list(Care))
    ),
    st.builds(Fed, loop=LOOPS, grams=st.none() | NUMBERS),
    st.builds(
        WaterTested,
        loop=LOOPS,
        values=st.dictionaries(st.sampled_from(["ph", "nitrite"]), NUMBERS, max_size=2),
    ),
    st.builds(
        TemperaturesRead,
        readings=st.lists(
            st.builds(DayTemperature, house=HOUSES, day=DAYS, low_c=NUMBERS, high_c=NUMBERS),
            max_size=3,
        ).map(tuple),
    ),
)
DUTY_WORK: st.SearchStrategy[Act] = st.one_of(
    st.builds(Done, duty=DUTIES, subjects=SUBJECTS),
    st.builds(
        Skipped, duty=DUTIES, subjects=SUBJECTS, why=st.text(max_size=5), not_needed=st.booleans()
    ),
    st.builds(PutOff, duty=DUTIES, subjects=SUBJECTS, to=DAYS),
    st.builds(
        DutyAdded,
        duty=st.builds(
            OwnDuty,
            id=DUTIES,
            code=st.just("wa"),
            text=st.text(max_size=5),
            subject=st.builds(lambda name: subject(SubjectKind.HOUSE, name), HOUSES),
            begins=DAYS,
            every_days=st.integers(1, 60),
        ),
    ),
    st.builds(DutySet, duty=DUTIES, every_days=st.none() | st.integers(0, 30)),
    st.builds(DutyStopped, duty=DUTIES),
    st.builds(
        WentAway, absence=st.builds(Absence, first=DAYS, last=DAYS, house=st.none() | HOUSES)
    ),
    st.builds(
        GoalSet,
        goal=st.builds(
            Goal,
            crop=st.sampled_from(["tomato", "basil"]),
            amount=st.floats(-1, 9, allow_nan=False),
            first=DAYS,
            last=DAYS,
            priority=st.integers(0, 10),
        ),
    ),
    st.builds(GoalDropped, crop=st.sampled_from(["tomato", "basil"])),
    st.builds(SeasonAccepted, plan=st.builds(SeasonPlan, made=DAYS, until=DAYS)),
    st.builds(
        SetBack,
        setback=st.builds(
            Setback, house=HOUSES, day=DAYS, days=st.integers(1, 5), why=st.just("cold")
        ),
    ),
)
ACTS = GROWING | GROWING | HOUSEKEEPING | DUTY_WORK


def an_entry(act: Act, day: date) -> Entry:
    """An entry as the desk makes one."""
    return Entry(happened=day, written=datetime(2026, 3, 1, 7, 30, tzinfo=UTC), act=act)


class GrowerAndRecord(RuleBasedStateMachine):
    """The record is compared with a plain list of the entries it accepted."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.record = open_record(self.folder / "house.db", create=True)
        self.accepted: list[Entry] = []

    def teardown(self) -> None:
        """The audit is the judge at the end of every life."""
        assert check(self.record) == []
        self.record.close()
        shutil.rmtree(self.folder)

    @initialize()
    def a_house_stands(self) -> None:
        """Most entries need a house, a loop and places."""
        house = House(name="lean-to", latitude=57.7, longitude=-3.2, zone="Europe/London")
        loop = Loop(name="tank", house="lean-to", volume_l=900.0, species="tench")
        self.enter(
            HouseSet(house=house),
            LoopSet(loop=loop),
            PlacesAdded(codes=("B1", "T1"), house="lean-to", kind=PlaceKind.TRAY, holds=6),
        )

    def enter(self, *acts: Act, day: date = date(2026, 3, 1)) -> bool:
        """Enter acts; whether they were taken. What is refused must change nothing."""
        before = (self.record.snapshot(), self.record.revision)
        try:
            held, written = self.record.append([an_entry(act, day) for act in acts])
        except Refusal:
            assert (self.record.snapshot(), self.record.revision) == before
            return False
        assert held == self.record.snapshot()
        self.accepted += written
        return True

    @rule(act=ACTS, day=DAYS)
    def one_entry(self, act: Act, day: date) -> None:
        """An entry is taken exactly when replay takes it and every name it gives is known."""
        try:
            apply(self.record.snapshot(), an_entry(act, day))
            possible = True
        except Refusal:
            possible = False
        match act:
            case (
                WentAway(absence=Absence(house=str(house))) | SetBack(setback=Setback(house=house))
            ) if house not in self.record.snapshot().houses:
                possible = False
        assert self.enter(act, day=day) == possible

    @rule(several=st.lists(ACTS, max_size=4), day=DAYS)
    def several_at_once(self, several: list[Act], day: date) -> None:
        """All or none."""
        self.enter(*several, day=day)

    @rule(data=st.data(), day=DAYS)
    def undo(self, data: st.DataObject, day: date) -> None:
        """Any number may be typed; most that can be undone are recent."""
        number = data.draw(st.integers(0, len(self.accepted) + 1))
        self.enter(Voided(entry=number), day=day)

    @rule(act=ACTS, day=DAYS)
    def enter_and_undo(self, act: Act, day: date) -> None:
        """Undoing what was just entered restores everything held, exactly."""
        before, readings = self.record.snapshot(), self.readings()
        if self.enter(act, day=day):
            assert self.enter(Voided(entry=self.record.revision))
            assert self.record.snapshot() == before
            assert self.readings() == readings

    def readings(self) -> list[DayTemperature]:
        """Every temperature kept."""
        houses = self.record.snapshot().houses
        return [r for name in houses for r in self.record.temperatures(name, date.min)]

    @invariant()
    def the_record_equals_its_journal(self) -> None:
        """Rule 9 of the design, and the tally of every planting."""
        held = self.record.snapshot()
        assert self.record.journal() == self.accepted
        assert held == replay(self.accepted)
        assert all(planting.tallies for planting in held.plantings.values())
        undone = {entry.act.entry for entry in self.accepted if isinstance(entry.act, Voided)}
        assert self.record.voided() == undone
        standing = [entry for entry in self.accepted if entry.id not in undone]
        by_day = {(r.house, r.day): r for r in temperatures_in(standing)}
        assert {(r.house, r.day): r for r in self.readings()} == by_day

    @invariant()
    def the_living_are_the_whole_without_the_ended(self) -> None:
        """The morning's shorter look never differs in what it shows."""
        whole, living = self.record.snapshot(), self.record.snapshot(living_only=True)
        assert living.plantings == {t: p for t, p in whole.plantings.items() if p.alive}
        about_ended = {f"planting:{t}" for t, p in whole.plantings.items() if not p.alive}
        assert living.turns.items() <= whole.turns.items()
        for (duty, about), turn in whole.turns.items():
            if about.kind is not SubjectKind.PLANTING:
                assert living.turns[duty, about] == turn
            elif str(about) in about_ended:
                assert (duty, about) not in living.turns
            elif about.code in living.plantings:
                assert living.turns[duty, about] == turn


TestGrowerAndRecord = GrowerAndRecord.TestCase
TestGrowerAndRecord.settings = settings(
    max_examples=60,
    stateful_step_count=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
