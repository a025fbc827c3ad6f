"""Situations 56 to 67: writing it down late, wrongly, twice, in part, or not for weeks."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cropplan.holding.entry import (
    Done,
    DutyAdded,
    Entry,
    HouseSet,
    LoopSet,
    Picked,
    PlacesAdded,
    PutOff,
    Seen,
)
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Stage
from cropplan.holding.replay import replay
from cropplan.holding.task import State
from cropplan.holding.turns import turn_of
from cropplan.problems import Refusal
from cropplan.schedule.remarks import remarks
from cropplan.schedule.rounds import lines_of
from cropplan.schedule.tasks import open_tasks
from tests.asking import surely
from tests.builders import (
    HOUSE,
    LOOP,
    START,
    about,
    after,
    bare_house,
    bearing,
    cuttings,
    held,
    journal,
    on,
    own_duty,
    saw,
    scene,
    seen_from,
    standing,
    struck,
    undone,
)


def pollinated(day: date, *tags: str, by: str | None = None) -> list[Entry]:
    """The flowers of plants were shaken."""
    return on(day, Done(duty="pollinate", subjects=tuple(about(t) for t in tags)), by=by)


def test_situation_56_yesterdays_work_is_written_today() -> None:
    """Situation 56: the next turn counts from the day it was done, not the day it was written."""
    late = surely("pollinate", "tom1", bearing(), pollinated(after(99), "tom1"), today=after(100))
    assert late.due == after(101)
    last_week = surely(
        "pollinate", "tom1", bearing(), pollinated(after(93), "tom1"), today=after(100)
    )
    assert (last_week.due, last_week.state) == (after(95), State.LATE)
    out_of_order = held(
        bare_house(),
        bearing(),
        on(after(100), Picked(tag="tom1", amount=1.0)),
        on(after(97), Picked(tag="tom1", amount=0.5)),
    )
    assert out_of_order.plantings["tom1"].last_picked == after(100)
    assert out_of_order.plantings["tom1"].picked == 1.5


def test_situation_57_an_entry_was_wrong() -> None:
    """Situation 57: undone, everything is as if it had not been written; the journal keeps both."""
    right = journal(bare_house(), bearing(), pollinated(after(90), "tom1"))
    wrong = journal(right, on(after(91), Picked(tag="tom1", amount=9.0)))
    put_right = undone(wrong, len(wrong), after(92))
    assert replay(put_right) == replay(right)
    assert len(put_right) == len(right) + 2
    same_day = scene(replay(right), after(92)), scene(replay(put_right), after(92))
    assert open_tasks(same_day[0]) == open_tasks(same_day[1])


def test_situation_58_work_is_done_before_it_is_due() -> None:
    """Situation 58: it counts, and the next turn runs from that day."""
    picked = on(after(100), Picked(tag="tom1"))
    due = surely("pick", "tom1", bearing(), picked, today=after(101)).due
    early = on(due - timedelta(days=1), Picked(tag="tom1"))
    then = surely("pick", "tom1", bearing(), picked, early, today=due - timedelta(days=1))
    assert then.due == due + timedelta(days=2)
    assert then.key.turn == 3


def test_situation_59_the_whole_house_is_pollinated() -> None:
    """Situation 59: the line holds what is in flower then, and one tick answers all of it."""
    days = [
        *bearing("tom1", "B1"),
        *bearing("tom2", "B2"),
        *standing("tom3", "B3", stage=Stage.SET_OUT),
    ]
    scene = seen_from(bare_house(), days, today=after(90))
    (line,) = [x for x in lines_of(open_tasks(scene), scene.holding) if x.handle == "po-tom"]
    assert line.subjects == (about("tom1"), about("tom2"))
    done = on(after(90), Done(duty=line.duty, subjects=line.subjects))
    then = seen_from(bare_house(), days, done, today=after(90))
    left = [t for t in open_tasks(then) if t.key.duty == "pollinate"]
    assert {t.state for t in left} == {State.COMING}


def test_situation_60_half_of_it_was_done() -> None:
    """Situation 60: ticks are by place; the rest stays on the list."""
    days = [*bearing("tom1", "B1"), *bearing("tom2", "B2"), *pollinated(after(90), "tom1")]
    scene = seen_from(bare_house(), days, today=after(90))
    open_now = [
        t for t in open_tasks(scene) if t.key.duty == "pollinate" and t.state is not State.COMING
    ]
    assert [t.places for t in open_now] == [("B2",)]


def test_situation_61_somebody_else_did_it() -> None:
    """Situation 61: who did it is kept when it is said."""
    days = [*bearing(), *pollinated(after(90), "tom1", by="Ann"), *pollinated(after(92), "tom1")]
    assert turn_of(held(bare_house(), days), "pollinate", about("tom1")).last_by is None
    assert turn_of(held(bare_house(), days[:-1]), "pollinate", about("tom1")).last_by == "Ann"


def test_situation_62_nothing_was_written_for_three_weeks() -> None:
    """Situation 62: not taken for done nor for missed day by day; the gap is named as unknown."""
    days = [*bearing(), *pollinated(after(90), "tom1")]
    scene = seen_from(bare_house(), days, today=after(112))
    (remark,) = [r for r in remarks(scene, "north") if "nothing written" in r]
    assert "walk the house and write what is true now" in remark
    assert "those days count as not known" in remark
    pollinations = [t for t in open_tasks(scene) if t.key.duty == "pollinate"]
    assert len(pollinations) == 1
    daily = [t for t in open_tasks(scene) if t.key.duty in {"fish", "pumps", "heat"}]
    assert {t.state for t in daily} == {State.TODAY}


def test_situation_63_two_entries_disagree() -> None:
    """Situation 63: both stay in the journal, and the first day stands until it is undone."""
    first = [*bare_house(), *struck("tom1"), *saw("tom1", Stage.ROOTED, after(9))]
    both = journal(first, saw("tom1", Stage.ROOTED, after(12)))
    assert replay(both).plantings["tom1"].seen[Stage.ROOTED] == after(9)
    assert len([e for e in both if isinstance(e.act, Seen)]) == 2
    wrong = len(journal(first))
    put_right = replay(undone(both, wrong, after(13)))
    assert put_right.plantings["tom1"].seen[Stage.ROOTED] == after(12)


def test_situation_64_a_day_still_to_come_is_a_slip() -> None:
    """Situation 64: nothing happened tomorrow; only plans and put-offs lie ahead."""
    begun_tomorrow = cuttings(tag="tom1", count=4, started=after(6))
    with pytest.raises(Refusal, match="what happened on 2026-03-07 cannot have begun later"):
        held(bare_house(), on(after(5), begun_tomorrow))
    planned = on(after(90), PutOff(duty="pull", subjects=(about("tom1"),), to=after(400)))
    assert held(bare_house(), bearing(), planned)


def test_situation_65_a_name_is_spelt_another_way() -> None:
    """Situation 65: a twin that differs in capitals or hyphens is not put in silently."""
    twins = (
        PlacesAdded(codes=("b1",), house="north", kind=PlaceKind.BUCKET),
        LoopSet(loop=type(LOOP)(name="MAIN", house="north", volume_l=1.0, species="carp")),
        HouseSet(house=type(HOUSE)(name="No-rth", latitude=1, longitude=1, zone="UTC", number=2)),
    )
    for twin in twins:
        with pytest.raises(Refusal, match="already; give '"):
            held(bare_house(), on(START, twin))
    with pytest.raises(Refusal, match="no place is called 'TT1'; did you mean 'T1'"):
        held(bare_house(), struck("tom1", place="TT1"))


def test_situation_66_the_same_work_comes_from_phone_and_desk() -> None:
    """Situation 66: same duty, same place, same day is one."""
    once = held(bare_house(), bearing(), pollinated(after(90), "tom1", by="Ann"))
    twice = held(
        bare_house(),
        bearing(),
        pollinated(after(90), "tom1", by="Ann"),
        pollinated(after(90), "tom1", by="the phone"),
    )
    assert twice == once


def test_situation_67_a_month_lacks_the_day() -> None:
    """Situation 67: the 31st falls on the month's last day, 29 February on the 28th, as it says."""
    own = own_duty(every_days=None, rule="FREQ=MONTHLY;BYMONTHDAY=31")
    added = on(START, DutyAdded(duty=own))
    done = on(date(2026, 3, 31), Done(duty="own-1", subjects=(own.subject,)))
    april = surely("own-1", "north", added, done, today=date(2026, 4, 1))
    assert april.due == date(2026, 4, 30)


def test_situation_68_the_clocks_change() -> None:
    """Situation 68: work has a day and a part of it, no hour; intervals are counted in days."""
    night = date(2026, 3, 29)
    days = [*bearing(start=after(-84)), *pollinated(night - timedelta(days=1), "tom1")]
    work = surely("pollinate", "tom1", days, today=night)
    assert (type(work.due), work.due) == (date, night + timedelta(days=1))
