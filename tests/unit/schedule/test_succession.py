"""Losses are made up for, and no more are struck than go missing: counted for a crop as a whole."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from cropplan.catalogue.read import read_catalogue
from cropplan.holding.entry import Entry, Lost, Pulled, Skipped
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.task import State, Task
from cropplan.schedule.lessons import Lessons
from cropplan.schedule.relay import to_begin
from cropplan.schedule.tasks import open_tasks
from tests.builders import (
    about,
    after,
    bare_house,
    bearing,
    on,
    saw,
    seen_from,
    set_out,
    standing,
    struck,
)

PAIR = [*bearing("tom1", "B1"), *bearing("tom2", "B2", start=after(1))]
SLUGS = on(after(100), Lost(tag="tom1", count=1, why="slugs"))


def strikes(*days: Iterable[Entry], today: date) -> dict[str, Task]:
    """The open strikes by the tag they are for, of those that are due."""
    scene = seen_from(bare_house(), *days, today=today)
    return {
        task.key.subject.code: task
        for task in open_tasks(scene)
        if task.key.duty == "strike" and task.state is not State.COMING
    }


def needed(wanted: int) -> int:
    """How many tomatoes to strike for so many plants."""
    scene = seen_from(bare_house(), bearing(), today=after(90))
    return to_begin(scene.catalogue.crops["tomato"], Origin.CUTTING, wanted, Lessons())


def test_a_lost_tomato_is_made_up_for_at_once() -> None:
    """Slugs take one of two tomatoes in full crop: the list asks that same day for cuttings for
    one plant, says from which, and is late after a week.
    """
    asked = strikes(PAIR, SLUGS, today=after(100))
    assert set(asked) == {"tom1"}
    assert asked["tom1"].plants == needed(1)
    assert asked["tom1"].why.startswith(
        "tom1 was lost on Wed 10 Jun (slugs), none follows it; begun today it comes "
    )
    assert asked["tom1"].state is State.TODAY
    assert strikes(PAIR, SLUGS, today=after(108))["tom1"].state is State.LATE


def test_the_dead_plant_is_no_mother() -> None:
    """Cuttings are proposed from a sister that lives, and none from a plant that is gone."""
    family = [*bearing("tom1", "B1"), *bearing("tom2", "B2", parent="tom1", start=after(1))]
    assert strikes(family, SLUGS, today=after(100))["tom1"].why.endswith("; from tom2")
    alone = strikes(PAIR, SLUGS, today=after(100))["tom1"].why
    assert alone.endswith("; no plant is fit to take from: sow, buy in")


def test_a_plant_that_comes_on_already_makes_up_for_a_loss() -> None:
    """A rooted cutting waits in the tray when the old plant dies: nothing more is struck."""
    spare = [*struck("tom3", after(80), count=1), *saw("tom3", Stage.ROOTED, after(92))]
    assert strikes(PAIR, spare, SLUGS, today=after(101)) == {}
    late = struck("tom3", after(102), count=needed(1))
    assert strikes(PAIR, SLUGS, late, today=after(103)) == {}


def test_a_grower_who_wants_fewer_says_so_once() -> None:
    """Found not needed, the lost plant is never asked for again; two losses are two answers."""
    no = on(
        after(101),
        Skipped(duty="strike", subjects=(about("tom1"),), why="too many", not_needed=True),
    )
    assert strikes(PAIR, SLUGS, no, today=after(120)) == {}
    other = on(after(121), Pulled(tag="tom2", why="mosaic"))
    assert set(strikes(PAIR, SLUGS, no, other, today=after(122))) == {"tom2"}


def test_a_loss_is_forgotten_after_sixteen_weeks() -> None:
    """A house that has gone on with one tomato since spring wants one tomato."""
    assert "tom1" in strikes(PAIR, SLUGS, today=after(100 + 112))
    assert "tom1" not in strikes(PAIR, SLUGS, today=after(100 + 113))


def test_what_had_its_time_or_was_only_a_cutting_or_a_leaf_is_not_made_up_for() -> None:
    """A spent plant that is cleared, a tray given away, a lettuce cut: none is a loss to mend."""
    spent = [*saw("tom1", Stage.SPENT, after(99)), *on(after(100), Pulled(tag="tom1"))]
    assert "tom1" not in strikes(PAIR, spent, today=after(101))
    tray = [*struck("tom3", after(90)), *on(after(100), Lost(tag="tom3", count=4, why="rot"))]
    assert strikes(PAIR, tray, today=after(101)) == {}
    leaf = [
        *standing("cha1", "W1", crop="chard", stage=Stage.PICKING),
        *on(after(50), Pulled(tag="cha1", why="slugs")),
    ]
    assert strikes(leaf, today=after(51)) == {}


def test_a_follower_that_dies_is_struck_again_once_and_not_twice() -> None:
    """The young plant set out to take over from an old one breaks: one plant is missing, not one
    for the young and another for the old.
    """
    young = [*struck("tom3", after(110), count=1), *set_out("tom3", after(130), ("B3", 1, "tom3"))]
    broken = on(after(140), Pulled(tag="tom3", why="stem broken"))
    old = [*bearing("tom1", "B1")]
    assert strikes(old, young, today=after(139)) == {}
    asked = strikes(old, young, broken, today=after(150))
    assert sum(task.plants for task in asked.values()) == needed(1)


def test_a_follower_that_bears_goes_on_standing_for_the_old_plant() -> None:
    """The old tomato is kept while it still gives, beside the young one that has begun to: nobody
    is asked to strike a second successor for it.
    """
    old, young = bearing("tom1", "B1"), bearing("tom2", "B2", parent="tom1", start=after(205))
    assert strikes(old, today=after(292))
    assert strikes(old, young, today=after(292)) == {}


def test_plants_of_one_age_do_not_follow_each_other() -> None:
    """Three tomatoes set out within a fortnight all tire together: each wants a follower."""
    three = [*PAIR, *bearing("tom3", "B3", start=after(14))]
    assert set(strikes(three, today=after(232))) == {"tom1", "tom2", "tom3"}


def test_four_that_tire_together_share_what_is_struck_to_spare() -> None:
    """Four old plants of one crop: as many as make four sure, not four times what makes one sure,
    half of which would be given away. Peppers, which root badly, show the difference.
    """
    four = [e for n in range(4) for e in bearing(f"tom{n + 1}", f"B{n + 1}", start=after(n))]
    asked = strikes(four, today=after(218))
    assert sum(task.plants for task in asked.values()) == needed(4)
    pepper = read_catalogue(["pepper"]).crops["pepper"]
    four_peppers = to_begin(pepper, Origin.CUTTING, 4, Lessons())
    assert four_peppers < 4 * to_begin(pepper, Origin.CUTTING, 1, Lessons())
