"""Situations 19 to 31: places, moves, absences, ends, rests and several houses."""

from __future__ import annotations

from datetime import timedelta

import pytest

from cropplan.holding.entry import (
    Done,
    Fed,
    Lost,
    Moved,
    Picked,
    PlaceRetired,
    PlaceSet,
    Pulled,
    PutOff,
    Tended,
    WentAway,
)
from cropplan.holding.house import Absence
from cropplan.holding.place import Care
from cropplan.holding.planting import Stage
from cropplan.holding.task import State, SubjectKind, subject
from cropplan.problems import Refusal
from cropplan.schedule.outlook import outlook_tasks
from cropplan.schedule.remarks import remarks
from cropplan.schedule.rounds import rounds_of
from cropplan.schedule.tasks import open_tasks
from tests.asking import asked, surely
from tests.builders import (
    START,
    about,
    after,
    bare_house,
    bearing,
    held,
    on,
    saw,
    seen_from,
    set_out,
    sown,
    standing,
    struck,
    task,
)


def test_situation_19_two_crops_share_a_bucket() -> None:
    """Situation 19: the bucket has the medium's age, each plant its own; overlap is no error."""
    roomy = on(START, PlaceSet(place="B1", holds=2))
    basil = standing("bas1", "B1", crop="basil", stage=Stage.PICKING)
    holding = held(bare_house(), roomy, bearing("tom1", "B1"), basil)
    assert [p.tag for p in holding.standing_in("B1")] == ["tom1", "bas1"]
    successor = [
        *struck("tom2", after(200), count=1, parent="tom1"),
        *saw("tom1", Stage.SPENT, after(230)),
        *set_out("tom2", after(231), ("B1", 1, "tom2")),
    ]
    both = held(bare_house(), bearing("tom1", "B1"), successor)
    assert len(both.standing_in("B1")) == 2
    assert both.places["B1"].filled == START


def test_situation_20_a_plant_is_moved() -> None:
    """Situation 20: its work is at the new place from that day; the old place is free."""
    moved = on(after(100), Moved(tag="tom1", place="B5"))
    pick = surely("pick", "tom1", bearing("tom1", "B1"), moved, today=after(101))
    assert pick.places == ("B5",)
    assert pick.key == surely("pick", "tom1", bearing("tom1", "B1"), today=after(101)).key
    holding = held(bare_house(), bearing("tom1", "B1"), moved, bearing("tom2", "B1"))
    assert [p.tag for p in holding.standing_in("B1")] == ["tom2"]


def test_situation_21_the_grower_is_away_for_ten_days() -> None:
    """Situation 21: before, what would fall due; meanwhile, survival; after, one list."""
    days = [
        *bearing(),
        *on(after(104), Done(duty="scout", subjects=(subject(SubjectKind.HOUSE, "north"),))),
        *on(after(105), WentAway(absence=Absence(first=after(110), last=after(119)))),
        *on(after(108), Picked(tag="tom1"), Done(duty="pollinate", subjects=(about("tom1"),))),
    ]
    eve = seen_from(bare_house(), days, today=after(109))
    brought_forward = {t.key.duty for t in open_tasks(eve) if "before going away" in t.why}
    assert {"scout", "pick", "pollinate"} <= brought_forward
    meanwhile = seen_from(bare_house(), days, today=after(114))
    due = {t.key.duty for t in open_tasks(meanwhile) if t.state is not State.COMING}
    assert due == {"fish", "pumps", "drain", "heat"}
    back = seen_from(bare_house(), days, today=after(120))
    returned = [t for t in open_tasks(back) if t.key.duty in {"scout", "pick", "pollinate"}]
    assert {(t.due, t.state) for t in returned} == {(after(120), State.TODAY)}


def test_situation_24_two_people_might_both_feed() -> None:
    """Situation 24: the feeding line says first who fed last; fed today, it asks for tomorrow."""
    fed = on(after(3), Fed(loop="main", grams=25), by="Ann")
    feeding = surely("fish", "main", fed, today=after(3))
    assert feeding.why == "last fed today by Ann"
    assert (feeding.due, feeding.state) == (after(4), State.COMING)


def test_situation_25_a_crop_is_pulled_early() -> None:
    """Situation 25: its work leaves list and calendar; its place is free and seen to."""
    gone = on(after(120), Pulled(tag="tom1", why="poor"))
    before = seen_from(bare_house(), bearing(), today=after(120))
    then = seen_from(bare_house(), bearing(), gone, today=after(120))
    for listed in (open_tasks(then), outlook_tasks(then, after(300))):
        assert {t.key.duty for t in listed if t.key.subject == about("tom1")} == {"strike"}
    assert [t for t in open_tasks(before) if t.key.subject == about("tom1")]
    assert held(bare_house(), bearing(), gone).standing_in("B1") == []
    renewal = task(then, "renew-medium", "B1")
    assert renewal is not None
    assert "the place is empty" in renewal.why
    assert any("B1" in remark and "empty" in remark for remark in remarks(then, "north"))


def test_situation_26_a_crop_is_kept_longer_than_planned() -> None:
    """Situation 26: the pull is put off, picking goes on, and the waiting successor is named."""
    old = bearing()
    day = seen_from(bare_house(), old, today=after(90))
    ends = day.timelines["tom1"].likely(Stage.SPENT)
    assert ends is not None
    kept = on(ends, PutOff(duty="pull", subjects=(about("tom1"),), to=ends + timedelta(days=14)))
    pull = surely("pull", "tom1", old, kept, today=ends)
    assert pull.due == ends + timedelta(days=14)
    assert asked("pick", "tom1", old, kept, today=ends + timedelta(days=9)) is not None
    waiting = [
        *struck("tom2", ends - timedelta(days=60), parent="tom1"),
        *saw("tom2", Stage.ROOTED, ends - timedelta(days=45)),
    ]
    monday = ends + timedelta(days=7 - ends.weekday())
    later = seen_from(bare_house(), old, kept, waiting, today=monday)
    assert any("tom2" in r and "has been fit to set out" in r for r in remarks(later, "north"))


def test_situation_27_some_plants_of_a_group_die() -> None:
    """Situation 27: the count falls and the group lives; its work is for those that are left."""
    bed = [*standing("bas1", "W1", crop="basil", stage=Stage.PICKING, count=12)]
    fewer = on(after(9), Lost(tag="bas1", count=5, why="slugs"))
    whole = surely("pick", "bas1", bed, today=after(9))
    rest = surely("pick", "bas1", bed, fewer, today=after(9))
    assert (whole.plants, rest.plants, rest.key) == (12, 7, whole.key)


def test_situation_28_a_crop_rests() -> None:
    """Situation 28: while it rests nothing is picked or pollinated; it comes back by sight."""
    resting = [*bearing(), *saw("tom1", Stage.RESTING, after(150))]
    for duty in ("pollinate", "pick", "side-shoot"):
        assert asked(duty, "tom1", resting, today=after(160)) is None
    back = saw("tom1", Stage.FLOWERING, after(190))
    assert surely("pollinate", "tom1", resting, back, today=after(190)).due == after(190)


def test_situation_29_a_crop_is_cut_and_comes_again() -> None:
    """Situation 29: picking repeats and ends by the cuts it stands, not at the first."""
    days = [
        *struck("bas1", crop="basil"),
        *set_out("bas1", after(20), ("W1", 4, "bas1")),
        *saw("bas1", Stage.PICKING, after(45)),
        *on(after(45), Picked(tag="bas1", amount=0.3)),
    ]
    planting = held(bare_house(), days).plantings["bas1"]
    assert (planting.alive, planting.cuts, planting.picked) == (True, 1, 0.3)
    again = surely("pick", "bas1", days, today=after(46))
    assert again.due > after(46)
    assert surely("pull", "bas1", days, today=after(46)).due > again.due
    lettuce = [
        *sown("let1", count=2, place="W1"),
        *on(after(60), Picked(tag="let1", cleared=2)),
    ]
    assert not held(bare_house(), lettuce).plantings["let1"].alive


def test_situation_30_several_houses_and_tanks() -> None:
    """Situation 30: a list a house in its own walking order; the tank's work is the tank's."""
    days = [*bearing("tom1", "B1"), *bearing("tom2", "S2"), *bearing("tom3", "S1")]
    scene = seen_from(bare_house(second=True), days, today=after(84))
    lists = {name: rounds_of(scene, house, 0) for name, house in scene.holding.houses.items()}
    picks = {
        name: [line.places for line in listed.lines if line.duty == "pick"]
        for name, listed in lists.items()
    }
    assert picks == {"north": [("B1",)], "south": [("S1", "S2")]}
    duties = {name: {line.duty for line in listed.lines} for name, listed in lists.items()}
    assert "fish" in duties["north"]
    assert "fish" not in duties["south"]
    handles = [line.handle for listed in lists.values() for line in listed.lines]
    assert len(set(handles)) == len(handles)


def test_situation_31_a_bucket_is_retired() -> None:
    """Situation 31: out of service from a day, its history stays, and nothing is set there."""
    days = [
        *bearing("tom1", "B1"),
        *on(after(120), Pulled(tag="tom1")),
        *on(after(121), PlaceRetired(place="B1", why="cracked")),
    ]
    holding = held(bare_house(), days)
    assert holding.plantings["tom1"].place == "B1"
    assert asked("renew-medium", "B1", days, today=after(900)) is None
    with pytest.raises(Refusal, match="B1 is out of service since"):
        held(bare_house(), days, struck("tom2", after(122), count=1, place="B1"))
    with pytest.raises(Refusal, match="B1 is out of service since"):
        held(bare_house(), days, on(after(122), Tended(places=("B1",), care=Care.CHANGE)))
