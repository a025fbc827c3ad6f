"""Setting out, moving, losing, pulling and picking: where the plants went, and that they tally."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import pytest

from cropplan.holding.entry import (
    Act,
    Entry,
    Lost,
    Moved,
    Picked,
    PlaceRetired,
    Pulled,
    SetOut,
    SetOutPart,
)
from cropplan.holding.holding import Holding
from cropplan.holding.planting import Origin, Stage
from cropplan.problems import Refusal
from tests.builders import (
    START,
    after,
    bare_house,
    bearing,
    held,
    on,
    rooted_tray,
    saw,
    set_out,
    sown,
    standing,
    struck,
)


def house_with(*days: Iterable[Entry]) -> Holding:
    """The bare house after more entries."""
    return held(bare_house(), *days)


def test_a_tray_is_split_by_count_and_every_part_keeps_its_line() -> None:
    """Part-moves by count; struck = alive + set out elsewhere + given + lost, always."""
    holding = house_with(
        struck("tom1", count=12, cultivar="Ruby"),
        saw("tom1", Stage.ROOTED, after(10), 8),
        set_out("tom1", after(20), ("B1", 1, "tom2"), ("B2", 1, "tom3")),
        on(after(21), Lost(tag="tom1", count=3, why="given")),
        on(after(25), Lost(tag="tom1", count=2, why="rot")),
    )
    tray, part = holding.plantings["tom1"], holding.plantings["tom2"]
    assert (tray.count, tray.split_off, tray.left, tray.lost) == (5, 2, 3, 2)
    assert (tray.rooted, tray.stage, tray.place) == (5, Stage.ROOTED, "T1")
    assert (part.origin, part.way, part.split_of) == (Origin.SPLIT, Origin.CUTTING, "tom1")
    assert (part.clone, part.generation, part.cultivar) == ("tom1", 1, "Ruby")
    assert (part.stage, part.place, part.since) == (Stage.SET_OUT, "B1", after(20))
    assert part.seen[Stage.ROOTED] == after(10)
    assert all(p.tallies for p in holding.plantings.values())


def test_a_whole_planting_keeps_its_tag() -> None:
    """A part with the planting's own tag takes all that was left."""
    holding = house_with(
        struck("tom1", count=3), set_out("tom1", after(20), ("B1", 1, "tom2"), ("W1", 2, "tom1"))
    )
    rest = holding.plantings["tom1"]
    assert (rest.count, rest.place, rest.stage, rest.split_off) == (2, "W1", Stage.SET_OUT, 1)


def test_a_tray_that_was_all_set_out_is_closed() -> None:
    """When every plant went under a new tag, the tray has ended and says why."""
    tray = house_with(
        struck("tom1", count=2), set_out("tom1", after(20), ("B1", 1, "tom2"), ("B2", 1, "tom3"))
    ).plantings["tom1"]
    assert (tray.alive, tray.count, tray.ended_on, tray.ended_why) == (
        False,
        0,
        after(20),
        "all set out",
    )


def test_plants_may_be_parted_where_they_stand() -> None:
    """Moving plants within one bed needs no more room than they have."""
    holding = house_with(
        sown("let1", count=20, place="W1"), set_out("let1", after(40), ("W1", 12, "let2"))
    )
    assert [(p.tag, p.count) for p in holding.standing_in("W1")] == [("let1", 8), ("let2", 12)]


def test_an_older_plant_that_is_parted_is_not_set_out_anew() -> None:
    """A flowering plant keeps its stage, and no day of setting out is made up for it."""
    part = house_with(
        standing("tom1", "W1", stage=Stage.FLOWERING, count=2),
        set_out("tom1", after(9), ("B1", 1, "tom2")),
    ).plantings["tom2"]
    assert (part.stage, part.seen) == (Stage.FLOWERING, {})


def test_a_part_takes_the_rooted_plants_first_and_no_more_than_there_are() -> None:
    """How many have rooted is known, never guessed, on both sides of a split."""
    holding = house_with(
        struck("tom1", count=4),
        saw("tom1", Stage.ROOTED, after(9), 2),
        set_out("tom1", after(20), ("W1", 3, "tom2")),
    )
    assert (holding.plantings["tom2"].rooted, holding.plantings["tom1"].rooted) == (2, 0)


def test_moving_frees_the_old_place() -> None:
    """A new place from that day; the old one is free."""
    holding = house_with(bearing("tom1", "B1"), on(after(90), Moved(tag="tom1", place="B4")))
    assert holding.standing_in("B1") == []
    assert [p.tag for p in holding.standing_in("B4")] == ["tom1"]


def test_a_loss_of_one_takes_the_unrooted_first() -> None:
    """One of four lost leaves three, the two rooted among them."""
    tray = house_with(
        struck("tom1"),
        saw("tom1", Stage.ROOTED, after(9), 2),
        on(after(11), Lost(tag="tom1", count=1)),
    ).plantings["tom1"]
    assert (tray.count, tray.rooted, tray.lost, tray.stage) == (3, 2, 1, Stage.ROOTED)


@pytest.mark.parametrize(
    ("why", "lost", "left"), [("Sold", 0, 4), (" given ", 0, 4), ("mice", 4, 0)]
)
def test_what_left_alive_is_no_loss(why: str, lost: int, left: int) -> None:
    """Given and sold plants do not count against rooting; the whole tray is closed all the same."""
    tray = house_with(struck("tom1"), on(after(9), Lost(tag="tom1", count=4, why=why))).plantings[
        "tom1"
    ]
    assert (tray.stage, tray.lost, tray.left, tray.ended_why) == (Stage.LOST, lost, left, why)


@pytest.mark.parametrize(
    "end",
    [
        Pulled(tag="tom1", why="disease"),
        Pulled(tag="tom1", why="Leaf disease, all over"),
        Lost(tag="tom1", count=1, why="disease"),
    ],
)
def test_a_diseased_end_leaves_the_place_under_suspicion(end: Act) -> None:
    """Disease in a bucket: the place is not planted again before it was seen to."""
    assert house_with(bearing(), on(after(90), end)).places["B1"].disease_on == after(90)


def test_an_ordinary_end_leaves_the_place_clean() -> None:
    """A plant pulled because it was finished says nothing against its medium."""
    holding = house_with(bearing(), on(after(300), Pulled(tag="tom1", why="finished")))
    assert holding.places["B1"].disease_on is None
    ended = holding.plantings["tom1"]
    assert (ended.stage, ended.pulled, ended.ended_on, ended.ended_why) == (
        Stage.PULLED,
        1,
        after(300),
        "finished",
    )


def test_picks_add_up_and_heads_leave_the_count() -> None:
    """Cut-and-come-again goes on; heads cut whole are cleared, and the last one ends it."""
    leafy = house_with(
        sown("bas1", crop="basil", count=3, place="W1"),
        on(after(60), Picked(tag="bas1", amount=0.2)),
        on(after(74), Picked(tag="bas1")),
    ).plantings["bas1"]
    assert (leafy.cuts, leafy.picked, leafy.last_picked, leafy.count) == (2, 0.2, after(74), 3)
    heads = house_with(
        sown("let1", count=3, place="W1"),
        on(after(60), Picked(tag="let1", amount=2, cleared=2)),
        on(after(63), Picked(tag="let1", amount=1, cleared=1)),
    ).plantings["let1"]
    assert (heads.count, heads.pulled, heads.stage, heads.ended_why) == (
        0,
        3,
        Stage.PULLED,
        "picked",
    )


def test_a_pick_written_late_counts_even_after_the_plant_is_gone() -> None:
    """Friday's picking may be written on Sunday though the plant was pulled on Saturday."""
    ended = house_with(
        bearing(),
        on(after(100), Picked(tag="tom1", amount=0.5)),
        on(after(120), Pulled(tag="tom1", why="finished")),
        on(after(119), Picked(tag="tom1", amount=0.7)),
    ).plantings["tom1"]
    assert (ended.picked, ended.cuts, ended.last_picked) == (1.2, 2, after(119))
    assert (ended.ended_on, ended.ended_why) == (after(120), "finished")


_TRAY = rooted_tray()


def _out(place: str, count: int, tag: str) -> SetOut:
    """Some of tom1 are set out in one place."""
    return SetOut(tag="tom1", parts=(SetOutPart(place=place, count=count, tag=tag),))


@pytest.mark.parametrize(
    ("before", "act", "day", "told"),
    [
        (_TRAY, SetOut(tag="tom1", parts=()), after(20), "tom1 has 4 plants; 0 cannot be set out"),
        (_TRAY, _out("B1", 0, "tom2"), after(20), "tom1 has 4 plants; 0 cannot be set out"),
        (_TRAY, _out("W1", 5, "tom2"), after(20), "tom1 has 4 plants; 5 cannot be set out"),
        (
            _TRAY,
            _out("W1", 3, "tom1"),
            after(20),
            "tom1 keeps its tag only when all of it goes to one place",
        ),
        (
            [*_TRAY, *struck("tom2", place="T2")],
            _out("W1", 3, "tom2"),
            after(20),
            "the tag 'tom2' is taken",
        ),
        (_TRAY, _out("B1", 2, "tom2"), after(20), "B1 holds 1: no room for 2 more"),
        (
            _TRAY,
            _out("B1", 1, "tom2"),
            after(8),
            "tom1 was rooted on 2026-03-12; it cannot have been first set-out on 2026-03-10",
        ),
        (
            struck("tom1", after(3)),
            _out("B1", 1, "tom2"),
            after(2),
            "tom1 was struck on 2026-03-05; it cannot be set out on 2026-03-04",
        ),
        (_TRAY, Moved(tag="tom1", place="T1"), after(20), "tom1 stands in T1 already"),
        (_TRAY, Moved(tag="tom1", place="B1"), after(20), "B1 holds 1: no room for 4 more"),
        (
            [*_TRAY, *standing("tom2", "W1"), *standing("tom3", "W1", count=17)],
            Moved(tag="tom1", place="W1"),
            after(20),
            "W1 holds 20, and tom2, tom3 stand there: no room for 4 more",
        ),
        (_TRAY, Moved(tag="tom1", place="T2"), after(-1), "it cannot be moved on 2026-03-01"),
        (_TRAY, Lost(tag="tom1", count=5), after(20), "tom1 has 4 plants; 5 cannot be lost"),
        (_TRAY, Lost(tag="tom1", count=0), after(20), "tom1 has 4 plants; 0 cannot be lost"),
        (_TRAY, Lost(tag="tom1", count=1), after(-1), "it cannot be lost on 2026-03-01"),
        (_TRAY, Pulled(tag="tom1"), after(-1), "it cannot be pulled on 2026-03-01"),
        (_TRAY, Picked(tag="tom1"), after(-1), "it cannot be picked on 2026-03-01"),
        (_TRAY, Picked(tag="tom1", amount=-1), after(20), "an amount picked cannot be -1"),
        (_TRAY, Picked(tag="tom1", cleared=5), after(20), "tom1 has 4 plants; 5 cannot be cut"),
        (_TRAY, Picked(tag="tom1", cleared=-1), after(20), "tom1 has 4 plants; -1 cannot be cut"),
        (
            [*_TRAY, *on(after(12), Pulled(tag="tom1"))],
            Lost(tag="tom1", count=1),
            after(11),
            "tom1 is gone: pulled on 2026-03-14",
        ),
        (
            [*_TRAY, *on(after(12), Pulled(tag="tom1"))],
            Picked(tag="tom1"),
            after(13),
            "tom1 is gone: pulled on 2026-03-14",
        ),
    ],
)
def test_what_cannot_be_done_to_a_planting_is_refused(
    before: list[Entry], act: Act, day: date, told: str
) -> None:
    """One line with what was asked and what stands against it; the holding is never changed."""
    holding = house_with(before)
    with pytest.raises(Refusal) as refused:
        house_with(before, on(day, act))
    assert told in str(refused.value)
    assert house_with(before) == holding


def test_the_plants_of_a_place_out_of_service_cannot_come_back() -> None:
    """A retired place is not offered, and nothing is set there from that day on."""
    retired = [*_TRAY, *on(START, PlaceRetired(place="B1", why="cracked"))]
    with pytest.raises(Refusal, match="B1 is out of service since 2026-03-02; choose another"):
        house_with(retired, set_out("tom1", after(20), ("B1", 1, "tom2")))
