"""What plantings of the record say of a stage, and what is left out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from cropplan.catalogue.model import Crop, Trust
from cropplan.catalogue.read import read_catalogue
from cropplan.growth.rooting import how_many_to_strike_believing
from cropplan.holding.entry import Lost
from cropplan.holding.holding import Holding
from cropplan.holding.lesson import RootingLesson, StageLesson
from cropplan.holding.planting import Origin, Stage
from cropplan.schedule.climate import weather_of
from cropplan.schedule.learning import rooting_lessons, stage_lessons
from cropplan.schedule.lessons import Lessons, lessons_as_taught
from cropplan.schedule.relay import to_begin
from cropplan.schedule.timeline import timeline_of
from tests.builders import HOUSE, after, bare_house, held, on, saw, set_out, struck

CROP = read_catalogue(["tomato"]).crops["tomato"]
WEATHER = weather_of(HOUSE)
ROOTING = "cutting_days_to_root"


def told(
    holding: Holding,
    today: date,
    *,
    silences: tuple[tuple[date, date], ...] = (),
    crop: Crop = CROP,
) -> dict[str, StageLesson]:
    """The stage lessons of the tomatoes held."""
    plantings = list(holding.plantings.values())
    lessons = stage_lessons(crop, plantings, lambda _: WEATHER, today, silences)
    return {lesson.key: lesson for lesson in lessons}


def trays(days_to_root: int, number: int = 4) -> Holding:
    """So many trays, each rooted after the same time."""
    entries = bare_house()
    for tray in range(number):
        tag, begun = f"tom{tray + 1}", after(tray)
        entries += struck(tag, begun, count=3, place="T1" if tray < 2 else "T2")
        entries += saw(tag, Stage.ROOTED, begun + timedelta(days=days_to_root))
    return held(entries)


def test_slow_trays_teach_a_longer_time() -> None:
    """Trays that take half as long again move the figure most of the way there."""
    usual = timeline_of(
        held(bare_house(), struck("tom1")).plantings["tom1"], CROP, WEATHER, after(1)
    ).first_guess[Stage.ROOTED]
    days = (usual.likely - after(0)).days
    lesson = told(trays(round(days * 1.5)), after(60))[ROOTING]
    assert lesson.finished == 4
    assert 1.3 < lesson.median < 1.6
    assert lesson.weight > 0.9


def test_no_planting_teaches_nothing() -> None:
    """Without records there is no lesson, and the catalogue's figure stands."""
    assert told(held(bare_house()), after(10)) == {}


def test_those_still_waiting_are_heard() -> None:
    """Leaving out what still waits would make every figure too short."""
    done = told(trays(12), after(40))[ROOTING]
    waiting = held(
        *[[entry] for entry in bare_house()],
        *[struck(f"tom{n}", after(n), count=3, place="T1") for n in (1, 2)],
        *[saw(f"tom{n}", Stage.ROOTED, after(n + 12)) for n in (1, 2)],
        *[struck(f"tom{n}", after(n), count=3, place="T2") for n in (3, 4, 5)],
    )
    heard = told(waiting, after(20))[ROOTING]
    assert (heard.finished, heard.waiting) == (2, 3)
    assert heard.median > done.median * 0.95


def test_weeks_without_a_record_are_left_out() -> None:
    """A rooting first seen after weeks of silence may have been any day; it only waited until."""
    late = trays(30, number=1)
    silence = ((after(5), after(29)),)
    plain, honest = told(late, after(60)), told(late, after(60), silences=silence)
    assert plain[ROOTING].finished == 1
    assert (honest[ROOTING].finished, honest[ROOTING].waiting) == (0, 1)
    assert honest[ROOTING].median < plain[ROOTING].median


def test_setting_out_teaches_nothing_for_it_is_the_growers_own_act() -> None:
    """When plants are set out says how long the grower waited, not how long the plants did."""
    entries = [*bare_house(), *struck("tom1", count=1), *saw("tom1", Stage.ROOTED, after(10))]
    out = held(entries, set_out("tom1", after(60), ("B1", 1, "tom1")))
    assert "rooted_to_ready" not in told(out, after(80))


def test_a_figure_set_by_the_grower_is_never_moved() -> None:
    """An own figure always wins; no lesson is kept of it, and none is used."""
    own = replace(CROP.values[ROOTING], trust=Trust.OWN, source="own")
    crop = replace(CROP, values={**CROP.values, ROOTING: own})
    assert ROOTING not in told(trays(25), after(60), crop=crop)
    kept = told(trays(25), after(60))[ROOTING]
    assert lessons_as_taught([kept], [], {"tomato": crop}).spreads == {}
    assert ("tomato", ROOTING) in lessons_as_taught([kept], [], {"tomato": CROP}).spreads


def test_a_part_set_out_early_is_not_heard_twice_about_rooting() -> None:
    """Parts of a batch share its rooting; it is one record, with the batch."""
    batch = [*bare_house(), *struck("tom1", count=4), *saw("tom1", Stage.ROOTED, after(12))]
    split = held(batch, set_out("tom1", after(20), ("B1", 1, "tom2"), ("B2", 1, "tom3")))
    assert told(split, after(30))[ROOTING].finished == 1


def test_rootings_and_failures_are_counted_by_way() -> None:
    """Given away is no failure; what is still waiting is no success yet."""
    entries = [*bare_house(), *struck("tom1", count=6), *saw("tom1", Stage.ROOTED, after(12), 4)]
    lost = held(
        entries,
        on(after(13), Lost(tag="tom1", count=1, why="rotted")),
        on(after(14), Lost(tag="tom1", count=1, why="given")),
        struck("tom2", after(2), count=5, place="T2"),
    )
    assert rooting_lessons(CROP, list(lost.plantings.values())) == [
        RootingLesson(crop="tomato", key="cutting_success", rooted=4, failed=1)
    ]


def test_a_house_that_roots_badly_strikes_more() -> None:
    """By beta-binomial once the house has its own counts; the more fail, the more are struck."""

    def struck_for_four(failed: int) -> int:
        counted = RootingLesson(crop="tomato", key="cutting_success", rooted=8, failed=failed)
        taught = lessons_as_taught([], [counted], {"tomato": CROP})
        believed = taught.successes["tomato", "cutting_success"]
        number = to_begin(CROP, Origin.CUTTING, 4, taught)
        assert number == how_many_to_strike_believing(4, believed, 0.9)
        return number

    numbers = [struck_for_four(failed) for failed in (0, 4, 12, 30)]
    assert numbers == sorted(numbers)
    assert numbers[-1] > 2 * to_begin(CROP, Origin.CUTTING, 4, Lessons())
