"""Remarks: what to know before the walk."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

import pytest

from cropplan.holding.entry import Done, Entry, LoopSet, Lost, Pulled, Tended, WentAway
from cropplan.holding.house import Absence
from cropplan.holding.place import Care
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.task import SubjectKind, subject
from cropplan.schedule.remarks import remarks, unwritten_days
from tests.builders import (
    LOOP,
    START,
    after,
    bare_house,
    bearing,
    on,
    rooted_tray,
    saw,
    seen_from,
    set_out,
    sown,
    standing,
    struck,
)

SCOUTED = {"duty": "scout", "subjects": (subject(SubjectKind.HOUSE, "north"),)}
FULL = [
    *(entry for n in range(1, 7) for entry in standing(f"tom{n}", f"B{n}")),
    *(entry for n in range(1, 4) for entry in standing(f"str{n}", f"C{n}", crop="strawberry")),
    *standing("bas1", "W1", crop="basil", stage=Stage.PICKING, count=20),
]


def said(*days: Iterable[Entry], today: date, house: str = "north") -> list[str]:
    """The remarks on a house."""
    return list(remarks(seen_from(bare_house(second=True), *days, today=today), house))


def told(word: str, *days: Iterable[Entry], today: date, house: str = "north") -> list[str]:
    """The remarks in which a word stands."""
    return [remark for remark in said(*days, today=today, house=house) if word in remark]


def test_a_full_house_written_of_yesterday_needs_no_remark() -> None:
    """Fewer things on the list rather than more."""
    assert said(FULL, today=after(1)) == []


def test_weeks_without_a_word_are_not_taken_for_done_or_missed() -> None:
    """Three weeks unwritten: walk and write what is true now; the gap counts as not known."""
    assert said(FULL, today=after(14)) == []
    (remark,) = said(FULL, today=after(22))
    assert remark.startswith("nothing written since Mon 2 Mar (21 days): walk the house")


@pytest.mark.parametrize(("house", "days"), [(None, 15), ("south", 15)])
def test_an_absence_is_no_silence(house: str | None, days: int) -> None:
    """Days away are days in which nothing could be written."""
    gone = on(START, WentAway(absence=Absence(first=after(3), last=after(12), house=house)))
    scene = seen_from(bare_house(second=True), FULL, gone, today=after(26))
    assert unwritten_days(scene) == days
    assert unwritten_days(seen_from(bare_house(), FULL, gone[:0], today=START)) == 0


def test_an_empty_record_is_not_silent() -> None:
    """There is nothing to have written about."""
    assert unwritten_days(seen_from(today=after(99))) == 0


def test_times_away_are_announced_and_named_while_they_last() -> None:
    """Ten days before: no new cuttings; meanwhile: only what must go on."""
    gone = on(START, WentAway(absence=Absence(first=after(20), last=after(29), house="north")))
    assert told("away", FULL, gone, today=after(9)) == []
    assert told("away", FULL, gone, today=after(12)) == [
        "away Sun 22 Mar to Tue 31 Mar: no new cuttings now"
    ]
    assert told("away", FULL, gone, today=after(25)) == [
        "away until Tue 31 Mar: only what must go on is asked"
    ]
    assert told("away", FULL, gone, today=after(12), house="south") == []


def test_the_last_plant_of_a_clone_is_named() -> None:
    """Warn when one living plant is left, or none outside one batch."""
    last = bearing("tom1", "B1", cultivar="Ruby")
    assert told("clone", last, today=after(91)) == [
        "tom1 in B1 is the last plant of its clone 'Ruby'"
    ]
    batch = struck("tom1", count=6)
    assert told("clone", batch, today=after(3)) == [
        "tom1 in T1 (6 plants) is all there is of its clone"
    ]
    two = bearing("tom2", "S1", parent="tom1", start=after(4))
    assert told("clone", last, two, today=after(91)) == []
    assert told("clone", last, two, today=after(91), house="south") == []
    spread = [*struck("tom1", count=6), *set_out("tom1", after(20), ("B1", 1, "tom2"))]
    assert told("clone", spread, today=after(21)) == []


def written_daily(first: int, last: int) -> list[Entry]:
    """A grower who writes something every day, as one who feeds fish does."""
    return [entry for n in range(first, last) for entry in on(after(n), Done(**SCOUTED))]


def days_said(word: str, *days: Iterable[Entry], first: int, last: int) -> list[int]:
    """On which mornings a remark is read by a grower who writes every day."""
    return [n for n in range(first, last) if told(word, *days, written_daily(1, n), today=after(n))]


def test_the_last_of_a_clone_is_news_once_and_then_each_monday() -> None:
    """A grower keeps one pepper and means to: when its sister is pulled on a Wednesday the list
    says so that day and the next morning, and then on Mondays only, not every day for a year.
    """
    pair = [*bearing("tom1", "B1"), *bearing("tom2", "B2", parent="tom1", start=after(3))]
    gone = on(after(100), Pulled(tag="tom2"))
    assert days_said("clone", pair, gone, first=100, last=130) == [100, 101, 105, 112, 119, 126]


def test_several_last_plants_are_one_remark() -> None:
    """One cucumber, one pepper and one tomato, as in many small houses: a line, not three."""
    days = [*bearing("tom1", "B1"), *bearing("tom2", "B2", start=after(3))]
    assert told("clone", days, today=after(91)) == [
        "tom1 in B1 and tom2 in B2 are each the last plant of their clone"
    ]


def test_a_monday_that_nobody_read_is_made_up_for() -> None:
    """A grower who was ill from Friday to Thursday still reads what Monday would have said."""
    days = [*bearing(), *written_daily(1, 96)]
    assert told("clone", days, written_daily(96, 97), today=after(97)) == []
    assert told("clone", days, today=after(97)) == []
    assert told("clone", days, today=after(101))
    assert told("clone", days, written_daily(101, 102), today=after(102)) == []


def test_feed_that_does_not_fit_the_plants_is_not_told_every_morning() -> None:
    """One tomato is set out on a loop that feeds ten: told on that day, the next morning, and on
    Mondays, though it stays so all spring.
    """
    much = on(START, LoopSet(loop=replace(LOOP, feed_g=300.0)))
    plant = [*struck("tom1", count=1), *set_out("tom1", after(23), ("B1", 1, "tom1"))]
    says = days_said("feed of main too much", much, plant, first=23, last=50)
    assert says == [23, 24, 28, 35, 42, 49]


def test_cleared_places_are_told_the_morning_after_and_on_mondays() -> None:
    """Two buckets are cleared on a Tuesday; the gap is no news every day until they are full."""
    gap = on(after(15), Pulled(tag="tom1"), Pulled(tag="tom2"))
    assert days_said("empty", FULL, gap, first=15, last=30) == [15, 16, 21, 28]


def test_a_tray_that_waits_for_a_place_is_not_told_every_morning() -> None:
    """Rooted plants are held too long in a full house: told when it is so, and on Mondays."""
    tray = [*struck("tom9"), *saw("tom9", Stage.ROOTED, after(10))]
    says = days_said("fit to set out", tray, first=11, last=60)
    assert len(says) < 8
    assert all(n % 7 == 0 for n in says[2:])


def test_a_bed_of_one_clone_that_bears_is_no_alarm() -> None:
    """Twenty strawberries in a bed are not one accident away from nothing."""
    bed = [
        *struck("str1", crop="strawberry", count=12, way=Origin.RUNNER),
        *set_out("str1", after(30), ("W1", 12, "str1")),
    ]
    assert told("clone", bed, today=after(31)) == []


def test_plants_held_too_long_are_potted_on_or_given_away() -> None:
    """Rooted but no place free: a holding state with an age, and the place that tires first."""
    tray = rooted_tray("tom9")
    assert told("fit to set out", tray, today=after(30)) == []
    (remark,) = told("fit to set out", tray, today=after(40))
    assert remark == (
        "tom9 in T1 (4 plants) has been fit to set out for 20 days: pot on, set out or give away"
    )
    full = [entry for n in range(1, 7) for entry in bearing(f"tom{n}", f"B{n}", start=after(n))]
    others = [*FULL[6:], *full]
    (remark,) = told(
        "fit to set out",
        others,
        struck("tom9", after(100)),
        saw("tom9", Stage.ROOTED, after(110)),
        today=after(140),
    )
    assert "; no place is free, tom1 in B1 tires first (" in remark


def test_empty_places_are_told_when_too_few_plants_are_coming() -> None:
    """Place free but nothing rooted: say so beforehand."""
    gap = on(after(2), Pulled(tag="tom1"), Pulled(tag="tom2"))
    assert told("empty", FULL, gap, today=after(3)) == [
        "2 places stand empty (B1 and B2); 0 plants coming on to fill 2"
    ]
    one = struck("tom9", after(2), count=1)
    assert told("empty", FULL, gap, one, today=after(3)) == [
        "2 places stand empty (B1 and B2); 1 plant coming on to fill 2"
    ]
    enough = struck("tom9", after(2), count=2)
    assert told("empty", FULL, gap, enough, today=after(3)) == []


def test_what_stands_on_the_water_of_a_diseased_crop_is_looked_over() -> None:
    """Sisters on the same line are flagged until the place is clean."""
    ill = on(after(2), Pulled(tag="tom1", why="disease"))
    (remark,) = told("disease", FULL, ill, today=after(3))
    assert remark == (
        "disease in B1 on Wed 4 Mar: look over tom2, tom3, tom4 and 6 more on its water"
    )
    clean = on(after(4), Tended(places=("B1",), care=Care.DISINFECT))
    assert told("disease", FULL, ill, clean, today=after(5)) == []


def test_old_rows_of_cuttings_are_named_and_not_forbidden() -> None:
    """Cuttings of cuttings run down: count generations, suggest fresh stock."""
    row = struck("tom1", count=1)
    for n in range(2, 20):
        row += struck(f"tom{n}", count=1, parent=f"tom{n - 1}")
    (remark,) = told("fresh stock", row, today=after(1))
    assert "tom19 (19)" in remark or "more" in remark
    assert told("fresh stock", row[:2], today=after(1)) == []


def test_a_batch_that_was_given_away_is_no_clone_at_risk() -> None:
    """What is gone is gone; remarks are about what lives."""
    days = [*struck("tom1"), *on(after(3), Lost(tag="tom1", count=4, why="given"))]
    assert told("clone", days, today=after(4)) == []


def test_work_on_the_house_breaks_the_silence() -> None:
    """Any entry says that somebody was there."""
    walk = on(after(20), Done(duty="scout", subjects=(subject(SubjectKind.HOUSE, "north"),)))
    assert told("nothing written", FULL, walk, sown("let1", after(20)), today=after(22)) == []
