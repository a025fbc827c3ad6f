"""Situations 32 to 38 and 46 to 50: flowers, fruit, and what plants stand in."""

from __future__ import annotations

from datetime import date, timedelta

from cropplan.holding.entry import Done, Entry, Marked, Pulled, Skipped, Tended
from cropplan.holding.place import Care
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.span import Basis
from cropplan.holding.task import Part, State
from cropplan.schedule.remarks import remarks
from tests.asking import asked, surely
from tests.builders import (
    START,
    about,
    after,
    bare_house,
    bearing,
    flowering,
    on,
    saw,
    seen_from,
    set_out,
    standing,
    struck,
    task,
)

PLANTED = [*struck("tom1", count=1), *set_out("tom1", after(20), ("B1", 1, "tom1"))]
FLOWERING = flowering()


def pollinated(day: date) -> list[Entry]:
    """The flowers were shaken."""
    return on(day, Done(duty="pollinate", subjects=(about("tom1"),)))


def test_situation_32_flowers_open_earlier_than_predicted() -> None:
    """Situation 32: a flower seen starts pollination that day and dates the first pick anew."""
    expected = seen_from(bare_house(), PLANTED, today=after(21)).timelines["tom1"]
    early = [*PLANTED, *saw("tom1", Stage.FLOWERING, after(22))]
    assert expected.dates[Stage.FLOWERING].likely > after(22)
    assert surely("pollinate", "tom1", early, today=after(22)).state is State.TODAY
    then = seen_from(bare_house(), early, today=after(22)).timelines["tom1"]
    assert then.dates[Stage.FRUITING].likely < expected.dates[Stage.FRUITING].likely


def test_situation_33_flowers_open_later_than_predicted() -> None:
    """Situation 33: no pollination by the calendar; `any flowers yet?` once, then weekly."""
    first = surely("first-flower", "tom1", PLANTED, today=after(21))
    long_after = first.latest + timedelta(days=10)
    assert asked("pollinate", "tom1", PLANTED, today=long_after) is None
    looked = on(long_after, Done(duty="first-flower", subjects=(about("tom1"),)))
    again = surely("first-flower", "tom1", PLANTED, looked, today=long_after)
    assert again.due == long_after + timedelta(days=7)


def test_situation_34_pollination_is_pointless_today() -> None:
    """Situation 34: too damp is a skip; the clock runs on, and it is first at the next dry noon."""
    damp = on(after(36), Skipped(duty="pollinate", subjects=(about("tom1"),), why="too damp"))
    next_day = surely("pollinate", "tom1", FLOWERING, pollinated(after(34)), damp, today=after(37))
    assert (next_day.due, next_day.part) == (after(37), Part.MIDDAY)
    assert next_day.why == ("skipped on Tue 7 Apr (too damp); 3 days since last, every 2 days")


def test_situation_35_insects_do_the_work() -> None:
    """Situation 35: the hand tasks pause from one day to another, crop by crop."""
    bees = on(after(40), Marked(tag="tom1", by_insects=True))
    gone = on(after(80), Marked(tag="tom1", by_insects=False))
    assert asked("pollinate", "tom1", FLOWERING, bees, today=after(60)) is None
    assert asked("pollinate", "tom1", FLOWERING, bees, gone, today=after(80)) is not None


def test_situation_36_flowers_that_must_not_be_pollinated() -> None:
    """Situation 36: a seedless cucumber has no such task, in whatever stage, and says why."""
    for stage in (Stage.SET_OUT, Stage.FLOWERING, Stage.FRUITING):
        days = standing("cuc1", stage=stage, crop="cucumber")
        scene = seen_from(bare_house(), days, today=after(40))
        assert task(scene, "pollinate", "cuc1") is None
        assert scene.catalogue.crops["cucumber"].pollination_why


def test_situation_37_berries_flower_when_they_like() -> None:
    """Situation 37: the interval runs while there are flowers, and stops when there are none."""
    days = [
        *struck("str1", crop="strawberry", count=1, way=Origin.RUNNER),
        *set_out("str1", after(30), ("C1", 1, "str1")),
        *saw("str1", Stage.FLOWERING, after(100)),
    ]
    assert asked("pollinate", "str1", days, today=after(101)) is not None
    none_left = saw("str1", Stage.RESTING, after(130))
    assert asked("pollinate", "str1", days, none_left, today=after(131)) is None
    again = saw("str1", Stage.FLOWERING, after(170))
    assert surely("pollinate", "str1", days, none_left, again, today=after(170)).due == after(170)


def test_situation_38_the_last_truss_before_the_end() -> None:
    """Situation 38: the plant is topped so long before its end as the last fruit needs."""
    day = seen_from(bare_house(), bearing(), today=after(90))
    ends = day.timelines["tom1"].likely(Stage.SPENT)
    needs = day.catalogue.crops["tomato"].values["top_before_end"].typical
    top = surely("top", "tom1", bearing(), today=after(90))
    assert ends is not None
    assert top.due == ends - timedelta(days=round(needs))
    assert (top.state, top.basis) == (State.COMING, Basis.PREDICTED)


def test_situation_46_a_medium_is_changed_early() -> None:
    """Situation 46: the clock restarts from the real day, and the old day is gone."""
    before = surely("renew-medium", "B1", today=after(101))
    changed = on(after(100), Tended(places=("B1",), care=Care.CHANGE))
    then = surely("renew-medium", "B1", changed, today=after(101))
    assert then.due == before.due + timedelta(days=100)
    assert then.key.turn == before.key.turn + 1


def test_situation_47_one_bucket_of_a_row_is_changed() -> None:
    """Situation 47: each place has its own clock."""
    changed = on(after(100), Tended(places=("B3",), care=Care.CHANGE))
    due = {
        code: surely("renew-medium", code, changed, today=after(101)).due
        for code in ("B2", "B3", "B4")
    }
    assert due["B2"] == due["B4"] < due["B3"]


def test_situation_48_a_medium_is_flushed_or_topped_up() -> None:
    """Situation 48: other marks than a change; the renewal stays where it was."""
    before = surely("renew-medium", "B1", today=after(101))
    for care in (Care.FLUSH, Care.TOP_UP, Care.DISINFECT):
        tended = on(after(100), Tended(places=("B1",), care=care))
        assert surely("renew-medium", "B1", tended, today=after(101)) == before


def test_situation_49_a_change_falls_due_under_a_bearing_crop() -> None:
    """Situation 49: kept for the gap after the crop, and never past the hard maximum."""
    life = seen_from(bare_house(), today=START).catalogue.media["perlite"].values
    soonest = START + timedelta(days=round(life["life"].least))
    hard = START + timedelta(days=round(life["hard_maximum"].most))
    crop = bearing(start=soonest - timedelta(days=150))
    today = soonest + timedelta(days=5)
    ends = seen_from(bare_house(), crop, today=today).timelines["tom1"].likely(Stage.SPENT)
    assert ends is not None
    assert today < ends < hard
    renewal = surely("renew-medium", "B1", crop, today=today)
    assert (renewal.due, renewal.state) == (ends, State.COMING)
    late_crop = bearing(start=hard - timedelta(days=120))
    limit = surely("renew-medium", "B1", late_crop, today=hard - timedelta(days=20))
    assert limit.due == hard


def test_situation_50_a_bucket_had_disease() -> None:
    """Situation 50: change or disinfect now; those on the same water are looked over."""
    days = [
        *bearing("tom1", "B1"),
        *bearing("tom2", "B2"),
        *on(after(120), Pulled(tag="tom1", why="root disease")),
    ]
    urgent = surely("renew-medium", "B1", days, today=after(120))
    assert (urgent.state, urgent.due) == (State.TODAY, after(120))
    assert urgent.why.endswith("renew or disinfect before planting again")
    scene = seen_from(bare_house(), days, today=after(121))
    assert any(r.startswith("disease in B1") and "tom2" in r for r in remarks(scene, "north"))
    clean = on(after(122), Tended(places=("B1",), care=Care.DISINFECT))
    later = surely("renew-medium", "B1", days, clean, today=after(122))
    assert "disease" not in later.why
