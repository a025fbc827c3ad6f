"""What a calendar server should show of the work now, and how each task there stands."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from cropplan.desk import ticked
from cropplan.desk.answers import plain_handle
from cropplan.desk.calendar import notice_of
from cropplan.desk.desk import Desk
from cropplan.desk.ticked import Now, TurnState
from cropplan.holding.notice import Notice
from cropplan.holding.synced import Mark, SyncedTask
from cropplan.holding.task import Task
from cropplan.ics.published import compare
from cropplan.problems import Refusal, did_you_mean
from cropplan.schedule.outlook import lead_key
from cropplan.schedule.rounds import Line, line_of
from cropplan.sync.decide import Standing, Wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """What the server should show now, by UID: what is wanted, in which words, how all stands."""

    now: Now
    wanted: Mapping[str, Wanted]
    lines: Mapping[str, Line]
    notices: Mapping[str, Notice]


def picture(desk: Desk, days: int) -> Picture:
    """What the server should show: open work that is late, due, or due in so many days."""
    now = ticked.now_of(desk)
    until = now.today + timedelta(days=days)
    groups: dict[tuple[str, str, date], list[Task]] = defaultdict(list)
    for task in now.tasks.values():
        if task.due <= until:
            groups[task.code, task.house, task.due].append(task)
    walk = {code: place.walk for code, place in now.holding.places.items()}
    lines = {lead_key(line): line for line in (line_of(group, walk) for group in groups.values())}
    cautions = now.scene.catalogue.cautions
    notices = [notice_of(line, cautions) for line in lines.values()]
    # As the feed does, so that a task and its event are one thing to a phone that shows both.
    live = compare(notices, {}, desk.clock(), desk.record.namespace).live
    return Picture(
        now=now,
        wanted={
            told.uid: Wanted(
                uid=told.uid,
                summary=notice.summary,
                keys=tuple(str(key) for key in sorted(lines[notice.key].keys)),
                digest=told.digest,
            )
            for notice, told in live
        },
        lines={told.uid: lines[notice.key] for notice, told in live},
        notices={told.uid: notice for notice, told in live},
    )


def standings_of(desk: Desk, shown: Picture, known: Iterable[SyncedTask]) -> dict[str, Standing]:
    """How each task known stands in the record, by UID."""
    standings: dict[str, Standing] = {}
    for task in known:
        if task.uid in shown.wanted:
            standings[task.uid] = Standing.OPEN
            continue
        # A tick was agreed on when it came; the journal is not asked again while it is kept.
        done = task.mark is Mark.DONE
        if not done:
            states = ticked.turn_states(desk, shown.now, task.keys).values()
            done = bool(states) and all(state is TurnState.DONE for state in states)
        standings[task.uid] = Standing.DONE if done else Standing.CEASED
    return standings


def wanted_back(
    shown: Picture, known: Mapping[str, SyncedTask], handles: Collection[str]
) -> set[str]:
    """The UIDs of the tasks asked about that these handles name. Raises Refusal."""
    asked: dict[str, set[str]] = defaultdict(set)
    for task in known.values():
        waits = task.mark in {Mark.GONE, Mark.CANCELLED} or task.question is not None
        if waits and task.uid in shown.lines:
            asked[plain_handle(shown.lines[task.uid].handle)].add(task.uid)
    found: set[str] = set()
    for handle in handles:
        uids = asked.get(plain_handle(handle))
        if uids is None:
            near = did_you_mean(handle, {line.handle for line in shown.lines.values()})
            raise Refusal(f"nothing with the handle '{handle}' waits to be brought back{near}")
        found |= uids
    return found
