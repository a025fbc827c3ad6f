"""The outlook: turns to come, each counted from the one before, and keys that stay."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from cropplan.holding.entry import Done, DutyAdded, Entry, Marked, PutOff
from cropplan.holding.planting import Stage
from cropplan.holding.span import Basis
from cropplan.holding.task import Task
from cropplan.schedule.outlook import lead_key, outlook, outlook_tasks
from cropplan.schedule.rounds import Line
from tests.builders import (
    START,
    about,
    after,
    bare_house,
    bearing,
    flowering,
    on,
    own_duty,
    seen_from,
    standing,
    struck,
    task,
)


def tasks(duty: str, *days: Iterable[Entry], today: date, span: int = 60) -> list[Task]:
    """The turns of a duty in the outlook, by day."""
    scene = seen_from(bare_house(), *days, today=today)
    found = outlook_tasks(scene, today + timedelta(days=span))
    return sorted((t for t in found if t.key.duty == duty), key=lambda t: (t.due, t.key))


def lines(*days: Iterable[Entry], today: date, span: int = 60) -> list[Line]:
    """The lines of the outlook."""
    scene = seen_from(bare_house(), *days, today=today)
    return outlook(scene, today + timedelta(days=span))


FLOWERING = flowering()


def test_later_turns_follow_each_from_the_one_before() -> None:
    """Every second day from today on, with rising turn numbers."""
    turns = tasks("pollinate", FLOWERING, today=after(34), span=8)
    assert [(t.due, t.key.turn) for t in turns] == [
        (after(34), 1),
        (after(36), 2),
        (after(38), 3),
        (after(40), 4),
        (after(42), 5),
    ]
    assert turns[1].why == "every 2 days, from the turn before"


def test_late_work_moves_the_turns_after_it_and_keeps_their_keys() -> None:
    """Late work does not pile up: the later turns move with the open one (design §4.1)."""
    on_time = tasks("pollinate", FLOWERING, today=after(34), span=12)
    late = tasks("pollinate", FLOWERING, today=after(37), span=9)
    assert [(t.due, t.key.turn) for t in late][:3] == [
        (after(34), 1),
        (after(39), 2),
        (after(41), 3),
    ]
    assert [t.key for t in late] == [t.key for t in on_time][: len(late)]
    done = on(after(37), Done(duty="pollinate", subjects=(about("tom1"),)))
    assert tasks("pollinate", FLOWERING, done, today=after(37), span=9)[0].key.turn == 2


def test_a_turn_put_off_takes_the_later_ones_along() -> None:
    """Its key stays, and the next counts from the new day."""
    later = on(after(34), PutOff(duty="pollinate", subjects=(about("tom1"),), to=after(37)))
    turns = tasks("pollinate", FLOWERING, later, today=after(34), span=6)
    assert [(t.due, t.key.turn) for t in turns] == [(after(37), 1), (after(39), 2)]


def test_rounds_of_a_stage_to_come_are_shown_from_its_likely_day() -> None:
    """Pollination of plants not yet in flower is predicted, and keeps its key when it opens."""
    young = FLOWERING[:-1]
    told = tasks("pollinate", young, today=after(21))
    assert told[0].basis is Basis.PREDICTED
    assert told[0].earliest <= told[0].due <= told[0].latest
    opened = task(seen_from(bare_house(), FLOWERING, today=after(34)), "pollinate", "tom1")
    assert opened is not None
    assert opened.key == told[0].key


def test_watches_to_come_are_shown_once() -> None:
    """Setting out and the first pick, before their stage has opened."""
    for duty in ("set-out", "first-fruit"):
        told = tasks(duty, struck("tom1"), today=START, span=200)
        assert [t.key.turn for t in told] == [1]
        assert told[0].why.startswith("expected ")


def test_a_plants_rounds_end_with_its_picking() -> None:
    """No pollination after the plant is likely to be spent; none ends today for one kept on."""
    scene = seen_from(bare_house(), bearing(), today=after(90))
    ends = scene.timelines["tom1"].dates[Stage.SPENT].likely
    told = tasks("pollinate", bearing(), today=after(90), span=500)
    assert max(t.due for t in told) <= ends
    kept = tasks("pollinate", bearing(), today=ends + timedelta(days=20), span=30)
    assert len(kept) > 5


def test_insects_and_forbidden_flowers_are_left_out() -> None:
    """What must not be pollinated by hand is not in the calendar either."""
    young = FLOWERING[:-1]
    marked = on(after(21), Marked(tag="tom1", by_insects=True))
    assert tasks("pollinate", young, marked, today=after(22)) == []
    cucumber = standing("cuc1", crop="cucumber", stage=Stage.SET_OUT)
    assert tasks("pollinate", cucumber, today=after(5), span=300) == []


def test_only_days_worth_a_phone_are_shown() -> None:
    """Daily looks stay on the morning list."""
    duties = {line.duty for line in lines(bearing(), struck("tom2", after(80)), today=after(90))}
    assert {"pollinate", "drain", "test-water", "set-out"} <= duties
    assert not duties & {"fish", "pumps", "heat", "mist-cuttings", "pick", "check-roots"}


def test_the_same_work_of_one_day_is_one_line_known_by_its_first_key() -> None:
    """One event a handle and day; its key is that of its first task."""
    both = [*bearing("tom1", "B1"), *bearing("tom2", "B2")]
    found = [x for x in lines(both, today=after(90)) if x.duty == "pollinate"]
    assert found[0].places == ("B1", "B2")
    assert lead_key(found[0]) == "pollinate/planting:tom1/1"
    keys = [lead_key(x) for x in lines(both, today=after(90), span=200)]
    assert len(keys) == len(set(keys))


def test_fixed_days_are_shown_as_they_fall_and_not_those_gone_by() -> None:
    """What stays shows its first unanswered day and the days from today on."""
    own = own_duty(every_days=None, rule="FREQ=WEEKLY;BYDAY=MO")
    days = on(START, DutyAdded(duty=own))
    told = tasks("own-1", days, today=after(16), span=14)
    assert [(t.due, t.key.turn) for t in told] == [(START, 1), (after(21), 2), (after(28), 3)]


def test_own_intervals_are_shown_too() -> None:
    """Own duties are worth a day on the phone, the grower said so."""
    own = own_duty(begins=after(3), every_days=10)
    told = tasks("own-1", on(START, DutyAdded(duty=own)), today=START, span=30)
    assert [t.due for t in told] == [after(3), after(13), after(23)]


def test_nothing_is_shown_beyond_the_last_day() -> None:
    """The window of the calendar is kept."""
    assert all(x.due <= after(120) for x in lines(bearing(), today=after(90), span=30))
