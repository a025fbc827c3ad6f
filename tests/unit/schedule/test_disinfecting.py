"""A diseased crop in a place without a medium: cleaned before the place is used again."""

from __future__ import annotations

from collections.abc import Iterable

from cropplan.holding.entry import Done, Entry, PlaceRetired, Pulled, Skipped, Tended
from cropplan.holding.place import Care
from cropplan.holding.planting import Stage
from cropplan.holding.task import State, SubjectKind, Task, subject
from tests.builders import after, bare_house, on, seen_from, standing, task

ILL = [
    *standing("str1", "C1", crop="strawberry"),
    *on(after(50), Pulled(tag="str1", why="disease, grey mould")),
]
CHANNEL = (subject(SubjectKind.PLACE, "C1"),)


def asked(*days: Iterable[Entry], today: int, place: str = "C1", duty: str = "disinfect") -> Task:
    """The task of a place that must be there."""
    found = maybe(*days, today=today, place=place, duty=duty)
    assert found is not None
    return found


def maybe(
    *days: Iterable[Entry], today: int, place: str = "C1", duty: str = "disinfect"
) -> Task | None:
    """The task of a place, if it is asked for."""
    return task(seen_from(bare_house(), *days, today=after(today)), duty, place)


def test_a_channel_from_which_a_diseased_plant_was_pulled_is_to_be_disinfected() -> None:
    """The mouldy strawberry is out; before the next plant goes in, the list asks for a clean
    channel, with the care that disinfectant beside fish needs. A channel has no medium to renew.
    """
    line = asked(ILL, today=51)
    assert line.job == "Clean and disinfect the channel"
    assert (line.code, line.places, line.state) == ("di-channel", ("C1",), State.TODAY)
    assert line.why == (
        "a diseased crop stood there on Tue 21 Apr; clean and disinfect before planting again"
    )
    assert line.cautions == ("disinfectant-fish",)
    assert asked(ILL, today=53).state is State.LATE
    assert maybe(ILL, today=51, duty="renew-medium") is None


def test_a_healthy_pull_asks_for_nothing_of_the_kind() -> None:
    """A strawberry that was merely old leaves a channel that may be planted at once."""
    old = [*standing("str1", "C1", crop="strawberry"), *on(after(50), Pulled(tag="str1"))]
    assert maybe(old, today=51) is None


def test_a_bucket_is_renewed_and_not_asked_for_twice() -> None:
    """A place with a medium has its line already: renew or disinfect."""
    ill = [*standing("tom1", "B1"), *on(after(50), Pulled(tag="tom1", why="disease"))]
    assert maybe(ill, today=51, place="B1") is None
    assert "disinfect" in asked(ill, today=51, place="B1", duty="renew-medium").why


def test_once_cleaned_the_line_is_gone_and_the_next_time_is_another_turn() -> None:
    """A second outbreak in the same channel is new work: a phone must not take it for the old."""
    clean = on(after(52), Tended(places=("C1",), care=Care.DISINFECT))
    ticked = on(after(52), Done(duty="disinfect", subjects=CHANNEL))
    assert maybe(ILL, clean, ticked, today=53) is None
    again = [
        *standing("str2", "C1", crop="strawberry", day=after(60)),
        *on(after(90), Pulled(tag="str2", why="disease")),
    ]
    second = asked(ILL, clean, ticked, again, today=91)
    assert second.key.turn == asked(ILL, today=51).key.turn + 1
    assert second.due == after(90)


def test_what_is_skipped_comes_back_and_what_was_found_clean_does_not() -> None:
    """No time today is asked again; steamed by the neighbour and found clean is not."""
    later = on(after(51), Skipped(duty="disinfect", subjects=CHANNEL, why="no time"))
    assert asked(ILL, later, today=52).state is State.COMING
    fine = Skipped(duty="disinfect", subjects=CHANNEL, why="steamed", not_needed=True)
    assert maybe(ILL, on(after(51), fine), today=52) is None


def test_a_bed_is_cleaned_once_the_last_plant_is_out_and_a_retired_place_never() -> None:
    """Disinfectant is not poured round a living chard; a channel out of use stays as it is."""
    bed = [
        *standing("cha1", "W1", crop="chard", stage=Stage.PICKING),
        *standing("cha2", "W1", crop="chard", stage=Stage.PICKING),
        *on(after(50), Pulled(tag="cha1", why="disease")),
    ]
    assert maybe(bed, today=51, place="W1") is None
    cleared = on(after(60), Pulled(tag="cha2"))
    assert asked(bed, cleared, today=61, place="W1").job == "Clean and disinfect the bed"
    assert maybe(ILL, on(after(51), PlaceRetired(place="C1")), today=52) is None
