"""Keeping a list of tasks on a calendar server in step with the rounds.

One run, in order: the server is asked what has changed and the copies that changed are read;
`decide.hear` says what that means; ticks are written to the journal; `decide.tell` says what the
server should be told; it is told, and asked again until there is nothing more to say. Every step
may be the last: what was kept in the record is enough for the next run to go on from.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

from cropplan.desk import ticked
from cropplan.desk.desk import Desk, first_house
from cropplan.desk.sync_picture import Picture, picture, standings_of, wanted_back
from cropplan.holding.synced import Mark, SyncedTask, TaskList
from cropplan.ics import todo
from cropplan.ics.todo import Copy
from cropplan.problems import BadData, Refusal
from cropplan.record import synced
from cropplan.sync import decide
from cropplan.sync.decide import Heard, Hearing, Seen, Standing, Tell, Telling
from cropplan.sync.storage import (
    Listing,
    Rejected,
    Resource,
    Stale,
    Storage,
    SyncTrouble,
    TokenRefused,
    UidTaken,
)

#: Days ahead of which the phone shows the work; what is late and due today is always shown.
DAYS_AHEAD = 14
#: So often is the server asked again within one run. What is still unsettled then waits.
_PASSES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something only the grower can answer.

    handle : of its line, to answer it by. text : the question, with what to type.
    """

    summary: str
    handle: str
    text: str


@dataclass(slots=True, kw_only=True)
class Report:
    """What a run came to.

    said : what was written to the journal, in words. questions : what must be answered, by UID.
    faults : what could not be read or told, by UID or path; the others went on.
    sent, changed, removed : tasks told to the server.
    stopped : why the run ended early; None when it came to its end.
    """

    said: list[str] = field(default_factory=list)
    questions: dict[str, Question] = field(default_factory=dict)
    faults: dict[str, str] = field(default_factory=dict)
    sent: int = 0
    changed: int = 0
    removed: int = 0
    stopped: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    """What one run works with."""

    desk: Desk
    storage: Storage
    days: int
    report: Report

    @property
    def moment(self) -> datetime:
        """Now, in the whole seconds that a calendar can carry. [UTC]"""
        return self.desk.clock().astimezone(UTC).replace(microsecond=0)


def sync(
    desk: Desk,
    storage: Storage,
    *,
    days: int = DAYS_AHEAD,
    meant: bool = False,
    bring_back: Collection[str] = (),
) -> Report:
    """Bring a list of tasks and the rounds into step.

    meant : what looks like an accident on the server was meant.
    bring_back : handles of work removed on the phone that it should show again.
    Raises Refusal, with nothing changed, when there is no list yet or the server's changes look
    like an accident. What goes wrong later is in the report.
    """
    chosen = chosen_list(desk)
    run = _Run(desk=desk, storage=storage, days=days, report=Report())
    back: Collection[str] = ()
    if bring_back:
        back = wanted_back(picture(desk, days), synced.read(desk.record), bring_back)
    for passed in range(_PASSES):
        try:
            _listen(run, meant=meant or passed > 0)
            wrote = _tell(run, back)
        except SyncTrouble as fault:
            run.report.stopped = str(fault)
            return run.report
        back = ()
        if not wrote:
            return run.report
    run.report.stopped = f"'{chosen.name}' was still changing; run it again for the rest"
    return run.report


def chosen_list(desk: Desk) -> TaskList:
    """The list that work is kept in step with. Raises Refusal when there is none yet."""
    chosen = synced.task_list(desk.record)
    if chosen is None:
        raise Refusal(
            "no calendar server is known yet; name one: cropplan calendar sync --server URL "
            "--user NAME --calendar NAME (and --make to make the list there)"
        )
    return chosen


def waiting_ticks(desk: Desk) -> list[str]:
    """Ticks from the phone that still wait for a word, for whoever shows the rounds."""
    return [task.question for task in synced.read(desk.record).values() if task.question]


# Listening ----------------------------------------------------------------------------------


def _listen(run: _Run, *, meant: bool) -> None:
    """Read what has changed on the server and act on it; its token is kept last."""
    desk = run.desk
    known = synced.read(desk.record)
    listing = _look(run.storage, chosen_list(desk).token)
    at = {task.href: task for task in known.values()}
    resources, gone = _read_changed(run.storage, listing, at)
    shown = picture(desk, run.days)
    copies = _copies(run, shown, resources, at)
    adopted = _adopted(desk, shown, known, copies.values())
    known |= adopted
    standings = standings_of(desk, shown, known.values())
    seen = [one for one, _ in copies.values() if one.uid in known]
    hearings = decide.hear(known, seen, gone, standings, shown.now.today)
    if not meant:
        _refuse_the_frightening(desk, known, hearings, standings)
    synced.keep(desk.record, adopted.values())
    said_by = {one.uid: copy for one, copy in copies.values()}
    kept: list[SyncedTask] = []
    forgotten: list[str] = []
    for hearing in hearings:
        task = hearing.task
        match hearing.heard:
            case Heard.TICK:
                copy = said_by[task.uid]
                day = ticked.day_of_tick(shown.now, task, day=copy.day, modified=copy.modified)
                run.report.said += ticked.take(desk, known[task.uid], task, day)
            case Heard.UNTICK:
                run.report.said += ticked.take_back(desk, known[task.uid], task)
            case Heard.SETTLE:
                kept.append(task)
            case Heard.FORGET:
                forgotten.append(task.uid)
    synced.keep_and_move_on(desk.record, kept, forgotten=forgotten, token=listing.token)


def _look(storage: Storage, token: str | None) -> Listing:
    try:
        return storage.look(token)
    except TokenRefused:
        # RFC 6578 §3.2: then all is read again, and compared with what is known.
        return storage.look(None)


def _read_changed(
    storage: Storage, listing: Listing, at: Mapping[str, SyncedTask]
) -> tuple[list[Resource], set[str]]:
    """The copies that may have changed, and the paths that are gone."""
    asked = {
        path
        for path, etag in listing.etags.items()
        if etag is None or path not in at or at[path].etag != etag
    }
    asked |= {path for path, task in at.items() if task.etag is None} - listing.removed
    resources = storage.read(sorted(asked))
    gone = set(listing.removed) | asked - {resource.path for resource in resources}
    if listing.whole:
        gone |= at.keys() - listing.etags.keys()
    return resources, gone


def _copies(
    run: _Run, shown: Picture, resources: Iterable[Resource], at: Mapping[str, SyncedTask]
) -> dict[str, tuple[Seen, Copy]]:
    """What the copies say, by path. One of ours that cannot be read is told of and left alone."""
    zone = first_house(shown.now.holding).zone
    copies: dict[str, tuple[Seen, Copy]] = {}
    for resource in resources:
        try:
            copy = todo.read(resource.content, zone)
            for key in copy.keys:
                ticked.key_from(key)
        except BadData as fault:
            if resource.path in at:
                run.report.faults[resource.path] = (
                    f"'{at[resource.path].summary}' on the server ({resource.path}) cannot be "
                    f"read: {fault}; remove it there, and the next run asks about it"
                )
            continue
        seen = Seen(
            uid=copy.uid,
            path=resource.path,
            etag=resource.etag,
            mark=copy.mark,
            stamp=copy.stamp,
            keys=copy.keys,
        )
        copies[resource.path] = seen, copy
    # Of two copies of one task the ticked one is heard, so it comes last.
    return dict(sorted(copies.items(), key=lambda item: item[1][0].mark is Mark.DONE))


def _adopted(
    desk: Desk,
    shown: Picture,
    known: Mapping[str, SyncedTask],
    copies: Iterable[tuple[Seen, Copy]],
) -> dict[str, SyncedTask]:
    """Tasks on the server that are ours though the record knows nothing of them.

    A record put back from a backup, or made again from its export, meets what it sent before.
    Their UIDs prove whose they are: they are made under the record's own namespace.
    """
    adopted: dict[str, SyncedTask] = {}
    namespace = desk.record.namespace
    for seen, copy in copies:
        if seen.uid in known:
            continue
        wanted = shown.wanted.get(seen.uid)
        ours = any(todo.uid_of(namespace, key) == seen.uid for key in copy.keys)
        if wanted is None and not ours:
            continue
        moment = copy.created or copy.stamp or desk.clock()
        adopted[seen.uid] = SyncedTask(
            uid=seen.uid,
            summary=copy.summary if wanted is None else wanted.summary,
            keys=copy.keys if wanted is None else copy.keys or wanted.keys,
            href=seen.path,
            mark=Mark.OPEN,
            sent=moment,
            told=moment,
        )
    return adopted


def _refuse_the_frightening(
    desk: Desk,
    known: Mapping[str, SyncedTask],
    hearings: Sequence[Hearing],
    standings: Mapping[str, Standing],
) -> None:
    fright = decide.frightening(known, hearings, standings)
    if fright is not None:
        raise Refusal(
            f"{fright.many} of {fright.of} tasks in '{chosen_list(desk).name}' "
            f"{fright.happened} since the last time, as by accident; nothing was changed: look at "
            "the list on the phone, and add --meant if it is right"
        )


# Telling ------------------------------------------------------------------------------------


def _tell(run: _Run, back: Collection[str]) -> bool:
    """Tell the server what it should show; whether anything was told or tried."""
    record = run.desk.record
    shown = picture(run.desk, run.days)
    known = synced.read(record)
    tellings = [
        telling
        for telling in decide.tell(
            known,
            shown.wanted,
            standings_of(run.desk, shown, known.values()),
            shown.now.today,
            bring_back=back,
        )
        if _uid(telling) not in run.report.faults
    ]
    run.report.questions = {
        _uid(telling): _question(shown, telling.task)
        for telling in tellings
        if telling.tell is Tell.ASK and telling.task is not None
    }
    forgotten = [_uid(telling) for telling in tellings if telling.tell is Tell.FORGET]
    active = [t for t in tellings if t.tell not in {Tell.ASK, Tell.FORGET}]
    # Kept before anything is sent: cut off in between, the next run knows its own work again.
    intended = {_uid(telling): _intended(run, telling) for telling in active}
    synced.keep(record, intended.values(), forgotten=forgotten)
    changing = [
        intended[_uid(t)].href for t in active if t.tell in {Tell.SHOW_OPEN, Tell.SHOW_DONE}
    ]
    there = {resource.path: resource for resource in run.storage.read(changing)}
    for telling in active:
        _tell_one(run, shown, telling, intended[_uid(telling)], there)
    return bool(active)


def _uid(telling: Telling) -> str:
    one = telling.task or telling.wanted
    assert one is not None  # noqa: S101 - a telling is about something known or wanted
    return one.uid


def _intended(run: _Run, telling: Telling) -> SyncedTask:
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
    run: _Run,
    shown: Picture,
    telling: Telling,
    task: SyncedTask,
    there: Mapping[str, Resource],
) -> None:
    record, report = run.desk.record, run.report
    try:
        match telling.tell:
            case Tell.CREATE:
                notice = shown.notices[task.uid]
                content = todo.new(notice, uid=task.uid, keys=task.keys, at=run.moment)
                run.storage.create(task.href, content)
                report.sent += 1
                synced.keep(record, [replace(task, mark=Mark.OPEN)])
            case Tell.REMOVE:
                run.storage.remove(task.href, _etag(task))
                report.removed += 1
                synced.keep(record, forgotten=[task.uid])
            case _:
                after, content = _changed(run, shown, telling, task, there.get(task.href))
                run.storage.replace(task.href, content, _etag(task))
                report.changed += 1
                synced.keep(record, [after])
    except Stale:
        # Changed meanwhile: the next pass reads it again, and decides anew.
        synced.keep(record, [replace(task, etag=None)])
    except UidTaken as fault:
        _look_for_namesake(run, task, fault)
    except (Rejected, BadData) as fault:
        report.faults[task.uid] = f"'{task.summary}' ({task.href}): {fault}; tried again next time"


def _changed(
    run: _Run,
    shown: Picture,
    telling: Telling,
    task: SyncedTask,
    there: Resource | None,
) -> tuple[SyncedTask, bytes]:
    """The task as it is known once told, and its copy. Raises Stale when it changed meanwhile."""
    if there is None or there.etag != task.etag:
        raise Stale(f"{task.href} changed meanwhile")
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


def _look_for_namesake(run: _Run, task: SyncedTask, fault: UidTaken) -> None:
    """Another resource has this task's UID: it is ours, under a name that somebody gave it."""
    if fault.path is not None:
        synced.keep(run.desk.record, [replace(task, href=fault.path, etag=None)])
    else:
        # The server does not say where; with no token, the next pass reads the whole list.
        synced.keep_and_move_on(run.desk.record, [], forgotten=[], token=None)


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
