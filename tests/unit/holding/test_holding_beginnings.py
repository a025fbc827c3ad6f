"""How plantings begin: what a beginning leaves in the holding, and what is refused."""

from __future__ import annotations

from datetime import date

import pytest

from cropplan.holding.entry import Began, Marked, Named, Pulled
from cropplan.holding.planting import Origin, Stage
from cropplan.problems import Refusal
from tests.builders import (
    START,
    after,
    bare_house,
    bearing,
    cuttings,
    held,
    on,
    saw,
    set_out,
    sown,
    struck,
)


def test_cuttings_carry_the_clone_the_cultivar_and_one_generation_more() -> None:
    """A cutting is a copy of its parent, one generation on (design §2, lineage)."""
    holding = held(
        bare_house(),
        struck("tom1", count=1, cultivar="Ruby"),
        struck("tom2", parent="tom1"),
        struck("tom3", parent="tom2"),
    )
    first, second, third = (holding.plantings[tag] for tag in ("tom1", "tom2", "tom3"))
    assert (first.clone, first.generation) == ("tom1", 1)
    assert (second.clone, second.generation, second.cultivar) == ("tom1", 2, "Ruby")
    assert (third.clone, third.generation, third.parent) == ("tom1", 3, "tom2")


def test_seed_keeps_its_parent_but_is_no_copy_of_it() -> None:
    """What comes from seed is a new plant: no clone, no generation, no cultivar taken over."""
    act = cuttings(origin=Origin.SEED, stage=Stage.SOWN, parent="tom1")
    holding = held(bare_house(), struck("tom1", cultivar="Ruby"), on(START, act))
    child = holding.plantings["tom9"]
    assert (child.parent, child.clone, child.generation, child.cultivar) == (
        "tom1",
        "tom9",
        0,
        None,
    )


def test_an_unknown_beginning_stays_unknown() -> None:
    """Unknown never silently becomes today (rule R7 of the trade: unknown is an answer)."""
    holding = held(bare_house(), on(START, cuttings(started=None, stage=Stage.FRUITING)))
    planting = holding.plantings["tom9"]
    assert planting.started is None
    assert planting.since is None
    assert planting.seen == {}


def test_a_known_beginning_is_the_first_stage_seen() -> None:
    """The day of striking anchors everything that is predicted from it."""
    planting = held(bare_house(), struck("tom1", after(3))).plantings["tom1"]
    assert planting.seen == {Stage.STRUCK: after(3)}
    assert planting.since == after(3)


def test_plants_that_come_rooted_are_counted_as_rooted() -> None:
    """A planting put in as rooted has all its plants rooted unless fewer are told."""
    whole = held(bare_house(), on(START, cuttings(stage=Stage.ROOTED))).plantings["tom9"]
    part = held(bare_house(), on(START, cuttings(stage=Stage.ROOTED, rooted=1))).plantings["tom9"]
    assert (whole.rooted, part.rooted) == (2, 1)


@pytest.mark.parametrize(
    ("act", "told"),
    [
        (cuttings(count=0), "a planting needs at least 1 plant, got 0"),
        (cuttings(count=-4), "a planting needs at least 1 plant, got -4"),
        (cuttings(rooted=3), "3 of 2 plants cannot be rooted"),
        (cuttings(tag="tom1"), "the tag 'tom1' is taken; tags are never used twice"),
        (cuttings(place="T9"), "no place is called 'T9'"),
        (cuttings(count=41), "T1 holds 40, and tom1 stands there: no room for 41 more"),
        (cuttings(parent="tom11"), "no planting has the tag 'tom11'; did you mean 'tom1'?"),
        (cuttings(parent="bas1"), "bas1 is basil; tomato cannot be taken from it"),
        (cuttings(started=after(31)), "what happened on 2026-04-01 cannot have begun later"),
        (
            cuttings(parent="tom1", started=date(2026, 3, 1)),
            "tom1 was struck on 2026-03-02; it cannot be taken from on 2026-03-01",
        ),
    ],
)
def test_a_beginning_that_cannot_be_is_refused(act: Began, told: str) -> None:
    """Refusals are one line, lower case, with what was typed and what would be right."""
    before = [bare_house(), struck("tom1"), struck("bas1", crop="basil", place="T2")]
    with pytest.raises(Refusal) as refused:
        held(*before, on(after(30), act))
    assert told in str(refused.value)
    assert "\n" not in str(refused.value)


def test_nothing_is_taken_from_a_plant_that_was_gone() -> None:
    """A cutting may be written late, but not from a plant that had been pulled by then."""
    gone = [bare_house(), bearing(), on(after(90), Pulled(tag="tom1"))]
    late = cuttings(parent="tom1", started=after(89))
    assert held(*gone, on(after(95), late)).plantings["tom9"].parent == "tom1"
    with pytest.raises(Refusal, match=r"tom1 is gone: pulled on 2026-05-31"):
        held(*gone, on(after(95), cuttings(parent="tom1", started=after(91))))


def test_a_spent_plant_takes_no_room() -> None:
    """The next plant is set beside the dying one; the overlap is expected."""
    holding = held(
        bare_house(),
        bearing("tom1", "B1"),
        struck("tom2", after(60), count=1),
        saw("tom1", Stage.SPENT, after(200)),
        set_out("tom2", after(201), ("B1", 1, "tom2")),
    )
    assert [p.tag for p in holding.standing_in("B1")] == ["tom1", "tom2"]


def test_a_cultivar_is_put_right_for_every_tag_given() -> None:
    """A mixed or mislabelled tray is named later, with all its descendants, in one act."""
    holding = held(
        bare_house(),
        struck("tom1", cultivar="Ruby"),
        struck("tom2", parent="tom1"),
        on(after(5), Named(tags=("tom1", "tom2"), cultivar="Amber")),
    )
    assert {p.cultivar for p in holding.plantings.values()} == {"Amber"}
    with pytest.raises(Refusal, match="no planting has the tag 'tom3'"):
        held(bare_house(), struck("tom1"), on(after(5), Named(tags=("tom3",), cultivar=None)))


def test_marks_are_set_left_and_lifted_one_by_one() -> None:
    """A mark of None leaves things as they are; an empty reason lifts the bar."""
    barred = held(
        bare_house(),
        struck("tom1"),
        on(START, Marked(tag="tom1", mother=True)),
        on(START, Marked(tag="tom1", barred_why="mosaic", by_insects=True)),
    ).plantings["tom1"]
    assert (barred.tagged_mother, barred.barred_why, barred.by_insects) == (True, "mosaic", True)
    lifted = held(
        bare_house(),
        struck("tom1"),
        on(START, Marked(tag="tom1", barred_why="mosaic")),
        on(START, Marked(tag="tom1", barred_why="")),
    ).plantings["tom1"]
    assert lifted.barred_why is None


def test_what_is_sown_begins_as_sown() -> None:
    """Seed emerges before it roots; its first stage is its own."""
    planting = held(bare_house(), sown("let1")).plantings["let1"]
    assert (planting.stage, planting.way, planting.generation) == (Stage.SOWN, Origin.SEED, 0)
