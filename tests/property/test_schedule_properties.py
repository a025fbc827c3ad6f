"""Whatever was written: one open task a duty and subject, rolling turns, keys that stay."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from cropplan.catalogue.model import Trigger
from cropplan.holding.entry import Done, Entry, PutOff
from cropplan.holding.handle import plain
from cropplan.holding.holding import Holding
from cropplan.holding.planting import Stage
from cropplan.holding.replay import apply, replay
from cropplan.holding.span import Basis
from cropplan.holding.task import Keeps, State, Task
from cropplan.schedule.outlook import lead_key, outlook, outlook_tasks
from cropplan.schedule.rounds import lines_of
from cropplan.schedule.scene import Scene
from cropplan.schedule.tasks import open_calls, open_tasks
from tests.builders import on, scene
from tests.strategies import journals, last_day

#: A scene costs some milliseconds more than a holding.
unhurried = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
some_days = st.integers(0, 40).map(lambda n: timedelta(days=n))


def seen_on(holding: Holding, today: date) -> Scene:
    """The scene of a holding on a day."""
    return scene(holding, today)


def by_subject(tasks: list[Task]) -> dict[tuple[str, str], Task]:
    """Tasks by duty and subject."""
    return {(task.key.duty, str(task.key.subject)): task for task in tasks}


@unhurried
@given(journals(), some_days)
def test_one_duty_has_one_open_task_with_one_subject(entries: list[Entry], wait: timedelta) -> None:
    """One duty never appears twice, however long nobody answered it (design §4.1)."""
    tasks = open_tasks(seen_on(replay(entries), last_day(entries) + wait))
    assert len(by_subject(tasks)) == len(tasks)
    assert len({task.key for task in tasks}) == len(tasks)


@unhurried
@given(journals(), some_days)
def test_windows_are_in_order_and_lapsing_work_is_never_in_arrears(
    entries: list[Entry], wait: timedelta
) -> None:
    """Earliest, due, latest; what lapses is asked for today or later, and is never late."""
    today = last_day(entries) + wait
    for task in open_tasks(seen_on(replay(entries), today)):
        assert task.earliest <= task.due <= task.latest, task
        assert task.minutes >= 0
        assert "{" not in task.job
        assert task.why
        assert "None" not in task.why
        if task.keeps is Keeps.LAPSES:
            assert task.due >= today
            assert task.state is not State.LATE


@unhurried
@given(journals(), some_days, some_days)
def test_keys_and_handles_stay_while_days_move(
    entries: list[Entry], wait: timedelta, more: timedelta
) -> None:
    """As long as nothing is written, a task that is still open has its key and its handle."""
    holding, today = replay(entries), last_day(entries) + wait
    before = by_subject(open_tasks(seen_on(holding, today)))
    then = by_subject(open_tasks(seen_on(holding, today + more)))
    for which in before.keys() & then.keys():
        assert then[which].key == before[which].key
        assert then[which].code == before[which].code


@unhurried
@given(journals(), some_days)
def test_a_handle_means_one_work_on_one_thing_in_one_house(
    entries: list[Entry], wait: timedelta
) -> None:
    """Typed from memory, without hyphens and capitals, a handle can never tick another line."""
    scene = seen_on(replay(entries), last_day(entries) + wait)
    tasks = open_tasks(scene)
    meant: dict[str, set[tuple[str, str, str]]] = defaultdict(set)
    for task in tasks:
        assert task.code == "".join(task.code.split())
        meant[plain(task.code)].add((task.key.duty, task.thing, task.house))
    assert all(len(things) == 1 for things in meant.values()), meant
    due = [line for line in lines_of(tasks, scene.holding) if line.state is not State.COMING]
    assert len({plain(line.handle) for line in due}) == len(due)


@unhurried
@given(journals(), some_days)
def test_every_open_task_is_on_one_line(entries: list[Entry], wait: timedelta) -> None:
    """Gathering leaves nothing out and doubles nothing."""
    scene = seen_on(replay(entries), last_day(entries) + wait)
    tasks = open_tasks(scene)
    on_lines = [key for line in lines_of(tasks, scene.holding) for key in line.keys]
    assert sorted(on_lines) == sorted(task.key for task in tasks)


@unhurried
@given(journals(absences=False), some_days, st.data())
def test_the_next_turn_counts_from_the_day_it_was_done(
    entries: list[Entry], wait: timedelta, data: st.DataObject
) -> None:
    """Rolling: however late or early it was done, the next turn is one interval after that."""
    holding, today = replay(entries), last_day(entries) + wait
    calls = [
        call
        for call in open_calls(seen_on(holding, today))
        if call.duty.trigger is Trigger.INTERVAL and call.every is not None
    ]
    call = data.draw(st.sampled_from(calls))
    turn = holding.turns.get((call.duty.id, call.subject))
    assume(turn is None or turn.answered is None or turn.answered < today)
    (done,) = on(today, Done(duty=call.duty.id, subjects=(call.subject,)))
    then = by_subject(open_tasks(seen_on(apply(holding, done), today)))
    task = then[call.duty.id, str(call.subject)]
    assert task.key.turn == call.turn + 1
    assert call.every is not None
    assert task.due == today + timedelta(days=call.every)
    later = by_subject(open_tasks(seen_on(apply(holding, done), today + timedelta(days=200))))
    assert later.get((call.duty.id, str(call.subject)), task).key == task.key


@unhurried
@given(journals(absences=False), some_days, st.integers(1, 30), st.data())
def test_putting_off_keeps_the_task(
    entries: list[Entry], wait: timedelta, days: int, data: st.DataObject
) -> None:
    """A task that is put off keeps its key, and is not asked for before the new day."""
    holding, today = replay(entries), last_day(entries) + wait
    task = data.draw(st.sampled_from(open_tasks(seen_on(holding, today))))
    to = today + timedelta(days=days)
    (entry,) = on(today, PutOff(duty=task.key.duty, subjects=(task.key.subject,), to=to))
    moved = by_subject(open_tasks(seen_on(apply(holding, entry), today)))[
        task.key.duty, str(task.key.subject)
    ]
    assert moved.key == task.key
    assert moved.code == task.code
    assert moved.due == max(task.due, to)


@unhurried
@given(journals(), some_days)
def test_a_seen_day_stands_in_every_timeline(entries: list[Entry], wait: timedelta) -> None:
    """Seen beats predicted; what is predicted has not come and does not lie in the past."""
    today = last_day(entries) + wait
    scene = seen_on(replay(entries), today)
    for tag, timeline in scene.timelines.items():
        planting = scene.holding.plantings[tag]
        for stage, dated in timeline.dates.items():
            if dated.basis is Basis.SEEN:
                assert dated.likely in {planting.seen.get(stage), planting.started}
            else:
                assert stage not in planting.seen or stage is Stage.SPENT
                assert dated.earliest <= dated.likely <= dated.latest
                if stage is not Stage.SPENT:
                    assert dated.likely >= today


@unhurried
@given(journals(), some_days)
def test_the_calendar_names_every_turn_once(entries: list[Entry], wait: timedelta) -> None:
    """No key twice; later turns later; open turns as the rounds have them."""
    today = last_day(entries) + wait
    scene = seen_on(replay(entries), today)
    until = today + timedelta(days=120)
    listed = list(outlook_tasks(scene, until))
    keys = [task.key for task in listed]
    assert len(set(keys)) == len(keys)
    turns = defaultdict(list)
    for task in listed:
        assert task.due <= until
        turns[task.key.duty, task.key.subject].append((task.key.turn, task.due))
    for told in turns.values():
        days = [day for _, day in sorted(told)]
        assert days == sorted(set(days)), told
    opened = by_subject(open_tasks(scene))
    for task in listed:
        still = opened.get((task.key.duty, str(task.key.subject)))
        if still is not None and task.key.turn == still.key.turn:
            assert (task.due, task.code) == (still.due, still.code)
    leads = [lead_key(line) for line in outlook(scene, until)]
    assert len(set(leads)) == len(leads)


@unhurried
@given(journals(), some_days)
def test_nothing_but_survival_is_asked_for_while_away(
    entries: list[Entry], wait: timedelta
) -> None:
    """While away only what must go on is due; the rest pauses without becoming overdue."""
    today = last_day(entries) + wait
    holding = replay(entries)
    away = {
        house
        for house in holding.houses
        for absence in holding.absences
        if absence.holds(today) and absence.house in {None, house}
    }
    for task in open_tasks(seen_on(holding, today)):
        if task.house in away and not task.survival:
            assert task.state is State.COMING, task
