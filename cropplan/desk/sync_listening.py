"""The first half of a sync: what a calendar server says, and what is done about it here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from cropplan.desk import ticked
from cropplan.desk.desk import Desk, first_house
from cropplan.desk.sync_picture import Picture, picture, standings_of
from cropplan.desk.sync_run import Run, chosen_list
from cropplan.holding.synced import Mark, SyncedTask
from cropplan.ics import todo
from cropplan.ics.todo import Copy
from cropplan.problems import BadData, Refusal
from cropplan.record import synced
from cropplan.sync import decide
from cropplan.sync.decide import Heard, Hearing, Seen, Standing
from cropplan.sync.storage import Listing, Resource, Storage, TokenRefused


def listen(run: Run, *, meant: bool) -> None:
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
    # What could not be read is read again each time, and told of until it can be.
    kept = [replace(at[path], etag=None) for path in run.report.faults.keys() & at.keys()]
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
    run: Run, shown: Picture, resources: Iterable[Resource], at: Mapping[str, SyncedTask]
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
