"""What a sync decides: the two tables of `cropplan.sync.decide`, case by case."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from cropplan.holding.synced import Mark, SyncedTask
from cropplan.sync.decide import (
    BUSY_MORNING,
    FEW,
    KEPT_DAYS,
    Heard,
    Hearing,
    Seen,
    Standing,
    Tell,
    Wanted,
    frightening,
    hear,
    tell,
)

TODAY = date(2026, 3, 5)
NOW = datetime(2026, 3, 5, 7, 0, tzinfo=UTC)
EARLIER = NOW - timedelta(hours=3)
OPEN, DONE, CEASED = Standing.OPEN, Standing.DONE, Standing.CEASED


def known(mark: Mark, uid: str = "u1", **more: object) -> SyncedTask:
    """A task as it is known."""
    task = SyncedTask(
        uid=uid,
        summary="Pick tomatoes",
        keys=("pick/planting:tom1/3",),
        href=f"/list/{uid}.ics",
        etag='"1"',
        mark=mark,
        digest="d1",
        sent=EARLIER,
        told=EARLIER,
    )
    return replace(task, **more)  # type: ignore[arg-type]


def seen(mark: Mark, stamp: datetime | None = None, **more: object) -> Seen:
    """Its copy as just read."""
    one = Seen(uid="u1", path="/list/u1.ics", etag='"2"', mark=mark, stamp=stamp)
    return replace(one, **more)  # type: ignore[arg-type]


def heard(task: SyncedTask, copy: Seen, standing: Standing) -> Hearing:
    """What is decided about one copy."""
    (hearing,) = hear({task.uid: task}, [copy], (), {task.uid: standing}, TODAY)
    return hearing


HEARD = [
    # known as, its stamp, the copy says, its stamp, the record says -> what to do
    (Mark.OPEN, None, Mark.DONE, NOW, OPEN, Heard.TICK),
    (Mark.OPEN, None, Mark.DONE, None, OPEN, Heard.TICK),
    (Mark.OPEN, None, Mark.DONE, NOW, CEASED, Heard.TICK),
    (Mark.OPEN, None, Mark.DONE, NOW, DONE, Heard.SETTLE),
    (Mark.UNSENT, None, Mark.DONE, NOW, OPEN, Heard.TICK),
    (Mark.GONE, None, Mark.DONE, NOW, OPEN, Heard.TICK),
    (Mark.CANCELLED, None, Mark.DONE, NOW, OPEN, Heard.TICK),
    (Mark.DONE, EARLIER, Mark.DONE, EARLIER, OPEN, Heard.SETTLE),
    (Mark.DONE, EARLIER, Mark.DONE, NOW, OPEN, Heard.TICK),
    (Mark.DONE, EARLIER, Mark.DONE, NOW, DONE, Heard.SETTLE),
    (Mark.DONE, None, Mark.DONE, None, OPEN, Heard.SETTLE),
    (Mark.DONE, EARLIER, Mark.OPEN, None, DONE, Heard.UNTICK),
    (Mark.DONE, EARLIER, Mark.OPEN, None, OPEN, Heard.SETTLE),
    (Mark.DONE, EARLIER, Mark.OPEN, None, CEASED, Heard.SETTLE),
    (Mark.OPEN, None, Mark.OPEN, None, DONE, Heard.SETTLE),
    (Mark.OPEN, None, Mark.CANCELLED, None, OPEN, Heard.SETTLE),
]


@pytest.mark.parametrize(("mark", "stamp", "says", "said_at", "standing", "wanted"), HEARD)
def test_each_copy_is_heard_as_the_table_says(
    mark: Mark,
    stamp: datetime | None,
    says: Mark,
    said_at: datetime | None,
    standing: Standing,
    wanted: Heard,
) -> None:
    """The first table of `decide`; a tick newer than the one known is a new tick."""
    hearing = heard(known(mark, stamp=stamp), seen(says, said_at), standing)
    assert hearing.heard is wanted
    assert (hearing.task.mark, hearing.task.stamp, hearing.task.etag) == (says, said_at, '"2"')


def test_a_tick_of_our_own_that_was_cut_off_is_not_taken_for_the_phones() -> None:
    """The stamp is kept before it is told, so the copy is known again by it."""
    hearing = heard(known(Mark.OPEN, stamp=NOW), seen(Mark.DONE, NOW), OPEN)
    assert hearing.heard is Heard.SETTLE


def test_a_tick_is_about_the_turns_that_the_copy_shows() -> None:
    """What stood on the phone when it was ticked is what was done."""
    copy = seen(Mark.DONE, NOW, keys=("pick/planting:tom2/1",))
    assert heard(known(Mark.OPEN), copy, OPEN).task.keys == ("pick/planting:tom2/1",)
    assert heard(known(Mark.OPEN), seen(Mark.DONE, NOW), OPEN).task.keys == (
        "pick/planting:tom1/3",
    )


ABSENT = [
    (known(Mark.OPEN), OPEN, Mark.GONE),
    (known(Mark.CANCELLED), OPEN, Mark.GONE),
    (known(Mark.DONE, question="how many?"), OPEN, Mark.GONE),
    (known(Mark.OPEN), DONE, None),
    (known(Mark.OPEN), CEASED, None),
    (known(Mark.DONE), OPEN, None),
    (known(Mark.DONE), DONE, None),
]


@pytest.mark.parametrize(("task", "standing", "mark"), ABSENT)
def test_what_was_removed_there_is_asked_about_or_forgotten_but_never_done(
    task: SyncedTask, standing: Standing, mark: Mark | None
) -> None:
    """Checklist row 39: a resource that is gone is dismissed, not done."""
    (hearing,) = hear({"u1": task}, [], {task.href}, {"u1": standing}, TODAY)
    if mark is None:
        assert hearing.heard is Heard.FORGET
    else:
        assert hearing.heard is Heard.SETTLE
        assert hearing.task.mark is mark
        assert hearing.task.question == task.question


@pytest.mark.parametrize("mark", [Mark.UNSENT, Mark.GONE])
def test_what_was_never_there_or_is_asked_about_already_is_not_removed_again(mark: Mark) -> None:
    """Neither can vanish a second time."""
    assert hear({"u1": known(mark)}, [], {"/list/u1.ics"}, {"u1": OPEN}, TODAY) == []


def test_of_two_copies_of_one_task_the_ticked_one_counts() -> None:
    """Some programs copy and then delete; a tick made in between must not be lost."""
    copies = [seen(Mark.DONE, NOW, path="/list/copy.ics"), seen(Mark.OPEN)]
    for order in (copies, copies[::-1]):
        (hearing,) = hear({"u1": known(Mark.OPEN)}, order, (), {"u1": OPEN}, TODAY)
        assert hearing.heard is Heard.TICK


WANTED = Wanted(uid="u1", summary="Pick tomatoes", keys=("pick/planting:tom1/3",), digest="d1")
CHANGED = replace(WANTED, digest="d2")
LONG_AGO = TODAY - timedelta(days=KEPT_DAYS)

TOLD = [
    (None, WANTED, OPEN, Tell.CREATE),
    (known(Mark.UNSENT), WANTED, OPEN, Tell.CREATE),
    (known(Mark.UNSENT), None, DONE, Tell.FORGET),
    (known(Mark.OPEN), WANTED, OPEN, None),
    (known(Mark.OPEN), CHANGED, OPEN, Tell.SHOW_OPEN),
    (known(Mark.OPEN), replace(WANTED, keys=("pick/planting:tom2/1",)), OPEN, Tell.SHOW_OPEN),
    (known(Mark.OPEN), None, DONE, Tell.SHOW_DONE),
    (known(Mark.OPEN), None, CEASED, Tell.REMOVE),
    (known(Mark.DONE, closed=TODAY), WANTED, OPEN, Tell.SHOW_OPEN),
    (known(Mark.DONE, closed=TODAY, question="how many?"), WANTED, OPEN, Tell.ASK),
    (known(Mark.DONE, closed=TODAY), None, DONE, None),
    (known(Mark.DONE, closed=LONG_AGO), None, DONE, Tell.REMOVE),
    (known(Mark.DONE, closed=LONG_AGO), None, CEASED, Tell.REMOVE),
    (known(Mark.GONE), WANTED, OPEN, Tell.ASK),
    (known(Mark.GONE), None, DONE, Tell.FORGET),
    (known(Mark.CANCELLED), WANTED, OPEN, Tell.ASK),
    (known(Mark.CANCELLED), None, DONE, Tell.SHOW_DONE),
    (known(Mark.CANCELLED), None, CEASED, Tell.REMOVE),
]


@pytest.mark.parametrize(("task", "wanted", "standing", "what"), TOLD)
def test_each_task_is_told_as_the_table_says(
    task: SyncedTask | None, wanted: Wanted | None, standing: Standing, what: Tell | None
) -> None:
    """The second table of `decide`."""
    tellings = tell(
        {} if task is None else {"u1": task},
        {} if wanted is None else {"u1": wanted},
        {"u1": standing},
        TODAY,
    )
    assert [telling.tell for telling in tellings] == ([] if what is None else [what])


@pytest.mark.parametrize(
    ("task", "what"),
    [
        (known(Mark.GONE), Tell.CREATE),
        (known(Mark.CANCELLED), Tell.SHOW_OPEN),
        (known(Mark.DONE, question="how many?"), Tell.SHOW_OPEN),
    ],
)
def test_what_is_asked_about_comes_back_when_the_grower_says_so(
    task: SyncedTask, what: Tell
) -> None:
    """Dismissed on the phone: done, skipped or bring back?"""
    (telling,) = tell({"u1": task}, {"u1": WANTED}, {"u1": OPEN}, TODAY, bring_back={"u1"})
    assert telling.tell is what


def test_removals_are_told_before_what_is_new() -> None:
    """So that a phone never shows the same work twice for longer than it must."""
    tellings = tell(
        {"u2": known(Mark.OPEN, "u2")}, {"u1": WANTED}, {"u1": OPEN, "u2": CEASED}, TODAY
    )
    assert [telling.tell for telling in tellings] == [Tell.REMOVE, Tell.CREATE]


def many(count: int, mark: Mark = Mark.OPEN, first: int = 0) -> dict[str, SyncedTask]:
    """So many tasks as known."""
    return {f"m{n}": known(mark, f"m{n}") for n in range(first, first + count)}


def vanished(tasks: dict[str, SyncedTask], count: int) -> list[Hearing]:
    """So many of them are gone."""
    gone = {task.href for task in list(tasks.values())[:count]}
    return hear(tasks, [], gone, dict.fromkeys(tasks, OPEN), TODAY)


def marked(
    tasks: dict[str, SyncedTask], count: int, mark: Mark, standing: Standing
) -> list[Hearing]:
    """So many of them now bear another mark."""
    copies = [
        Seen(uid=task.uid, path=task.href, etag='"2"', mark=mark, stamp=NOW)
        for task in list(tasks.values())[:count]
    ]
    return hear(tasks, copies, (), dict.fromkeys(tasks, standing), TODAY)


@pytest.mark.parametrize(
    ("of", "many_gone", "frightens"),
    [(40, 20, False), (40, 21, True), (6, 4, False), (FEW, FEW, True), (4, 4, False)],
)
def test_half_a_list_gone_at_once_frightens(of: int, many_gone: int, frightens: bool) -> None:
    """A list emptied by mistake is met by a question; a few dismissals are not."""
    tasks = many(of)
    fright = frightening(tasks, vanished(tasks, many_gone), dict.fromkeys(tasks, OPEN))
    assert (fright is not None) == frightens
    if fright is not None:
        assert (fright.many, fright.of) == (many_gone, of)


@pytest.mark.parametrize(
    ("of", "ticked", "frightens"),
    [(40, 36, True), (40, 35, False), (BUSY_MORNING, BUSY_MORNING, False), (21, 21, True)],
)
def test_nearly_all_ticked_at_once_frightens_but_a_busy_morning_does_not(
    of: int, ticked: int, frightens: bool
) -> None:
    """A program that completes everything is met by a question."""
    tasks = many(of)
    standings = dict.fromkeys(tasks, OPEN)
    fright = frightening(tasks, marked(tasks, ticked, Mark.DONE, OPEN), standings)
    assert (fright is not None) == frightens


@pytest.mark.parametrize(("of", "unticked", "frightens"), [(8, 5, True), (10, 5, False)])
def test_most_ticks_taken_back_at_once_frightens(of: int, unticked: int, frightens: bool) -> None:
    """A server put back from an old backup would undo a week's work."""
    tasks = many(of, Mark.DONE)
    standings = dict.fromkeys(tasks, DONE)
    fright = frightening(tasks, marked(tasks, unticked, Mark.OPEN, DONE), standings)
    assert (fright is not None) == frightens
