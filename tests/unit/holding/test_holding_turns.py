"""Turns: done, skipped, not needed, put off; twice on one day, late and early."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import pytest

from cropplan.holding import entry
from cropplan.holding.entry import (
    Act,
    Done,
    Drained,
    DutyAdded,
    DutySet,
    DutyStopped,
    Entry,
    Fed,
    Picked,
    Pulled,
    PutOff,
    Skipped,
    Tended,
    Voided,
)
from cropplan.holding.holding import Turn
from cropplan.holding.place import Care
from cropplan.holding.planting import Stage
from cropplan.holding.replay import apply, replay
from cropplan.holding.task import Subject, SubjectKind, read_subject, subject
from cropplan.holding.turns import turn_of
from cropplan.problems import Refusal
from tests.builders import (
    START,
    about,
    after,
    bare_house,
    bearing,
    held,
    journal,
    on,
    own_duty,
    saw,
    sown,
    struck,
    undone,
)

HOUSE = subject(SubjectKind.HOUSE, "north")


def scouted(day: date, by: str | None = None) -> list[Entry]:
    """The house was walked for pests."""
    return on(day, Done(duty="scout", subjects=(HOUSE,)), by=by)


def skipped(day: date, why: str = "rain", *, not_needed: bool = False) -> list[Entry]:
    """The walk was not done."""
    act = Skipped(duty="scout", subjects=(HOUSE,), why=why, not_needed=not_needed)
    return on(day, act)


def put_off(day: date, to: date) -> list[Entry]:
    """The walk was put off."""
    return on(day, PutOff(duty="scout", subjects=(HOUSE,), to=to))


def turn(*days: Iterable[Entry], duty: str = "scout", of: Subject = HOUSE) -> Turn:
    """Where a duty stands after entries."""
    return turn_of(held(bare_house(), bearing(), *days), duty, of)


def test_a_duty_nobody_answered_stands_at_its_first_turn() -> None:
    """Turns count from 1."""
    assert turn() == Turn(duty="scout", subject=HOUSE)


def test_done_closes_the_turn_and_says_by_whom() -> None:
    """Only done restarts the clock for wear."""
    assert turn(scouted(after(7), "Ann")) == Turn(
        duty="scout",
        subject=HOUSE,
        number=2,
        last_done=after(7),
        last_by="Ann",
        answered=after(7),
    )


def test_the_same_work_entered_twice_for_one_day_is_one() -> None:
    """The same job from phone and desk is harmless: same duty, place and day is one."""
    once = turn(scouted(after(7), "Ann"))
    assert turn(scouted(after(7), "Ann"), scouted(after(7), "Ben")) == once


def test_older_work_written_later_is_history() -> None:
    """The clock runs from the newest day done, in whatever order it was written."""
    assert turn(scouted(after(7)), scouted(after(3))) == turn(scouted(after(7)))


def test_skipping_is_not_doing() -> None:
    """A skip closes the turn, keeps the reason, and leaves the wear counting."""
    then = turn(scouted(after(7)), skipped(after(14)), skipped(after(15), "flu"))
    assert (then.number, then.last_done, then.answered) == (4, after(7), after(15))
    assert (then.skip_why, then.skips) == ("flu", 2)


def test_not_needed_restarts_the_interval() -> None:
    """What was looked at and found not needed counts as looked after."""
    then = turn(scouted(after(7)), skipped(after(14), "clean", not_needed=True))
    assert (then.number, then.last_done, then.skip_why, then.skips) == (3, after(14), None, 0)


def test_done_after_skips_clears_them() -> None:
    """The count of skips in a row starts anew."""
    then = turn(skipped(after(7)), skipped(after(9)), scouted(after(10)))
    assert (then.number, then.skips, then.skip_why) == (4, 0, None)


def test_a_day_that_was_answered_is_not_skipped_too() -> None:
    """Done in the house and skipped at the desk on the same day: it was done."""
    assert turn(scouted(after(7)), skipped(after(7))) == turn(scouted(after(7)))
    assert turn(skipped(after(7)), skipped(after(6))) == turn(skipped(after(7)))


def test_work_written_late_from_before_a_skip_moves_the_clock_only() -> None:
    """The turn it belonged to was closed by the skip; no other turn is."""
    then = turn(skipped(after(9), "rain"), scouted(after(8), "Ann"))
    assert (then.number, then.last_done, then.last_by) == (2, after(8), "Ann")
    assert (then.answered, then.skip_why) == (after(9), "rain")


def test_putting_off_keeps_the_turn() -> None:
    """A task that is put off keeps its identity; an answer takes the new day away again."""
    then = turn(put_off(after(7), after(10)))
    assert (then.number, then.put_off_to) == (1, after(10))
    assert turn(put_off(after(7), after(10)), put_off(after(8), after(12))).put_off_to == after(12)
    assert turn(put_off(after(7), after(10)), scouted(after(9))).put_off_to is None
    assert turn(put_off(after(7), after(10)), skipped(after(9))).put_off_to is None


def test_several_subjects_are_answered_at_once_and_apart() -> None:
    """Per-place ticks: what was not named stays open."""
    holding = held(
        bare_house(),
        bearing("tom1", "B1"),
        bearing("tom2", "B2"),
        bearing("tom3", "B3"),
        on(after(90), Done(duty="pollinate", subjects=(about("tom1"), about("tom2")))),
    )
    numbers = [turn_of(holding, "pollinate", about(f"tom{n}")).number for n in (1, 2, 3)]
    assert numbers == [2, 2, 1]


@pytest.mark.parametrize(
    ("act", "duty", "of"),
    [
        (Picked(tag="tom1"), "pick", about("tom1")),
        (Fed(loop="main", grams=20), "fish", subject(SubjectKind.LOOP, "main")),
        (Drained(loop="main"), "drain", subject(SubjectKind.LOOP, "main")),
        (entry.Tested(loop="main"), "test-water", subject(SubjectKind.LOOP, "main")),
        (
            Tended(places=("B1",), care=Care.CHANGE),
            "renew-medium",
            subject(SubjectKind.PLACE, "B1"),
        ),
        (
            Tended(places=("B1",), care=Care.FLUSH),
            "flush-medium",
            subject(SubjectKind.PLACE, "B1"),
        ),
    ],
)
def test_an_act_of_its_own_answers_its_duty(act: Act, duty: str, of: Subject) -> None:
    """Picking is the pick, feeding the feed: nobody ticks twice."""
    assert turn(on(after(90), act), duty=duty, of=of).last_done == after(90)


def test_topping_up_and_disinfecting_answer_no_renewal() -> None:
    """Different marks; they do not restart the change cycle."""
    place = subject(SubjectKind.PLACE, "B1")
    for care in (Care.TOP_UP, Care.DISINFECT):
        acts = on(after(90), Tended(places=("B1",), care=care))
        assert turn(acts, duty="renew-medium", of=place).number == 1


def test_seeing_roots_or_seedlings_answers_the_look_for_them() -> None:
    """A look that found something is a look."""
    holding = held(
        bare_house(),
        struck("tom1"),
        sown("let1", place="T2"),
        saw("tom1", Stage.ROOTED, after(9), 1),
        saw("let1", Stage.EMERGED, after(4), 6),
    )
    assert turn_of(holding, "check-roots", about("tom1")).last_done == after(9)
    assert turn_of(holding, "check-seedlings", about("let1")).last_done == after(4)


def test_own_intervals_are_kept_and_given_back() -> None:
    """The grower's own interval beats the catalogue's until it is taken back."""
    holding = held(bare_house(), on(after(1), DutySet(duty="scout", every_days=5)))
    assert holding.settings["scout"].every_days == 5
    holding = held(bare_house(), on(after(1), DutySet(duty="scout", every_days=None)))
    assert holding.settings["scout"].every_days is None


def test_a_stopped_duty_runs_again_once_it_is_set() -> None:
    """Stopping keeps the interval; setting one means that it is wanted again."""
    stopped = held(
        bare_house(),
        on(after(1), DutyAdded(duty=own_duty()), DutySet(duty="scout", every_days=5)),
        on(after(2), DutyStopped(duty="own-1"), DutyStopped(duty="scout")),
    )
    assert stopped.settings["own-1"].stopped
    assert (stopped.settings["scout"].stopped, stopped.settings["scout"].every_days) == (True, 5)
    again = held(
        bare_house(),
        on(after(1), DutyAdded(duty=own_duty())),
        on(after(2), DutyStopped(duty="own-1")),
        on(after(3), DutySet(duty="own-1", every_days=10)),
    )
    assert (again.settings["own-1"].stopped, again.own_duties["own-1"].every_days) == (False, 10)


@pytest.mark.parametrize(
    ("act", "told"),
    [
        (
            PutOff(duty="scout", subjects=(HOUSE,), to=after(90)),
            "2026-05-31 is not later than 2026-05-31; work is put off to a later day",
        ),
        (Done(duty="pick", subjects=(about("tom9"),)), "no planting has the tag 'tom9'"),
        (
            Skipped(duty="drain", subjects=(subject(SubjectKind.LOOP, "mian"),), why="cold"),
            "no water loop is called 'mian'; did you mean 'main'?",
        ),
        (
            Done(duty="renew-medium", subjects=(subject(SubjectKind.PLACE, "B9"),)),
            "no place is called 'B9'",
        ),
        (
            PutOff(duty="x", subjects=(subject(SubjectKind.HOUSE, "east"),), to=after(99)),
            "no house is called 'east'",
        ),
        (
            Done(duty="strike", subjects=(subject(SubjectKind.PLAN, "3"),)),
            "the season plan has no strike number 3",
        ),
        (
            DutyAdded(duty=own_duty(subject=subject(SubjectKind.PLAN, "3"))),
            "a duty is about a planting, a place, a water loop or a house",
        ),
        (DutyAdded(duty=own_duty(code="--")), "'--' is no code for a duty"),
        (DutyAdded(duty=own_duty(every_days=None)), "needs either an interval or a rule"),
        (DutyAdded(duty=own_duty(rule="FREQ=DAILY")), "needs either an interval or a rule"),
        (DutyAdded(duty=own_duty(every_days=0)), "an interval is at least 1 day, got 0"),
        (
            DutyAdded(duty=own_duty(subject=subject(SubjectKind.PLANTING, "tom9"))),
            "no planting has the tag 'tom9'",
        ),
        (DutySet(duty="scout", every_days=0), "an interval is at least 1 day, got 0"),
    ],
)
def test_an_answer_that_cannot_be_is_refused(act: Act, told: str) -> None:
    """Nothing is written about what the record does not know."""
    with pytest.raises(Refusal) as refused:
        held(bare_house(), bearing(), on(after(90), act))
    assert told in str(refused.value)


def test_own_duties_are_told_apart() -> None:
    """Two duties with one id or one handle could tick each other."""
    first = on(after(1), DutyAdded(duty=own_duty()))
    with pytest.raises(Refusal, match="the duty 'own-1' is there already"):
        held(bare_house(), first, on(after(2), DutyAdded(duty=own_duty(code="o2"))))
    with pytest.raises(Refusal, match="the code 'o1' is taken by the duty 'own-1'"):
        held(bare_house(), first, on(after(2), DutyAdded(duty=own_duty(id="own-2", code="O-1"))))


def test_own_duties_keep_the_kind_of_their_days() -> None:
    """Fixed days have no interval to set, and an interval of one's own cannot be given back."""
    fixed = own_duty(every_days=None, rule="FREQ=WEEKLY;BYDAY=MO")
    with pytest.raises(Refusal, match=r"own-1 falls on fixed days \(FREQ=WEEKLY;BYDAY=MO\)"):
        held(
            bare_house(),
            on(after(1), DutyAdded(duty=fixed), DutySet(duty="own-1", every_days=3)),
        )
    with pytest.raises(Refusal, match="own-1 is your own duty and needs an interval"):
        held(
            bare_house(),
            on(after(1), DutyAdded(duty=own_duty()), DutySet(duty="own-1", every_days=None)),
        )


def test_answers_about_a_plant_that_is_gone_may_come_late() -> None:
    """A tick may be written after the plant was pulled."""
    ended = [bearing(), on(after(90), Pulled(tag="tom1"))]
    done = on(after(89), Done(duty="pollinate", subjects=(about("tom1"),)))
    holding = held(bare_house(), *ended, done)
    assert turn_of(holding, "pollinate", about("tom1")).last_done == after(89)


def test_replay_leaves_out_what_was_undone() -> None:
    """A mistake is put right by a later entry; what follows is as if it had not been written."""
    entries = journal(bare_house(), scouted(after(7)), scouted(after(9)))
    after_undo = replay(undone(entries, len(entries), after(10)))
    assert after_undo == replay(entries[:-1])


def test_an_undo_is_no_act_of_its_own() -> None:
    """Applying an undo alone has no meaning; the journal is replayed without what it undid."""
    with pytest.raises(Refusal, match="Voided cannot be replayed alone"):
        apply(held(bare_house()), on(START, Voided(entry=1))[0])


def test_the_last_day_entered_is_the_latest_that_happened() -> None:
    """Late entries do not make the record look older than it is."""
    assert held(bare_house(), scouted(after(9)), scouted(after(4))).last_entry == after(9)
    assert held().last_entry is None


def test_a_subject_is_read_back_as_it_was_written() -> None:
    """`kind:code` is the text of a subject everywhere."""
    assert read_subject(str(about("tom1"))) == about("tom1")
    assert read_subject("place:a:b").code == "a:b"
    with pytest.raises(ValueError, match="shed"):
        read_subject("shed:1")
