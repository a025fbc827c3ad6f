"""Situations 1 to 18: cuttings, trays, mothers and clones, as a grower meets them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

import pytest

from cropplan.holding.entry import Entry, Lost, Marked, Named, Pulled
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.span import Basis
from cropplan.holding.task import State
from cropplan.problems import Refusal
from cropplan.schedule.backward import begin_by
from cropplan.schedule.climate import weather_of
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.remarks import remarks
from tests.asking import asked, surely
from tests.builders import (
    HOUSE,
    START,
    after,
    bare_house,
    bearing,
    bought,
    held,
    on,
    saw,
    seen_from,
    set_out,
    standing,
    struck,
)


def told(*days: Iterable[Entry], today: date) -> str:
    """The remarks of a day, as one text."""
    return "\n".join(remarks(seen_from(bare_house(), *days, today=today), "north"))


def test_situation_01_one_cutting_fails() -> None:
    """Situation 1: the count falls, the loss keeps its reason and day, the tray goes on."""
    tray = [*struck("tom1"), *on(after(6), Lost(tag="tom1", count=1, why="stem rot"))]
    planting = held(bare_house(), tray).plantings["tom1"]
    assert (planting.count, planting.lost, planting.alive) == (3, 1, True)
    assert surely("check-roots", "tom1", tray, today=after(7)).plants == 3


def test_situation_02_a_whole_tray_fails() -> None:
    """Situation 2: the tray is closed, and the old plant it was to follow wants cuttings again."""
    old, tray = bearing(), struck("tom2", after(200), count=3, parent="tom1")
    lost = on(after(206), Lost(tag="tom2", count=3, why="dried out"))
    assert asked("strike", "tom1", old, tray, today=after(205)) is None
    again = surely("strike", "tom1", old, tray, lost, today=after(206))
    assert again.why.startswith("tom1 tires about ")
    assert again.latest > again.due
    for duty in ("check-roots", "set-out", "mist-cuttings"):
        assert asked(duty, "tom2", old, tray, lost, today=after(206)) is None
    barred = on(after(206), Marked(tag="tom1", barred_why="mosaic"))
    no_mother = surely("strike", "tom1", old, tray, lost, barred, today=after(206))
    assert no_mother.why.endswith("sow, buy in, or keep tom1 on")
    too_late = surely("strike", "tom1", old, tray, lost, today=again.latest + timedelta(days=9))
    assert "begun today it comes " in too_late.why


def test_situation_03_a_tray_is_slower_than_expected() -> None:
    """Situation 3: asked about after its day, never moved by itself, and the rest moves with it."""
    tray = struck("tom1")
    first = surely("check-roots", "tom1", tray, today=START)
    overdue = surely("check-roots", "tom1", tray, today=first.due + timedelta(days=6))
    assert overdue.key == first.key
    assert overdue.why.endswith("6 days past the likely day")
    late = seen_from(bare_house(), tray, today=first.due + timedelta(days=6))
    assert late.holding.plantings["tom1"].stage is Stage.STRUCK
    in_time = seen_from(bare_house(), tray, today=START)
    for stage in (Stage.SET_OUT, Stage.FRUITING):
        slower, usual = (s.timelines["tom1"].likely(stage) for s in (late, in_time))
        assert slower is not None
        assert usual is not None
        assert slower > usual


def test_situation_04_a_tray_is_quicker_than_expected() -> None:
    """Situation 4: what was seen is taken as it is, and what follows comes sooner."""
    quick = [*struck("tom1"), *saw("tom1", Stage.ROOTED, after(5))]
    usual = seen_from(bare_house(), struck("tom1"), today=after(5)).timelines["tom1"]
    seen = seen_from(bare_house(), quick, today=after(5)).timelines["tom1"]
    assert seen.dates[Stage.ROOTED].basis is Basis.SEEN
    assert seen.dates[Stage.SET_OUT].likely < usual.dates[Stage.SET_OUT].likely
    assert asked("check-roots", "tom1", quick, today=after(5)) is None
    assert surely("set-out", "tom1", quick, today=after(5)).state is State.COMING


def test_situation_05_rooted_plants_have_no_place_to_go() -> None:
    """Situation 5: held too long, they are named with the place that is the first to empty."""
    full = [e for n in range(1, 7) for e in bearing(f"tom{n}", f"B{n}", start=after(n))]
    others = [
        *(e for n in (1, 2, 3) for e in standing(f"str{n}", f"C{n}", crop="strawberry")),
        *standing("bas1", "W1", crop="basil", stage=Stage.PICKING, count=20),
    ]
    tray = [*struck("tom9", after(100), parent="tom1"), *saw("tom9", Stage.ROOTED, after(110))]
    fit = surely("set-out", "tom9", full, others, tray, today=after(121))
    assert fit.why.startswith("fit to set out")
    assert "pot on, set out or give away" not in told(full, others, tray, today=after(125))
    crowded = told(full, others, tray, today=after(145))
    assert "tom9 in T1 (4 plants) has been fit to set out for" in crowded
    assert "no place is free, tom1 in B1 tires first" in crowded


def test_situation_06_a_place_is_free_and_nothing_is_rooted() -> None:
    """Situation 6: the strike was asked for weeks before, and the empty place is named."""
    old = bearing()
    ends = seen_from(bare_house(), old, today=after(90)).timelines["tom1"].likely(Stage.SPENT)
    assert ends is not None
    assert surely("strike", "tom1", old, today=after(90)).due < ends - timedelta(weeks=6)
    assert "B2" in told(old, today=after(91))
    assert "0 plants coming on" in told(old, today=after(91))


def test_situation_07_a_mother_dies() -> None:
    """Situation 7: her cuttings live on with their line; other plants of the clone take over."""
    family = [
        *bearing("tom1", "B1"),
        *bearing("tom2", "B2", parent="tom1", start=after(3)),
        *on(after(120), Pulled(tag="tom1", why="rogue")),
    ]
    holding = held(bare_house(), family)
    child = holding.plantings["tom2"]
    assert (child.alive, child.parent, child.clone) == (True, "tom1", "tom1")
    strike = surely("strike", "tom2", family, today=after(121))
    assert strike.why.endswith("; from tom2")
    made_up = surely("strike", "tom1", family, today=after(121))
    assert made_up.why.startswith("tom1 was pulled on Tue 30 Jun (rogue), none follows it")
    assert made_up.why.endswith("; from tom2")
    with pytest.raises(Refusal, match="tom1 is gone"):
        held(bare_house(), family, struck("tom3", after(121), parent="tom1"))


def test_situation_08_the_last_plant_of_a_clone() -> None:
    """Situation 8: it is named at once and every Monday, and never pulled without a word."""
    last = bearing(cultivar="Ruby")
    assert "tom1 in B1 is the last plant of its clone 'Ruby'" in told(last, today=after(91))
    assert "the last of its clone (1 plant): take cuttings first" in (
        surely("pull", "tom1", last, today=after(90)).why
    )
    saved = struck("tom2", after(91), parent="tom1")
    assert "clone" not in told(last, saved, today=after(92))
    only_a_tray = on(after(93), Pulled(tag="tom1"))
    assert "tom2 in T1 (4 plants) is all there is of its clone 'Ruby'" in (
        told(last, saved, only_a_tray, today=after(94))
    )


def test_situation_09_a_mother_is_old_or_many_cuttings_from_the_first() -> None:
    """Situation 9: generations are counted and fresh stock is suggested; nothing is forbidden."""
    row: list[Entry] = struck("tom1", count=1)
    for n in range(2, 9):
        row += struck(f"tom{n}", count=1, parent=f"tom{n - 1}")
    holding = held(bare_house(), row)
    assert [p.generation for p in holding.plantings.values()] == list(range(1, 9))
    assert "many cuttings from fresh stock" in told(row, today=after(1))
    assert held(bare_house(), row, struck("tom9", count=1, parent="tom8")).plantings["tom9"].alive


def test_situation_10_a_mother_is_sick_when_cuttings_are_due() -> None:
    """Situation 10: marked as not to be taken from, she is left out and another is proposed."""
    two = [*bearing("tom1", "B1"), *bearing("tom2", "B2", parent="tom1", start=after(3))]
    barred = on(after(90), Marked(tag="tom1", barred_why="mosaic"))
    assert surely("strike", "tom1", two, today=after(91)).why.endswith("; from tom1 and tom2")
    assert surely("strike", "tom1", two, barred, today=after(91)).why.endswith("; from tom2")


def test_situation_11_nobody_knows_how_old_a_plant_is() -> None:
    """Situation 11: its age waits for something seen; until then it is judged by eye."""
    old = standing("tom1")
    day = seen_from(bare_house(), old, today=after(30))
    assert day.timelines["tom1"].dates == {}
    assert surely("judge-age", "tom1", old, today=after(30)).why == "never written as done"
    for duty in ("strike", "pull", "top"):
        assert asked(duty, "tom1", old, today=after(30)) is None
    tired = saw("tom1", Stage.SPENT, after(31))
    assert surely("pull", "tom1", old, tired, today=after(31)).state is State.TODAY
    about = struck("tom2", count=1, place="B2", give=15)
    wide = seen_from(bare_house(), about, today=START).timelines["tom2"]
    assert wide.dates[Stage.STRUCK].earliest == after(-15)


def test_situation_12_a_plant_is_bought() -> None:
    """Situation 12: no mother, a time apart, and the same life from then on."""
    days = bought("tom1")
    planting = held(bare_house(), days).plantings["tom1"]
    assert (planting.parent, planting.generation) == (None, 0)
    assert surely("quarantine", "tom1", days, today=after(7)).state is State.TODAY
    assert surely("set-out", "tom1", days, today=after(7)).due == after(7)
    placed = [*days, *set_out("tom1", after(8), ("B1", 1, "tom1"))]
    assert asked("quarantine", "tom1", placed, today=after(9)) is None
    assert surely("first-flower", "tom1", placed, today=after(9)).state is State.COMING


def test_situation_13_a_cutting_is_taken_from_a_cutting() -> None:
    """Situation 13: a tray may itself be a mother; the line goes on from it."""
    holding = held(bare_house(), struck("tom1"), struck("tom2", after(12), parent="tom1"))
    assert (holding.plantings["tom2"].clone, holding.plantings["tom2"].generation) == ("tom1", 2)
    assert holding.plantings["tom1"].count == 4


def test_situation_14_a_tray_is_split_over_weeks() -> None:
    """Situation 14: five today, four next week, three given away; nothing is lost count of."""
    days = [
        *struck("tom1", count=12),
        *saw("tom1", Stage.ROOTED, after(10)),
        *set_out("tom1", after(20), ("W1", 5, "tom2")),
        *set_out("tom1", after(27), ("W1", 4, "tom3")),
        *on(after(28), Lost(tag="tom1", count=3, why="given")),
    ]
    holding = held(bare_house(), days)
    tray = holding.plantings["tom1"]
    assert (tray.count, tray.split_off, tray.left, tray.lost, tray.alive) == (0, 9, 3, 0, False)
    parts = [holding.plantings[tag] for tag in ("tom2", "tom3")]
    assert [(p.count, p.split_of, p.seen[Stage.STRUCK]) for p in parts] == [
        (5, "tom1", START),
        (4, "tom1", START),
    ]


def test_situation_15_a_tray_was_wrongly_labelled() -> None:
    """Situation 15: not sure is an answer; one act later names the whole line."""
    days = [
        *struck("tom1"),
        *struck("tom2", after(12), parent="tom1"),
        *set_out("tom1", after(20), ("B1", 1, "tom3")),
    ]
    assert {p.cultivar for p in held(bare_house(), days).plantings.values()} == {None}
    named = on(after(90), Named(tags=("tom1", "tom2", "tom3"), cultivar="Amber"))
    assert {p.cultivar for p in held(bare_house(), days, named).plantings.values()} == {"Amber"}


def test_situation_16_a_runner_is_still_on_its_mother() -> None:
    """Situation 16: pegged, it roots from that day; the mother goes on as she was."""
    mother = [
        *struck("str1", crop="strawberry", count=1, way=Origin.RUNNER),
        *set_out("str1", after(30), ("C1", 1, "str1")),
    ]
    pegged = struck("str2", after(90), crop="strawberry", way=Origin.RUNNER, parent="str1")
    day = seen_from(bare_house(), mother, pegged, today=after(91))
    assert day.holding.plantings["str1"].count == 1
    rooted = day.timelines["str2"].dates[Stage.ROOTED]
    assert after(91) < rooted.likely < after(90 + 60)
    assert surely("check-roots", "str2", mother, pegged, today=after(91)).due > after(91)


def test_situation_17_shoots_appear_only_when_plants_are_pruned() -> None:
    """Situation 17: a strike may be done a week before its day, and stays open after it."""
    old = bearing()
    strike = surely("strike", "tom1", old, today=after(90))
    assert strike.earliest == strike.due - timedelta(days=7)
    early = struck("tom2", strike.earliest, count=2, parent="tom1")
    assert asked("strike", "tom1", old, early, today=strike.earliest) is None
    for days in (0, 5, 40):
        later = surely("strike", "tom1", old, today=strike.due + timedelta(days=days))
        assert later.key == strike.key


def test_situation_18_cuttings_are_due_in_the_dark_weeks() -> None:
    """Situation 18: counted back through the dark weeks, the day comes earlier than in summer."""
    day = seen_from(bare_house(), bearing(), today=after(90))
    tomato, weather = day.catalogue.crops["tomato"], weather_of(HOUSE)
    waits = {}
    for pick in (date(2027, 2, 20), date(2027, 8, 20)):
        begun = begin_by(tomato, Origin.CUTTING, pick, weather, Lessons())
        assert begun is not None
        waits[pick.month] = (pick - begun).days
    assert waits[2] >= waits[8] + 7
