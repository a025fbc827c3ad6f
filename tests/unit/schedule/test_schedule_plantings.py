"""What plantings ask for: rounds of work by stage, and stages to look for until they are seen."""

from __future__ import annotations

from datetime import timedelta

import pytest

from cropplan.holding.entry import Done, DutySet, Marked, Picked, PutOff, Skipped
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.task import Part, State
from tests.asking import asked, surely
from tests.builders import (
    START,
    about,
    after,
    bearing,
    bought,
    cuttings,
    flowering,
    on,
    rooted_tray,
    saw,
    set_out,
    sown,
    standing,
    struck,
)

FLOWERING = flowering()


def test_pollination_begins_with_the_flower_and_runs_from_the_day_it_was_done() -> None:
    """Every second day in the dry middle of the day, from the first open flower on."""
    first = surely("pollinate", "tom1", FLOWERING, today=after(34))
    assert (first.due, first.state, first.part) == (after(34), State.TODAY, Part.MIDDAY)
    done = on(after(35), Done(duty="pollinate", subjects=(about("tom1"),)))
    second = surely("pollinate", "tom1", FLOWERING, done, today=after(35))
    assert (second.due, second.key.turn) == (after(37), 2)


@pytest.mark.parametrize(
    ("crop", "tag", "stage"),
    [("cucumber", "cuc1", Stage.FLOWERING), ("basil", "bas1", Stage.FLOWERING)],
)
def test_what_must_not_or_need_not_be_pollinated_never_is(
    crop: str, tag: str, stage: Stage
) -> None:
    """A parthenocarpic cucumber goes seedy; leaf crops are not picked for their fruit."""
    days = [*standing(tag, stage=Stage.SET_OUT, crop=crop), *saw(tag, stage, after(3))]
    for day in (after(3), after(10)):
        assert asked("pollinate", tag, days, today=day) is None


def test_insects_take_over_and_give_back() -> None:
    """While insects do the work the hand tasks pause."""
    marked = on(after(40), Marked(tag="tom1", by_insects=True))
    assert asked("pollinate", "tom1", FLOWERING, marked, today=after(41)) is None
    back = on(after(60), Marked(tag="tom1", by_insects=False))
    assert asked("pollinate", "tom1", FLOWERING, marked, back, today=after(60)) is not None


def test_a_rest_leaves_no_arrears() -> None:
    """Pollination and picking pause; on return the work begins that day, not weeks ago."""
    days = [
        *bearing(),
        *on(after(148), Done(duty="pollinate", subjects=(about("tom1"),)), Picked(tag="tom1")),
        *saw("tom1", Stage.RESTING, after(150)),
    ]
    assert asked("pollinate", "tom1", days, today=after(170)) is None
    assert asked("pick", "tom1", days, today=after(170)) is None
    back = saw("tom1", Stage.FLOWERING, after(190))
    again = surely("pollinate", "tom1", days, back, today=after(190))
    assert (again.due, again.state) == (after(190), State.TODAY)
    fruit = saw("tom1", Stage.FRUITING, after(230))
    pick = surely("pick", "tom1", days, back, fruit, today=after(230))
    assert (pick.due, pick.state) == (after(230), State.TODAY)


def test_first_flowers_are_stripped_and_not_pollinated() -> None:
    """Strawberries just set out lose their first flowers for some weeks."""
    days = [
        *struck("str1", crop="strawberry", count=1, way=Origin.RUNNER),
        *set_out("str1", after(30), ("C1", 1, "str1")),
        *saw("str1", Stage.FLOWERING, after(40)),
    ]
    assert asked("pollinate", "str1", days, today=after(41)) is None
    assert asked("strip-flowers", "str1", days, today=after(41)) is not None
    assert asked("pollinate", "str1", days, today=after(90)) is not None
    assert asked("strip-flowers", "str1", days, today=after(90)) is None


def test_own_intervals_hold_for_crops_too() -> None:
    """The grower picks every day, whatever the catalogue says."""
    daily = on(after(84), DutySet(duty="pick", every_days=1))
    done = on(after(90), Picked(tag="tom1"))
    assert surely("pick", "tom1", bearing(), daily, done, today=after(90)).due == after(91)


def test_only_bearing_plants_of_unknown_age_are_judged() -> None:
    """Their end cannot be reckoned, so somebody looks each month."""
    assert asked("judge-age", "tom1", standing("tom1"), today=after(40)) is not None
    assert asked("judge-age", "tom1", bearing(), today=after(120)) is None
    assert (
        asked("judge-age", "tom1", standing("tom1", stage=Stage.FLOWERING), today=after(9)) is None
    )


def test_roots_are_looked_for_from_the_likely_day_and_again_until_all_are_there() -> None:
    """Ask after the expected date; never move a batch to rooted unasked."""
    first = surely("check-roots", "tom1", struck("tom1"), today=START)
    assert first.state is State.COMING
    assert first.earliest < first.due < first.latest
    overdue = surely("check-roots", "tom1", struck("tom1"), today=first.latest + timedelta(days=1))
    assert (overdue.due, overdue.state) == (first.due, State.LATE)
    assert "past the likely day" in overdue.why
    looked = on(first.due, Done(duty="check-roots", subjects=(about("tom1"),)))
    again = surely("check-roots", "tom1", struck("tom1"), looked, today=first.due)
    assert (again.due, again.key.turn) == (first.due + timedelta(days=4), 2)
    assert again.why.startswith("looked today; expected")


def test_a_tray_that_rooted_in_part_is_looked_at_again() -> None:
    """Two of four have rooted: the other two are still waited for."""
    part = [*struck("tom1"), *saw("tom1", Stage.ROOTED, after(9), 2)]
    again = surely("check-roots", "tom1", part, today=after(10))
    assert again.due == after(13)
    assert again.why.startswith("looked yesterday; 2 of 4 rooted so far")
    whole = [*part, *saw("tom1", Stage.ROOTED, after(13), 4)]
    assert asked("check-roots", "tom1", whole, today=after(14)) is None


def test_seedlings_are_looked_for_in_part_too() -> None:
    """Six of ten up: the other four may follow."""
    part = [*sown("let1"), *saw("let1", Stage.EMERGED, after(4), 6)]
    assert surely("check-seedlings", "let1", part, today=after(5)).due == after(7)
    assert (
        asked("check-seedlings", "let1", part, saw("let1", Stage.EMERGED, after(7)), today=after(8))
        is None
    )


def test_a_look_before_its_time_changes_nothing() -> None:
    """Looking at cuttings on the second day says nothing of the twelfth."""
    first = surely("check-roots", "tom1", struck("tom1"), today=START)
    early = on(after(1), Done(duty="check-roots", subjects=(about("tom1"),)))
    assert surely("check-roots", "tom1", struck("tom1"), early, today=after(2)).due == first.due


def test_plants_of_unknown_age_are_looked_at_now_and_then_again() -> None:
    """`Any flowers yet?` once, then weekly; never by a calendar that was made up."""
    old = standing("tom1", stage=Stage.SET_OUT)
    first = surely("first-flower", "tom1", old, today=after(5))
    assert (first.due, first.why) == (after(5), "no day to count from")
    looked = on(after(5), Done(duty="first-flower", subjects=(about("tom1"),)))
    assert surely("first-flower", "tom1", old, looked, today=after(6)).due == after(12)


def test_plants_with_a_birthday_but_no_setting_out_are_asked_about_too() -> None:
    """A known age alone does not say when the flower comes, if nobody wrote the setting out."""
    act = cuttings(tag="tom1", count=1, place="B1", stage=Stage.SET_OUT, started=after(-40))
    assert surely("first-flower", "tom1", on(START, act), today=after(3)).due == after(3)


def test_setting_out_waits_as_long_as_plants_can_be_held() -> None:
    """Due when fit, late when held too long; looked at and not done, it is asked again."""
    rooted = rooted_tray()
    fit = surely("set-out", "tom1", rooted, today=after(11))
    assert fit.due == after(20)
    assert fit.latest == after(30)
    assert fit.why.startswith("fit to set out")
    assert surely("set-out", "tom1", rooted, today=after(31)).state is State.LATE


def test_flowers_are_not_looked_for_once_seen() -> None:
    """A stage that was seen is waited for no more."""
    assert asked("first-flower", "tom1", FLOWERING, today=after(40)) is None
    assert asked("first-fruit", "tom1", FLOWERING, today=after(40)) is not None


def test_putting_off_moves_the_day_and_keeps_the_task() -> None:
    """A task that is put off keeps its identity and its key."""
    before = surely("pollinate", "tom1", FLOWERING, today=after(36))
    later = on(after(36), PutOff(duty="pollinate", subjects=(about("tom1"),), to=after(39)))
    moved = surely("pollinate", "tom1", FLOWERING, later, today=after(36))
    assert (moved.key, moved.due, moved.state) == (before.key, after(39), State.COMING)
    assert moved.why.startswith("put off to Fri 10 Apr; ")
    assert surely("pollinate", "tom1", FLOWERING, later, today=after(40)).state is State.LATE


def test_a_skip_for_the_weather_is_first_at_the_next_dry_noon() -> None:
    """Skipped as too damp, pollination does not restart its clock."""
    damp = on(
        after(36),
        Skipped(duty="pollinate", subjects=(about("tom1"),), why="too damp"),
    )
    again = surely("pollinate", "tom1", FLOWERING, damp, today=after(37))
    assert (again.due, again.state) == (after(37), State.TODAY)
    assert "skipped on Tue 7 Apr (too damp)" in again.why


def test_quarantine_is_for_bought_plants_only() -> None:
    """Bought-in plants are looked over until they join the others."""
    assert surely("quarantine", "tom1", bought("tom1"), today=after(8)).due == after(7)
    assert asked("mist-cuttings", "tom1", bought("tom1"), today=after(8)) is None
    assert asked("quarantine", "tom1", struck("tom1"), today=after(8)) is None


def test_daily_misting_lapses_and_never_piles_up() -> None:
    """Three mornings missed are one line for today."""
    misting = surely("mist-cuttings", "tom1", struck("tom1"), today=after(3))
    assert (misting.due, misting.state, misting.key.turn) == (after(3), State.TODAY, 1)


def test_minutes_are_for_every_plant() -> None:
    """Twice the plants, twice the time."""
    one = surely("mist-cuttings", "tom1", struck("tom1", count=1), today=START)
    ten = surely("mist-cuttings", "tom1", struck("tom1", count=10), today=START)
    assert ten.minutes == pytest.approx(10 * one.minutes)


def test_the_crops_own_cautions_go_with_what_is_eaten_or_cut() -> None:
    """Cautions travel with the task where work can hurt someone (design §4.10)."""
    days = standing("bas1", "W1", stage=Stage.PICKING, crop="basil")
    assert "raw-greens" in surely("pick", "bas1", days, today=after(1)).cautions
    shoots = surely("side-shoot", "tom1", FLOWERING, today=after(40)).cautions
    assert "plant-virus" in shoots
    assert len(set(shoots)) == len(shoots)
