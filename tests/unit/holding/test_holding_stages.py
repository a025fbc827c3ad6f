"""Stages as they are seen: forward, skipped, repeated, written late, and those that cannot be."""

from __future__ import annotations

from datetime import date

import pytest

from cropplan.holding.entry import Entry, Lost, Pulled, Seen
from cropplan.holding.planting import Planting, Stage
from cropplan.problems import Refusal
from tests.builders import (
    START,
    after,
    bare_house,
    bearing,
    bought,
    held,
    on,
    rooted_tray,
    saw,
    set_out,
    sown,
    standing,
    struck,
)


def planting(*days: list[Entry], tag: str = "tom1") -> Planting:
    """What became of one planting."""
    return held(bare_house(), *days).plantings[tag]


def test_each_stage_keeps_the_first_day_it_was_seen() -> None:
    """The first day stands; a second, different day stays in the journal only."""
    seen = planting(bearing(), saw("tom1", Stage.FLOWERING, after(90))).seen
    assert seen == {
        Stage.STRUCK: START,
        Stage.ROOTED: after(10),
        Stage.SET_OUT: after(20),
        Stage.FLOWERING: after(34),
        Stage.FRUITING: after(84),
    }


def test_plants_may_skip_stages_nobody_watched() -> None:
    """Plants skip stages unobserved, so each may jump forward."""
    flowering = planting(struck("tom1"), saw("tom1", Stage.FLOWERING, after(40)))
    assert flowering.stage is Stage.FLOWERING
    assert Stage.ROOTED not in flowering.seen


def test_part_of_a_tray_roots_first() -> None:
    """A count says how many plants show the stage; the planting goes with the first of them."""
    tray = planting(struck("tom1"), saw("tom1", Stage.ROOTED, after(9), 2))
    assert (tray.stage, tray.rooted, tray.count) == (Stage.ROOTED, 2, 4)
    more = planting(
        struck("tom1"),
        saw("tom1", Stage.ROOTED, after(9), 2),
        saw("tom1", Stage.ROOTED, after(13), 4),
    )
    assert (more.rooted, more.seen[Stage.ROOTED], more.since) == (4, after(9), after(9))


def test_a_bearing_plant_that_flowers_anew_goes_on_bearing() -> None:
    """Seeing flowers on a fruiting plant does not end its picking."""
    again = planting(bearing(), saw("tom1", Stage.FLOWERING, after(100)))
    assert (again.stage, again.since) == (Stage.FRUITING, after(84))


def test_a_plant_that_rested_may_flower_again() -> None:
    """Only resting and its neighbours go to and fro (strawberry between flushes)."""
    rested = planting(bearing(), saw("tom1", Stage.RESTING, after(150)))
    back = planting(
        bearing(),
        saw("tom1", Stage.RESTING, after(150)),
        saw("tom1", Stage.FLOWERING, after(190)),
    )
    assert rested.stage is Stage.RESTING
    assert (back.stage, back.since, back.seen[Stage.FLOWERING]) == (
        Stage.FLOWERING,
        after(190),
        after(34),
    )


def test_a_spent_plant_may_come_back() -> None:
    """What was written off and flowers again is in flower."""
    back = planting(
        bearing(), saw("tom1", Stage.SPENT, after(200)), saw("tom1", Stage.FLOWERING, after(230))
    )
    assert back.stage is Stage.FLOWERING


def test_a_stage_written_late_fills_in_the_past_only() -> None:
    """A flower seen in April and written in June leaves the planting where it is in June."""
    late = planting(
        struck("tom1", count=1),
        saw("tom1", Stage.FRUITING, after(84)),
        saw("tom1", Stage.FLOWERING, after(34)),
        saw("tom1", Stage.ROOTED, after(10)),
    )
    assert late.stage is Stage.FRUITING
    assert late.since == after(84)
    assert late.seen[Stage.FLOWERING] == after(34)
    assert late.seen[Stage.ROOTED] == after(10)


def test_flowers_after_a_fruit_whose_first_flower_nobody_wrote_are_not_the_first() -> None:
    """Observed beats predicted, but a later flush never passes for the first flower."""
    again = planting(
        struck("tom1", count=1),
        saw("tom1", Stage.FRUITING, after(84)),
        saw("tom1", Stage.RESTING, after(150)),
        saw("tom1", Stage.FLOWERING, after(190)),
    )
    assert again.stage is Stage.FLOWERING
    assert Stage.FLOWERING not in again.seen


def test_a_plant_that_stood_fruiting_from_the_first_has_no_first_flower() -> None:
    """Plants of unknown age wait for an anchor that is one; unknown never becomes today."""
    old = planting(standing("tom1"), saw("tom1", Stage.FLOWERING, after(3)))
    assert old.stage is Stage.FRUITING
    assert Stage.FLOWERING not in old.seen


def test_bare_roots_may_root_after_they_were_set_out() -> None:
    """Bought bare-root plants are set out first and root where they stand."""
    rooted = planting(
        bought("str1", crop="strawberry"),
        set_out("str1", after(2), ("C1", 1, "str1")),
        saw("str1", Stage.ROOTED, after(12)),
        tag="str1",
    )
    assert (rooted.stage, rooted.seen[Stage.ROOTED]) == (Stage.SET_OUT, after(12))


def test_what_was_seen_before_the_end_may_be_written_after_it() -> None:
    """A plant pulled on Saturday may get its Friday's sighting on Sunday."""
    ended = planting(
        bearing(),
        on(after(150), Pulled(tag="tom1")),
        saw("tom1", Stage.SPENT, after(140)),
    )
    assert (ended.stage, ended.since, ended.seen[Stage.SPENT]) == (
        Stage.PULLED,
        after(150),
        after(140),
    )
    with pytest.raises(Refusal, match="tom1 is gone: pulled on"):
        planting(
            bearing(), on(after(150), Pulled(tag="tom1")), saw("tom1", Stage.SPENT, after(151))
        )


def test_an_approximate_beginning_gives_its_days_of_grace() -> None:
    """`about 3 March, give or take 10 days` allows a rooting that exact days would not."""
    about = struck("tom1", count=1, give=10)
    rooted = planting(about, saw("tom1", Stage.ROOTED, after(-8)))
    assert (rooted.stage, rooted.seen[Stage.ROOTED]) == (Stage.ROOTED, after(-8))
    with pytest.raises(Refusal):
        planting(about, saw("tom1", Stage.ROOTED, after(-11)))


_ROOTED = rooted_tray()
_SET_OUT = [*_ROOTED, *set_out("tom1", after(20), ("W1", 4, "tom1"))]


@pytest.mark.parametrize(
    ("before", "seen", "day", "told"),
    [
        (
            struck("tom1"),
            Seen(tag="tom1", stage=Stage.ROOTED),
            after(-1),
            "tom1 was struck on 2026-03-02; it cannot be rooted on 2026-03-01",
        ),
        (
            struck("tom1"),
            Seen(tag="tom1", stage=Stage.EMERGED),
            after(9),
            "tom1 is struck; it cannot become emerged",
        ),
        (
            sown("tom1", crop="tomato"),
            Seen(tag="tom1", stage=Stage.ROOTED),
            after(9),
            "tom1 is sown; it cannot become rooted",
        ),
        (
            struck("tom1"),
            Seen(tag="tom1", stage=Stage.SET_OUT),
            after(9),
            "tom1 is struck; it cannot become set-out",
        ),
        (
            struck("tom1"),
            Seen(tag="tom1", stage=Stage.LOST),
            after(9),
            "tom1 is struck; it cannot become lost",
        ),
        (
            struck("tom1"),
            Seen(tag="tom1", stage=Stage.ROOTED, count=5),
            after(9),
            "tom1 has 4 plants; 5 cannot be rooted",
        ),
        (
            struck("tom1"),
            Seen(tag="tom1", stage=Stage.ROOTED, count=0),
            after(9),
            "tom1 has 4 plants; 0 cannot be rooted",
        ),
        (
            _SET_OUT,
            Seen(tag="tom1", stage=Stage.EMERGED),
            after(30),
            "tom1 is set-out; it cannot become emerged",
        ),
        (
            [*struck("tom1"), *set_out("tom1", after(20), ("W1", 4, "tom1"))],
            Seen(tag="tom1", stage=Stage.ROOTED),
            after(25),
            "tom1 was set-out on 2026-03-22; it cannot have been first rooted on 2026-03-27, after",
        ),
        (
            _SET_OUT,
            Seen(tag="tom1", stage=Stage.FLOWERING),
            after(15),
            "tom1 was set-out on 2026-03-22; it cannot have been first flowering on",
        ),
        (
            [*struck("tom1"), *on(after(9), Lost(tag="tom1", count=4, why="rot"))],
            Seen(tag="tom1", stage=Stage.ROOTED),
            after(10),
            "tom1 is gone: lost on 2026-03-11",
        ),
        (
            struck("tom1"),
            Seen(tag="tom", stage=Stage.ROOTED),
            after(9),
            "no planting has the tag 'tom'; did you mean 'tom1'?",
        ),
    ],
)
def test_a_sighting_that_cannot_be_is_refused(
    before: list[Entry], seen: Seen, day: date, told: str
) -> None:
    """Two days that contradict each other are told both, so that the wrong one can be undone."""
    with pytest.raises(Refusal) as refused:
        planting(before, on(day, seen))
    assert told in str(refused.value)
