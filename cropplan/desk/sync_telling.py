"""The second half of a sync: what a calendar server should show, and how it is told."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from cropplan.desk.sync_picture import Picture, picture, standings_of
from cropplan.desk.sync_run import Question, Run
from cropplan.holding.synced import Mark, SyncedTask
from cropplan.ics import todo
from cropplan.problems import BadData
from cropplan.record import synced
from cropplan.sync import decide
from cropplan.sync.decide import Tell, Telling
from cropplan.sync.storage import Rejected, Resource, Stale, UidTaken


def tell(run: Run, back: Collection[str]) -> bool:
    """Tell the server what it should show; whether anything was told or tried."""
    record = run.desk.record
    shown = picture(run.desk, run.days)
    known = _answered(run, shown, synced.read(record))
    tellings = [
        telling
        for telling in decide.tell(
            known,
            shown.wanted,
            standings_of(run.desk, shown, known.values()),
            shown.now.today,
            bring_back=back,
        )
        if telling.uid not in run.report.faults
    ]
    run.report.questions = {
        telling.uid: _question(shown, telling.task)
        for telling in tellings
        if telling.tell is Tell.ASK and telling.task is not None
    }
    forgotten = [telling.uid for telling in tellings if telling.tell is Tell.FORGET]
    active = [t for t in tellings if t.tell not in {Tell.ASK, Tell.FORGET}]
    # Kept before anything is sent: cut off in between, the next run knows its own work again.
    intended = {telling.uid: _intended(run, telling) for telling in active}
    synced.keep(record, intended.values(), forgotten=forgotten)
    changing = [intended[t.uid].href for t in active if t.tell in {Tell.SHOW_OPEN, Tell.SHOW_DONE}]
    there = {resource.path: resource for resource in run.storage.read(changing)}
    told: list[SyncedTask] = []
    removed: list[str] = []
    try:
        for telling in active:
            uid = telling.uid
            after = _tell_one(run, shown, telling, intended[uid], there)
            if after is None:
                removed.append(uid)
            else:
                told.append(after)
    finally:
        synced.keep(record, told, forgotten=removed)
    return bool(active)


def _answered(run: Run, shown: Picture, known: Mapping[str, SyncedTask]) -> dict[str, SyncedTask]:
    """What is known of every task; those that waited for a word given meanwhile wait no more."""
    answered = {
        uid: replace(task, question=None)
        for uid, task in known.items()
        if task.question is not None and uid not in shown.wanted
    }
    synced.keep(run.desk.record, answered.values())
    return {**known, **answered}


def _intended(run: Run, telling: Telling) -> SyncedTask:
    """What is known of a task while it is being told."""
    task, wanted = telling.task, telling.wanted
    match telling.tell:
        case Tell.CREATE if wanted is not None:
            return SyncedTask(
                uid=wanted.uid,
                summary=wanted.summary,
                keys=wanted.keys,
                href=run.storage.path_of(wanted.uid) if task is None else task.href,
                digest=wanted.digest,
                sent=run.moment,
                told=run.moment,
            )
        case Tell.SHOW_DONE if task is not None:
            # With its stamp known ahead, our own tick is never taken for one of the phone's.
            return replace(task, stamp=run.moment)
    assert task is not None  # noqa: S101 - all but what is created is known
    return task


def _tell_one(
    run: Run,
    shown: Picture,
    telling: Telling,
    task: SyncedTask,
    there: Mapping[str, Resource],
) -> SyncedTask | None:
    """Tell the server of one task; what is then known of it, None when it was removed."""
    report = run.report
    try:
        match telling.tell:
            case Tell.CREATE:
                notice = shown.notices[task.uid]
                content = todo.new(notice, uid=task.uid, keys=task.keys, at=run.moment)
                run.storage.create(task.href, content)
                report.sent += 1
                return replace(task, mark=Mark.OPEN)
            case Tell.REMOVE:
                run.storage.remove(task.href, _etag(task))
                report.removed += 1
                return None
            case _:
                after, content = _changed(run, shown, telling, task, there.get(task.href))
                run.storage.replace(task.href, content, _etag(task))
                report.changed += 1
                return after
    except Stale:
        # Changed meanwhile: the next pass reads it again, and decides anew.
        return replace(task, etag=None)
    except UidTaken as fault:
        return _look_for_namesake(run, task, fault)
    except (Rejected, BadData) as fault:
        report.faults[task.uid] = f"'{task.summary}' ({task.href}): {fault}; tried again next time"
        return task


def _changed(
    run: Run,
    shown: Picture,
    telling: Telling,
    task: SyncedTask,
    there: Resource | None,
) -> tuple[SyncedTask, bytes]:
    """The task as it is known once told, and its copy. Raises Stale when it is gone."""
    if there is None:
        raise Stale(f"{task.href} is gone")
    after = replace(task, etag=None, told=run.moment, question=None)
    wanted = telling.wanted
    if telling.tell is Tell.SHOW_DONE or wanted is None:
        after = replace(after, mark=Mark.DONE, closed=shown.now.today)
        notice, keys = None, task.keys
    else:
        notice, keys = shown.notices[task.uid], wanted.keys
        after = replace(
            after,
            mark=Mark.OPEN,
            stamp=None,
            closed=None,
            first_entry=None,
            last_entry=None,
            summary=wanted.summary,
            keys=wanted.keys,
            digest=wanted.digest,
        )
    content = todo.revised(there.content, notice, keys=keys, done=after.stamp, at=run.moment)
    return after, content


def _etag(task: SyncedTask) -> str:
    if task.etag is None:
        raise Rejected(
            "the server gives no ETag for it, so that a tick could be written over unseen; "
            "answer it on the phone"
        )
    return task.etag


def _look_for_namesake(run: Run, task: SyncedTask, fault: UidTaken) -> SyncedTask:
    """Another resource has this task's UID: it is ours, under a name that somebody gave it."""
    if fault.path is not None:
        return replace(task, href=fault.path, etag=None)
    # The server does not say where; with no token, the next pass reads the whole list.
    synced.keep_and_move_on(run.desk.record, [], forgotten=[], token=None)
    return task


def _question(shown: Picture, task: SyncedTask) -> Question:
    handle = shown.lines[task.uid].handle
    if task.question is not None:
        text = task.question
    else:
        text = (
            f"'{task.summary}' was dismissed on the phone: done, skipped or bring back? "
            f"cropplan done {handle} | cropplan skip {handle} --why TEXT | "
            f"cropplan calendar sync --bring-back {handle}"
        )
    return Question(summary=task.summary, handle=handle, text=text)
