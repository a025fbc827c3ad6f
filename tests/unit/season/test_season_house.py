"""The house as the planner is told it, and its plan as days again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from cropplan.catalogue.read import read_catalogue
from cropplan.growth.chance import spread_from
from cropplan.holding.entry import Entry, HouseSet, Pulled
from cropplan.holding.holding import Holding
from cropplan.holding.house import Absence
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.season import Goal, PlannedStrike, PlannedWeek, SeasonAccepted, SeasonPlan
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.scene import Scene
from cropplan.season.crop_figures import bearing_on, curve_of, stays_of
from cropplan.season.demand import Standing
from cropplan.season.house import Told, season_of, tag_of_kept
from cropplan.season.in_days import plan_in_days
from cropplan.season.plan import plan_of, startable_options
from cropplan.season.search import exact_search
from tests.builders import (
    HOUSE,
    START,
    after,
    bare_house,
    bearing,
    held,
    on,
    saw,
    scene,
    set_out,
    standing,
    struck,
)

WEEKS = 40
GOAL = Goal(crop="tomato", amount=0.5, first=START, last=after(7 * WEEKS - 1))
STANDS = [
    *bare_house(),
    *bearing("tom1", "B1", start=START - timedelta(days=150)),
    *standing("pep1", "B2", crop="pepper"),
]
CROPS = frozenset({"tomato", "pepper"})


def seen(*days: list[Entry], today: date = START, holding: Holding | None = None) -> Scene:
    """The scene with tomatoes and peppers known."""
    return scene(holding or held(STANDS, *days), today, catalogue=read_catalogue(CROPS))


def told_of(here: Scene, weeks: int = WEEKS) -> Told:
    """The season for half a kilogram of tomatoes a week."""
    return season_of(here, [GOAL], weeks)


def one(told: Told, tag: str) -> Standing:
    """The planting of a tag, as the planner knows it."""
    return next(planting for planting in told.season.standing if planting.tag == tag)


def strike(number: int, day: date, mothers: tuple[str, ...] = ("tom1",)) -> PlannedStrike:
    """Three cuttings struck on a day for two buckets."""
    return PlannedStrike(
        number=number,
        crop="tomato",
        way=Origin.CUTTING,
        on=day,
        count=3,
        plants=2,
        mothers=mothers,
        place="T1",
        places=("B3", "B4"),
        set_out=day + timedelta(days=21),
        first_pick=day + timedelta(days=91),
        last_pick=day + timedelta(days=250),
    )


def in_force(*strikes: PlannedStrike) -> list[Entry]:
    """A plan accepted at the start."""
    week = PlannedWeek(week=START, crop="tomato", goal=0.5, expected=0.5, low=0.4, high=0.6)
    plan = SeasonPlan(made=START, until=after(300), last_number=9, strikes=strikes, weeks=(week,))
    return on(START, SeasonAccepted(plan=plan))


def test_a_crop_without_a_goal_keeps_its_place_to_the_end() -> None:
    """The pepper fades in summer, but another pepper follows it there."""
    told = told_of(seen())
    pepper, tomato = one(told, "pep1"), one(told, "tom1")
    assert (pepper.until, pepper.pull_early) == (WEEKS, False)
    assert tomato.until < WEEKS
    assert tomato.pull_early
    assert told.aimed == {"tomato"}


def test_near_strikes_of_the_plan_in_force_are_kept_and_later_ones_are_not() -> None:
    """Next week's cuttings are as good as struck; those of a month hence are planned anew."""
    near, far = strike(4, after(8)), strike(5, after(30))
    told = told_of(seen(in_force(near, far)))
    assert told.kept == (near,)
    kept = one(told, tag_of_kept(near))
    assert (kept.struck, kept.cuttings, kept.count, kept.set_out) == (1, 3, 2, 4)
    assert not kept.pull_early
    assert sum(kept.picks[:13]) == 0.0 < sum(kept.picks)


def test_a_near_strike_whose_mother_is_gone_is_not_kept() -> None:
    """Nobody can take cuttings from a plant that was pulled."""
    assert told_of(seen(in_force(strike(4, after(8), mothers=("tom7",))))).kept == ()


def test_a_plan_made_anew_keeps_the_near_strike_as_it_stands() -> None:
    """Same number, same day, same count; new strikes get numbers never used."""
    near = strike(4, after(8))
    here = seen(in_force(near))
    told = told_of(here)
    outcome = exact_search(told.season, startable_options(told.season), nodes=20)
    plan = plan_in_days(here, told, plan_of(told.season, outcome))
    again = [s for s in plan.strikes if s.number == 4]
    assert [(s.on, s.count, s.plants, s.first_pick) for s in again] == [
        (near.on, near.count, near.plants, near.first_pick)
    ]
    numbers = [s.number for s in plan.strikes]
    assert len(set(numbers)) == len(numbers)
    assert all(number == 4 or number > 9 for number in numbers)
    assert {stand.tag for stand in plan.stands} == {"tom1"}
    days = [s.on for s in plan.strikes]
    assert days == sorted(days)


def test_plants_are_moved_on_working_days_when_somebody_is_there() -> None:
    """On Mondays and Saturdays only; and not on the Monday of an absence."""
    house = on(START, HouseSet(house=replace(HOUSE, work_days=(1, 6))))
    told = told_of(seen(house, today=after(1)))
    assert told.work_day(0) == after(5)
    assert told.work_day(1) == after(7)
    away = replace(held(STANDS, house), absences=(Absence(first=after(6), last=after(9)),))
    assert told_of(seen(holding=away, today=after(1))).work_day(1) == after(12)


def test_a_week_without_anybody_is_no_week_to_strike_in() -> None:
    """Away from Sunday to Sunday: that week is out, the others are not."""
    away = replace(held(STANDS), absences=(Absence(first=after(13), last=after(20)),))
    assert told_of(seen(holding=away)).season.away == {2}


def test_plants_fade_by_the_span_of_their_picking_life() -> None:
    """Half still bear at the usual life, nearly all at half of it; a learnt life moves that."""
    tomato = read_catalogue(["tomato"]).crops["tomato"]
    figure = tomato.values["picking_life"]
    usual = bearing_on(tomato, Lessons())
    life = round(figure.typical / 7)
    assert usual[life] == pytest.approx(0.5, abs=0.05)
    assert usual[life // 2] > 0.97
    assert list(usual) == sorted(usual, reverse=True)
    short = Lessons(spreads={("tomato", "picking_life"): spread_from(0.5, 0.6, 0.7, 30.0)})
    assert bearing_on(tomato, short)[life] < 0.05
    assert len(curve_of(tomato, Lessons())) == max(stays_of(tomato))


def test_what_waits_in_a_tray_has_its_planned_places() -> None:
    """A tray of rooted cuttings goes where the plan has room for it."""
    raised = [
        *struck("tom5", START - timedelta(days=14), count=2, parent="tom1"),
        *saw("tom5", Stage.ROOTED, START - timedelta(days=2), 2),
    ]
    here = seen(raised)
    told = told_of(here)
    outcome = exact_search(told.season, startable_options(told.season), nodes=20)
    plan = plan_in_days(here, told, plan_of(told.season, outcome))
    places = [code for stand in plan.stands if stand.tag == "tom5" for code in stand.places]
    assert len(places) == 2
    assert {here.holding.places[code].kind for code in places} <= {PlaceKind.BUCKET, PlaceKind.BED}
    assert "B2" not in places


def test_heads_are_expected_once_about_the_week_in_which_they_are_ready() -> None:
    """Eight lettuces in the bed: eight heads in all, most of them near the likely week."""
    goal = Goal(crop="lettuce", amount=2.0, first=START, last=after(7 * WEEKS - 1))
    heads = [
        *struck("let1", START - timedelta(days=30), crop="lettuce", count=8, way=Origin.SEED),
        *saw("let1", Stage.EMERGED, START - timedelta(days=24), 8),
        *set_out("let1", START - timedelta(days=5), ("W1", 8, "let2")),
    ]
    here = scene(held(STANDS, heads), START, catalogue=read_catalogue({*CROPS, "lettuce"}))
    told = season_of(here, [goal], WEEKS)
    let = one(told, "let2")
    assert sum(let.picks) == pytest.approx(1.0, abs=0.01)
    likely = here.timelines["let2"].likely(Stage.PICKING)
    assert likely is not None
    week = (likely - START).days // 7
    assert sum(let.picks[week - 1 : week + 2]) > 0.7
    outcome = exact_search(told.season, startable_options(told.season), nodes=20)
    weeks = plan_of(told.season, outcome).weeks
    assert all(0.0 <= one.low <= one.expected <= one.high for one in weeks)


def test_plants_are_bought_only_for_a_line_that_has_come_to_its_end() -> None:
    """A strawberry of the third generation is the last that may be pegged, and cannot be sown."""
    goal = Goal(crop="strawberry", amount=0.1, first=START, last=after(7 * WEEKS - 1))
    young = standing("str1", "C1", crop="strawberry")
    old = [*young]
    for number, place in ((2, "C2"), (3, "C3"), (4, "C1")):
        tag, day = f"str{number}", START - timedelta(days=100 - 20 * number)
        mother = f"str{number - 1}"
        old += struck(
            tag, day, crop="strawberry", count=1, parent=mother, way=Origin.RUNNER, place="T1"
        )
        old += saw(tag, Stage.ROOTED, day + timedelta(days=10), 1)
        old += on(day + timedelta(days=10), Pulled(tag=mother))
        old += set_out(tag, day + timedelta(days=11), (place, 1, tag))

    def ways(entries: list[Entry]) -> set[str]:
        here = scene(held(STANDS, entries), START, catalogue=read_catalogue({*CROPS, "strawberry"}))
        told = season_of(here, [goal], WEEKS)
        outcome = exact_search(told.season, startable_options(told.season), nodes=20)
        plan = plan_in_days(here, told, plan_of(told.season, outcome))
        return {strike.way.value for strike in plan.strikes}

    assert ways(young) == {"runner"}
    assert "bought-in" in ways(old)
