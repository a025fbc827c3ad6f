"""What a sync does, decided as values: first from what the server says, then what to tell it.

Nothing here asks a server or writes a record. What is known of a task (`SyncedTask.mark`, how it
stood there) meets how it stands in the record (`Standing`); the two tables are `hear` and `tell`.

| the server's copy is | the record says | and so |
|---|---|---|
| newly ticked | not done | the tick is written: it is never lost |
| newly ticked | done | they agree; nothing is written, so that it is not doubled |
| no longer ticked | done | what its tick wrote is undone |
| removed, was ticked | any | forgotten: a finished task was cleared away |
| removed, was open | open | asked about: done, skipped or bring back? |
| removed, was open | otherwise | forgotten |

| known of the server | the record says | and so |
|---|---|---|
| nothing | open | sent |
| open | open | told anew when what it shows has changed |
| open | done | shown as done |
| open | has ceased | removed |
| ticked | open | shown as open again, unless its tick waits for a word |
| ticked | done, ceased | removed after `KEPT_DAYS` |
| removed there | open | asked about each time, until answered |
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import Enum

from cropplan.holding.synced import Mark, SyncedTask

#: A finished task stays on the phone so long, so that a slip can be un-ticked there. [d] The
#: project's own choice; a week covers a weekend away from the phone.
KEPT_DAYS = 7

# What no grower does in one go is asked about. The project's own choice, after the habit of file
# synchronisers of refusing when one side is suddenly empty.
#: Fewer tasks than this are no crowd.
FEW = 5
#: A busy morning ticks this many, and most of a small house's list.
BUSY_MORNING = 20


class Standing(Enum):
    """How a task stands in the record.

    CEASED : it is neither open nor done: skipped, taken into another line, or not called for.
    """

    OPEN = "open"
    DONE = "done"
    CEASED = "ceased"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A task that the server should show as open.

    digest : of what it shows, so that a change is noticed.
    """

    uid: str
    summary: str
    keys: tuple[str, ...]
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A task's copy on the server, as just read.

    mark : open, done or cancelled. stamp : when it was ticked, if the copy says. [UTC]
    keys : of the turns it stands for, as the copy says; empty when it does not.
    """

    uid: str
    path: str
    etag: str | None
    mark: Mark
    stamp: datetime | None = None
    keys: tuple[str, ...] = ()


class Heard(Enum):
    """What to do about what the server says of a task."""

    SETTLE = "settle"
    TICK = "tick"
    UNTICK = "untick"
    FORGET = "forget"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hearing:
    """What to do about one task; `task` is what is known of it once that is done."""

    heard: Heard
    task: SyncedTask


def hear(
    known: Mapping[str, SyncedTask],
    seen: Iterable[Seen],
    gone: Collection[str],
    standings: Mapping[str, Standing],
    today: date,
) -> list[Hearing]:
    """What to do about what the server says.

    known : every task known, by UID. seen : the copies just read, of known tasks only.
    gone : paths that are no longer there. standings : of every task known.
    """
    by_uid: dict[str, Seen] = {}
    for one in seen:
        # A client that copies and deletes leaves a task twice for a while; a tick on either counts.
        if one.uid not in by_uid or one.mark is Mark.DONE:
            by_uid[one.uid] = one
    hearings: list[Hearing] = []
    for uid, task in known.items():
        if uid in by_uid:
            hearings.append(_of_copy(task, by_uid[uid], standings[uid], today))
        # One that was never seen there was cut off before it arrived, and is sent again.
        elif task.href in gone and task.mark not in {Mark.GONE, Mark.UNSENT}:
            hearings.append(_of_absence(task, standings[uid]))
    return hearings


def _of_copy(task: SyncedTask, seen: Seen, standing: Standing, today: date) -> Hearing:
    ticked_before = task.mark is Mark.DONE
    # A stamp is also known of a tick of our own that may have been cut off on its way.
    the_same = seen.stamp == task.stamp and (ticked_before or task.stamp is not None)
    after = replace(task, href=seen.path, etag=seen.etag, mark=seen.mark, stamp=seen.stamp)
    if seen.mark is Mark.DONE and not the_same:
        # The copy's own keys are the places that whoever ticked it had before them.
        after = replace(after, keys=seen.keys or task.keys, question=None, closed=today)
        done = standing is Standing.DONE
        return Hearing(heard=Heard.SETTLE if done else Heard.TICK, task=after)
    if seen.mark is Mark.DONE:
        return Hearing(heard=Heard.SETTLE, task=replace(after, closed=task.closed or today))
    after = replace(after, question=None, closed=None)
    if ticked_before and standing is Standing.DONE:
        return Hearing(heard=Heard.UNTICK, task=after)
    return Hearing(heard=Heard.SETTLE, task=after)


def _of_absence(task: SyncedTask, standing: Standing) -> Hearing:
    cleared = task.mark is Mark.DONE and task.question is None
    if standing is Standing.OPEN and not cleared:
        return Hearing(heard=Heard.SETTLE, task=replace(task, mark=Mark.GONE, etag=None))
    return Hearing(heard=Heard.FORGET, task=task)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fright:
    """Something no grower does in one go: so many of so many tasks at once."""

    happened: str
    many: int
    of: int


def frightening(
    known: Mapping[str, SyncedTask],
    hearings: Iterable[Hearing],
    standings: Mapping[str, Standing],
) -> Fright | None:
    """What looks like an accident on the server: all emptied, all ticked or all un-ticked."""
    listed = list(hearings)
    open_there = [t for t in known.values() if t.mark is Mark.OPEN and t.etag is not None]
    was_open = {t.uid for t in open_there if standings[t.uid] is Standing.OPEN}
    was_done = {t.uid for t in known.values() if t.mark is Mark.DONE}
    vanished = [h for h in listed if h.task.uid in was_open and h.task.mark is Mark.GONE]
    ticked = [h for h in listed if h.task.uid in was_open and h.heard is Heard.TICK]
    unticked = [h for h in listed if h.heard is Heard.UNTICK]
    if len(vanished) >= FEW and 2 * len(vanished) > len(was_open):
        return Fright(happened="have vanished", many=len(vanished), of=len(was_open))
    if len(unticked) >= FEW and 2 * len(unticked) > len(was_done):
        return Fright(happened="were un-ticked", many=len(unticked), of=len(was_done))
    if len(ticked) > BUSY_MORNING and 10 * len(ticked) >= 9 * len(was_open):
        return Fright(happened="were ticked", many=len(ticked), of=len(was_open))
    return None


class Tell(Enum):
    """What to tell the server of a task."""

    CREATE = "create"
    SHOW_OPEN = "show open"
    SHOW_DONE = "show done"
    REMOVE = "remove"
    FORGET = "forget"
    ASK = "ask"


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """One thing to tell the server; `ASK` and `FORGET` are between the record and the grower.

    task : what is known so far; None for one that was never sent. wanted : what to show of it.
    """

    uid: str
    tell: Tell
    task: SyncedTask | None = None
    wanted: Wanted | None = None


def tell(
    known: Mapping[str, SyncedTask],
    wanted: Mapping[str, Wanted],
    standings: Mapping[str, Standing],
    today: date,
    *,
    bring_back: Collection[str] = (),
) -> list[Telling]:
    """What to tell the server, removals first so that no list is ever longer than it must be.

    known : every task known, by UID. wanted : by UID, exactly those that stand open.
    bring_back : UIDs of tasks asked about that the phone should show as open again.
    """
    told = [
        Telling(uid=uid, tell=what, task=task, wanted=wanted.get(uid))
        for uid, task in known.items()
        if (what := _tell_one(task, wanted.get(uid), standings[uid], today, uid in bring_back))
    ]
    told += [
        Telling(uid=uid, tell=Tell.CREATE, wanted=one)
        for uid, one in wanted.items()
        if uid not in known
    ]
    first = (Tell.FORGET, Tell.ASK, Tell.REMOVE, Tell.SHOW_DONE, Tell.SHOW_OPEN, Tell.CREATE)
    return sorted(told, key=lambda telling: first.index(telling.tell))


def _tell_one(
    task: SyncedTask, wanted: Wanted | None, standing: Standing, today: date, bring_back: bool
) -> Tell | None:
    match task.mark:
        case Mark.UNSENT:
            return Tell.CREATE if wanted else Tell.FORGET
        case Mark.GONE:
            if wanted is None:
                return Tell.FORGET
            return Tell.CREATE if bring_back else Tell.ASK
        case Mark.CANCELLED if wanted:
            return Tell.SHOW_OPEN if bring_back else Tell.ASK
        case Mark.DONE if wanted:
            return Tell.ASK if task.question and not bring_back else Tell.SHOW_OPEN
        case Mark.DONE:
            kept = task.closed is None or (today - task.closed).days < KEPT_DAYS
            return None if kept else Tell.REMOVE
        case _ if wanted:
            changed = (task.digest, task.keys) != (wanted.digest, wanted.keys)
            return Tell.SHOW_OPEN if changed else None
    return Tell.SHOW_DONE if standing is Standing.DONE else Tell.REMOVE
