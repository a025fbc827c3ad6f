"""The relay: strikes counted back from the pick, successors, mothers, tops and pulls."""

from __future__ import annotations

from datetime import timedelta

import pytest

from cropplan.growth.rooting import Success
from cropplan.holding.entry import DutySet, Lost, Marked, Pulled, Skipped
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.span import Basis
from cropplan.holding.task import State
from cropplan.schedule.backward import begin_by, first_pick
from cropplan.schedule.clones import is_last_of_clone, kin_of, mothers_for
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.relay import to_begin
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
    scene,
    seen_from,
    set_out,
    sown,
    standing,
    struck,
)


def not_needed(duty: str) -> Skipped:
    """A turn with tom1 was looked at and found not needed."""
    return Skipped(duty=duty, subjects=(about("tom1"),), why="enough", not_needed=True)


OLD = bearing()
ENDS = seen_from(bare_house(), OLD, today=after(90)).timelines["tom1"].dates[Stage.SPENT]


def test_the_strike_is_counted_back_from_the_pick() -> None:
    """Its last day is that from which the first pick comes when the old plant tires (§4.7)."""
    strike = surely("strike", "tom1", OLD, today=after(90))
    day = seen_from(bare_house(), OLD, today=after(90))
    crop = day.catalogue.crops["tomato"]
    overlap = timedelta(days=round(crop.values["overlap"].typical))
    last = begin_by(crop, Origin.CUTTING, ENDS.likely - overlap, day.weathers["north"], day.lessons)
    assert strike.latest == last
    assert last is not None
    assert (strike.due, strike.earliest) == (last - timedelta(days=7), last - timedelta(days=14))
    assert strike.basis is Basis.PREDICTED
    assert strike.why.startswith("tom1 tires about ")
    assert strike.why.endswith("; from tom1")


def test_more_are_struck_than_wanted_for_a_share_fails() -> None:
    """The smallest number of which one roots nine times in ten."""
    strike = surely("strike", "tom1", OLD, today=after(90))
    day = seen_from(bare_house(), OLD, today=after(90))
    crop = day.catalogue.crops["tomato"]
    assert strike.plants == to_begin(crop, Origin.CUTTING, 1, Lessons())
    doubtful = Lessons(successes={("tomato", "cutting_success"): Success(rooted=4, failed=6)})
    assert to_begin(crop, Origin.CUTTING, 1, doubtful) > strike.plants
    assert to_begin(crop, Origin.LAYER, 3, Lessons()) == 3


def test_enough_on_the_way_close_the_strike_and_losses_open_it_again() -> None:
    """The key stays the same, so that a calendar shows the same work again."""
    wanted = surely("strike", "tom1", OLD, today=after(90))
    tray = struck("tom2", after(91), count=2, parent="tom1")
    assert asked("strike", "tom1", OLD, tray, today=after(92)) is None
    failed = on(after(95), Lost(tag="tom2", count=2, why="rot"))
    again = surely("strike", "tom1", OLD, tray, failed, today=after(96))
    assert again.key == wanted.key


def test_a_few_lost_of_many_leave_the_strike_closed() -> None:
    """One of four lost is no reason to strike again for one plant."""
    tray = struck("tom2", after(91), count=4, parent="tom1")
    lost = on(after(95), Lost(tag="tom2", count=1))
    assert asked("strike", "tom1", OLD, tray, lost, today=after(96)) is None


def test_successors_go_to_the_plants_that_tire_first() -> None:
    """Two old plants and one on the way: the later of the two still wants one."""
    later = bearing("tom2", "B2", start=after(20))
    tray = struck("tom3", after(105), count=1, parent="tom1")
    rooted = saw("tom3", Stage.ROOTED, after(117))
    days = [*OLD, *later, *tray, *rooted]
    assert asked("strike", "tom1", days, today=after(118)) is None
    assert asked("strike", "tom2", days, today=after(118)) is not None


def test_successors_are_of_the_same_kind_where_kinds_are_known() -> None:
    """Cherry tomatoes do not follow beefsteaks; what has no name may follow either."""
    ruby = bearing("tom1", "B1", cultivar="Ruby")
    other = struck("tom2", after(91), count=2, cultivar="Amber")
    nameless = struck("tom2", after(91), count=2)
    assert asked("strike", "tom1", ruby, other, today=after(92)) is not None
    assert asked("strike", "tom1", ruby, nameless, today=after(92)) is None
    assert asked("strike", "tom1", OLD, other, today=after(92)) is None


def test_a_strike_that_was_answered_takes_no_successors() -> None:
    """A plant that is not to be replaced leaves the young ones to the others."""
    later = bearing("tom2", "B2", start=after(20))
    young = [*struck("tom3", after(105), count=1), *saw("tom3", Stage.ROOTED, after(117))]
    no = on(after(106), not_needed("strike"))
    assert asked("strike", "tom2", OLD, later, young, no, today=after(118)) is None
    assert asked("strike", "tom1", OLD, later, young, no, today=after(118)) is None


@pytest.mark.parametrize("duty", ["strike", "top", "pull"])
def test_work_done_once_comes_back_when_it_was_only_skipped(duty: str) -> None:
    """Skipping is not doing: a week after its day it is asked about again."""
    before = surely(duty, "tom1", OLD, today=after(90))
    skip = Skipped(duty=duty, subjects=(about("tom1"),), why="no time")
    again = surely(duty, "tom1", OLD, on(before.due, skip), today=before.due)
    assert (again.due, again.key.turn) == (before.due + timedelta(days=7), 2)
    assert "(no time)" in again.why
    early = surely(duty, "tom1", OLD, on(after(91), skip), today=after(91))
    assert early.due == again.due


def test_a_pull_that_was_not_needed_is_asked_for_once_the_plant_is_spent() -> None:
    """Kept on for its looks, and then seen to be over."""
    kept = on(after(120), not_needed("pull"))
    assert asked("pull", "tom1", OLD, kept, today=after(121)) is None
    spent = saw("tom1", Stage.SPENT, after(150))
    assert surely("pull", "tom1", OLD, kept, spent, today=after(150)).due == after(150)


def test_houses_are_replaced_each_from_its_own() -> None:
    """Plants on the way in one house do not stand in for those of another."""
    south = struck("tom2", after(91), count=4, place="ST1")
    assert asked("strike", "tom1", OLD, south, today=after(92)) is not None


def test_the_growers_own_days_to_spare_are_kept() -> None:
    """Their own interval for striking is the slack before the last day."""
    own = on(after(90), DutySet(duty="strike", every_days=21))
    strike = surely("strike", "tom1", OLD, own, today=after(90))
    assert strike.latest - strike.due == timedelta(days=21)


def test_a_strike_past_its_last_day_says_when_one_begun_today_would_bear() -> None:
    """Late is told with what it costs: the first pick of a strike today."""
    strike = surely("strike", "tom1", OLD, today=after(90))
    too_late = strike.latest + timedelta(days=20)
    late = surely("strike", "tom1", OLD, today=too_late)
    day = seen_from(bare_house(), OLD, today=too_late)
    crop = day.catalogue.crops["tomato"]
    told = first_pick(crop, Origin.CUTTING, too_late, day.weathers["north"], day.lessons)
    assert told is not None
    assert late.state is State.LATE
    assert "; begun today it comes " in late.why
    assert f"{told.likely.day} " in late.why.split("it comes ")[1]


def test_a_seen_end_brings_the_strike_forward() -> None:
    """Tired before its time, it wants its successor now."""
    spent = saw("tom1", Stage.SPENT, after(120))
    strike = surely("strike", "tom1", OLD, spent, today=after(120))
    assert strike.state is State.LATE
    assert strike.due < after(120)


def test_barred_plants_are_not_taken_from_and_others_are_named() -> None:
    """`Not from this one` by tag; another of the same clone is proposed."""
    sister = bearing("tom2", "B2", parent="tom1", start=after(5))
    barred = on(after(90), Marked(tag="tom1", barred_why="mosaic"))
    assert surely("strike", "tom1", OLD, sister, barred, today=after(91)).why.endswith(
        "; from tom2"
    )
    alone = surely("strike", "tom1", OLD, barred, today=after(91)).why
    assert alone.endswith("no plant is fit to take from: sow, buy in, or keep tom1 on")


def test_mothers_are_the_chosen_ones_first_and_the_tired_last() -> None:
    """Old stock gives poor shoots; young rows of few cuttings give better ones."""
    holding = held(
        bare_house(),
        bearing("tom1", "B1"),
        bearing("tom2", "B2", parent="tom1", start=after(5)),
        bearing("tom3", "B3", parent="tom2", start=after(10)),
        bearing("tom4", "B4", parent="tom1", start=after(6)),
        struck("tom5", after(100), parent="tom1"),
        set_out("tom5", after(119), ("W1", 2, "tom6")),
        saw("tom4", Stage.SPENT, after(110)),
        on(after(110), Marked(tag="tom3", mother=True)),
    )
    living = [p for p in holding.plantings.values() if p.alive]
    crop = scene(holding, after(120)).catalogue.crops["tomato"]
    mothers = mothers_for(holding.plantings["tom1"], crop, living, after(120))
    assert [p.tag for p in mothers] == ["tom3", "tom1", "tom2", "tom4"]


def test_kin_are_those_of_the_clone_and_of_the_name() -> None:
    """A clone bought twice under one name is one clone to the grower."""
    holding = held(
        bare_house(),
        struck("tom1", cultivar="Ruby"),
        struck("tom2", parent="tom1"),
        struck("tom3", cultivar="Ruby", place="T2"),
        struck("tom4", cultivar="Amber", place="T2"),
        sown("tom5", crop="tomato", place="T2"),
    )
    living = list(holding.plantings.values())
    by_tag = holding.plantings
    assert [p.tag for p in kin_of(by_tag["tom1"], living)] == ["tom2", "tom3"]
    assert is_last_of_clone(by_tag["tom4"], living)
    assert not is_last_of_clone(by_tag["tom1"], living)
    assert not is_last_of_clone(by_tag["tom5"], living)


def test_a_top_is_counted_back_from_the_end() -> None:
    """The last truss needs its weeks: stop the plant so long before its end."""
    top = surely("top", "tom1", OLD, today=after(90))
    assert top.due == ENDS.likely - timedelta(days=46)
    assert "the last fruit needs 46 days" in top.why
    assert asked("top", "tom1", OLD, on(after(91), not_needed("top")), today=after(92)) is None


def test_a_pull_is_due_when_the_plant_tires_or_was_seen_spent() -> None:
    """Predicted with its span; certain once it was seen."""
    pull = surely("pull", "tom1", OLD, today=after(90))
    assert (pull.due, pull.basis) == (ENDS.likely, Basis.PREDICTED)
    seen = surely("pull", "tom1", OLD, saw("tom1", Stage.SPENT, after(120)), today=after(120))
    assert (seen.due, seen.basis, seen.state) == (after(120), Basis.SEEN, State.TODAY)
    assert seen.why.startswith("seen spent on 30 Jun")
    assert seen.latest == after(127)


def test_the_last_of_a_clone_is_never_pulled_without_a_word() -> None:
    """Warn when only one living plant of a clone is left, in whatever house its kin stand."""
    alone = surely("pull", "tom1", OLD, today=after(90)).why
    assert alone.endswith("the last of its clone (1 plant): take cuttings first")
    elsewhere = struck("tom2", after(80), count=1, place="ST1", parent="tom1")
    assert "clone" not in surely("pull", "tom1", OLD, elsewhere, today=after(90)).why


def test_pulled_plants_ask_for_nothing() -> None:
    """Pending tasks vanish at once; making up for it is another matter."""
    gone = on(after(91), Pulled(tag="tom1", why="space"))
    for duty in ("top", "pull", "pick", "pollinate"):
        assert asked(duty, "tom1", OLD, gone, today=after(91)) is None


@pytest.mark.parametrize("stage", [Stage.SET_OUT, Stage.FLOWERING])
def test_plants_that_do_not_bear_yet_want_no_successor(stage: Stage) -> None:
    """Their end is too far off to be counted back from."""
    days = [*struck("tom1", count=1), *set_out("tom1", after(20), ("B1", 1, "tom1"))]
    if stage is Stage.FLOWERING:
        days += saw("tom1", Stage.FLOWERING, after(34))
    assert asked("strike", "tom1", days, today=after(40)) is None


def test_a_crop_that_is_sown_is_sown_again() -> None:
    """The usual way of the crop gives the words: lettuces are sown, not struck."""
    old = [
        *sown("let1", count=6),
        *set_out("let1", after(40), ("W1", 6, "let1")),
        *saw("let1", Stage.PICKING, after(70)),
    ]
    strike = surely("strike", "let1", old, today=after(71))
    assert strike.job.startswith("Sow ")
    assert "from" not in strike.why.split("; ")[-1]


def test_age_unknown_leaves_the_end_unknown() -> None:
    """No strike is counted back from a date that nobody knows."""
    assert asked("strike", "tom1", standing("tom1"), today=START) is None
