"""Timelines: seen days stand, what is waited for never lies in the past, cuts end a crop sooner."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

import pytest

from cropplan.catalogue.model import Crop
from cropplan.catalogue.read import read_catalogue
from cropplan.growth.chance import Spread
from cropplan.holding.entry import Entry, Picked
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.span import Basis, Dated
from cropplan.schedule.backward import begin_by, first_pick
from cropplan.schedule.climate import weather_of
from cropplan.schedule.lengths import bearing_stage, steps_from
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.timeline import QUARANTINE, Timeline, timeline_of
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
    scene,
    set_out,
    sown,
    standing,
    struck,
)

CROPS = read_catalogue().crops
USUAL = weather_of(HOUSE)
NO_LESSONS = Lessons()


def timeline(*days: Iterable[Entry], today: date, tag: str = "tom1") -> Timeline:
    """The life of one planting as of a day."""
    return scene(held(bare_house(), *days), today).timelines[tag]


def test_what_was_seen_stands() -> None:
    """Seen beats predicted (design §4.4)."""
    dates = timeline(bearing(), today=after(100)).dates
    for stage, day in (
        (Stage.STRUCK, START),
        (Stage.ROOTED, after(10)),
        (Stage.SET_OUT, after(20)),
        (Stage.FLOWERING, after(34)),
        (Stage.FRUITING, after(84)),
    ):
        assert (dates[stage].likely, dates[stage].basis) == (day, Basis.SEEN)
    assert dates[Stage.SPENT].basis is Basis.PREDICTED


def test_a_fresh_cutting_has_its_whole_life_before_it() -> None:
    """Each stage is predicted from the one before, in order."""
    dates = timeline(struck("tom1"), today=START).dates
    in_order = [
        dates[stage].likely
        for stage in (
            Stage.STRUCK,
            Stage.ROOTED,
            Stage.SET_OUT,
            Stage.FLOWERING,
            Stage.FRUITING,
            Stage.SPENT,
        )
    ]
    assert in_order == sorted(in_order)
    assert len(set(in_order)) == 6


@pytest.mark.parametrize("days_late", [0, 1, 9, 60])
def test_the_stage_waited_for_never_lies_in_the_past(days_late: int) -> None:
    """An overdue stage is predicted given that it has not happened yet."""
    first = timeline(struck("tom1"), today=START).dates[Stage.ROOTED].likely
    today = first + timedelta(days=days_late)
    told = timeline(struck("tom1"), today=today)
    assert told.dates[Stage.ROOTED].earliest > today
    assert told.first_guess[Stage.ROOTED].likely == first


def test_a_stage_that_will_hardly_come_any_more_is_still_looked_for() -> None:
    """Years overdue it has no likely day, but the day from which to look stays."""
    told = timeline(struck("tom1"), today=after(500))
    assert Stage.ROOTED not in told.dates
    assert told.first_guess[Stage.ROOTED].likely < after(30)


def test_an_overdue_stage_pushes_what_follows() -> None:
    """A batch slower than the catalogue moves the dates after it."""
    usual = timeline(struck("tom1"), today=START).dates
    late = timeline(struck("tom1"), today=after(40)).dates
    for stage in (Stage.SET_OUT, Stage.FLOWERING, Stage.FRUITING):
        assert late[stage].likely > usual[stage].likely


def test_an_early_flower_dates_the_first_pick_anew() -> None:
    """The first pick is counted from the flower that was seen, not from the planting."""
    days = [*struck("tom1", count=1), *set_out("tom1", after(20), ("B1", 1, "tom1"))]
    expected = timeline(days, today=after(21)).dates[Stage.FRUITING].likely
    seen = timeline(days, saw("tom1", Stage.FLOWERING, after(22)), today=after(22))
    assert seen.dates[Stage.FRUITING].likely < expected


def test_where_only_the_whole_way_to_the_fruit_is_known_the_flower_still_tells() -> None:
    """A source may give planting to pick in one sum; a flower that is seen is better than that."""
    pepper = CROPS["pepper"]
    whole = replace(
        pepper, values={k: v for k, v in pepper.values.items() if k != "set_out_to_flower"}
    )
    days = [
        *struck("pep1", crop="pepper", count=1),
        *set_out("pep1", after(20), ("B1", 1, "pep1")),
    ]
    before = held(bare_house(), days).plantings["pep1"]
    flowering = held(bare_house(), days, saw("pep1", Stage.FLOWERING, after(22)))
    planted = timeline_of(before, whole, USUAL, after(22)).dates[Stage.FRUITING].likely
    seen = timeline_of(flowering.plantings["pep1"], whole, USUAL, after(22))
    assert planted == after(20 + 98)
    assert seen.dates[Stage.FRUITING].likely == after(22 + 55)


def test_an_approximate_beginning_widens_what_follows() -> None:
    """`about 2 March, give or take 14 days` is a beginning of 14 days to either side."""
    about = struck("tom1", count=1, give=14)
    told = timeline(about, today=START)
    exact = timeline(struck("tom1", count=1), today=START)
    assert (told.dates[Stage.STRUCK].earliest, told.dates[Stage.STRUCK].latest) == (
        after(-14),
        after(14),
    )
    spans = [t.first_guess[Stage.ROOTED] for t in (told, exact)]
    assert spans[0].latest - spans[0].earliest > spans[1].latest - spans[1].earliest


def test_a_plant_of_unknown_age_is_not_dated() -> None:
    """Age-based dates wait for an anchor such as the first flower; none is invented."""
    assert timeline(standing("tom1"), today=after(9)).dates == {}
    anchored = timeline(
        standing("tom1", stage=Stage.SET_OUT),
        saw("tom1", Stage.FLOWERING, after(9)),
        today=after(9),
    )
    assert anchored.dates[Stage.FLOWERING].basis is Basis.SEEN
    assert anchored.dates[Stage.FRUITING].basis is Basis.PREDICTED


def test_a_skipped_stage_is_neither_predicted_nor_waited_for() -> None:
    """Flowering seen on plants whose rooting nobody wrote leaves no rooting to come."""
    told = timeline(struck("tom1"), saw("tom1", Stage.FLOWERING, after(40)), today=after(41))
    assert Stage.ROOTED not in told.dates
    assert Stage.SET_OUT not in told.dates


def test_bought_plants_stand_apart_before_they_are_set_out() -> None:
    """Quarantine: a week usually, two at most; overdue, it is today."""
    told = timeline(bought("tom1"), today=after(1))
    assert told.dates[Stage.SET_OUT].likely == after(QUARANTINE[1])
    assert timeline(bought("tom1"), today=after(30)).dates[Stage.SET_OUT].likely == after(30)
    assert told.dates[Stage.FLOWERING].likely > after(QUARANTINE[1])


def test_a_crop_that_regrows_ends_by_its_cuts() -> None:
    """It ends by the number of cuts, not by the first pick; each cut brings the end nearer."""
    basil = CROPS["basil"]
    young = replace(basil, values={k: v for k, v in basil.values.items() if k != "picking_life"})
    cuts, apart = basil.values["cuts"].typical, basil.values["pick_interval"].typical

    def spent(*picks: date, today: date) -> Dated:
        holding = held(
            bare_house(),
            struck("bas1", crop="basil"),
            set_out("bas1", after(20), ("W1", 4, "bas1")),
            saw("bas1", Stage.PICKING, after(45)),
            *(on(day, Picked(tag="bas1")) for day in picks),
        )
        return timeline_of(holding.plantings["bas1"], young, USUAL, today).dates[Stage.SPENT]

    fresh = spent(today=after(45))
    assert fresh.likely == after(45 + round(cuts * apart))
    assert fresh.earliest <= fresh.likely <= fresh.latest
    for today in (after(53), after(60)):
        cut_twice = spent(after(45), after(52), today=today)
        assert cut_twice.likely == after(52 + round((cuts - 2) * apart))


def test_a_plant_that_came_back_is_not_spent() -> None:
    """What was seen tired and bears again has its end before it, as reckoned from its age."""
    back = timeline(
        bearing(),
        saw("tom1", Stage.SPENT, after(150)),
        saw("tom1", Stage.FRUITING, after(170)),
        today=after(171),
    )
    assert back.dates[Stage.SPENT].basis is Basis.PREDICTED


def test_what_the_house_has_taught_moves_the_guess() -> None:
    """Lessons of this house are ratios to the catalogue's days."""
    slow = Spread(median=1.5, below=0.1, above=0.1, df=20.0)
    lessons = Lessons(spreads={("tomato", "cutting_days_to_root"): slow})
    plantings = held(bare_house(), struck("tom1"))
    usual = scene(plantings, START).timelines["tom1"].likely(Stage.ROOTED)
    taught = scene(plantings, START, lessons=lessons).timelines["tom1"].likely(Stage.ROOTED)
    assert usual is not None
    assert taught is not None
    assert taught > usual


@pytest.mark.parametrize("crop", CROPS.values(), ids=list(CROPS))
def test_every_crop_of_the_catalogue_can_be_counted_back_by_its_usual_ways(crop: Crop) -> None:
    """A cutting date is computed from the wanted first pick through every stage (design §4.7)."""
    pick = date(2027, 6, 30)
    for way in crop.ways:
        begun = begin_by(crop, way, pick, USUAL, NO_LESSONS)
        assert begun is not None, way
        told = first_pick(crop, way, begun, USUAL, NO_LESSONS)
        assert told is not None
        assert told.likely <= pick
        next_day = first_pick(crop, way, begun + timedelta(days=1), USUAL, NO_LESSONS)
        assert next_day is not None
        assert next_day.likely > pick - timedelta(days=2)


@pytest.mark.parametrize("crop", CROPS.values(), ids=list(CROPS))
def test_every_crop_has_an_end_and_bears_in_its_own_stage(crop: Crop) -> None:
    """The relay needs the end of picking, and duties need the stage in which it is picked."""
    steps = steps_from(crop, crop.ways[0])
    assert steps[-1][:2] == (bearing_stage(crop), Stage.SPENT)


def test_a_stage_without_a_figure_is_not_counted_as_no_time_at_all() -> None:
    """A date that leaves a stage out would come too late; there is none instead."""
    tomato = CROPS["tomato"]
    for key in ("cutting_days_to_root", "rooted_to_ready", "flower_to_pick"):
        lacking = replace(tomato, values={k: v for k, v in tomato.values.items() if k != key})
        assert begin_by(lacking, Origin.CUTTING, after(300), USUAL, NO_LESSONS) is None
        assert first_pick(lacking, Origin.CUTTING, START, USUAL, NO_LESSONS) is None


def test_seed_takes_its_own_way() -> None:
    """What is sown emerges; it is not waited for as rooted."""
    dates = timeline(sown("let1"), today=START, tag="let1").dates
    assert Stage.EMERGED in dates
    assert Stage.ROOTED not in dates
