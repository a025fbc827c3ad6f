"""Keeping a list of tasks on a calendar server in step with the rounds.

One run, in order: the server is asked what has changed and the copies that changed are read;
`decide.hear` says what that means; ticks are written to the journal; `decide.tell` says what the
server should be told; it is told, and asked again until there is nothing more to say. Every step
may be the last: what was kept in the record is enough for the next run to go on from.
"""

from __future__ import annotations

from collections.abc import Collection

from cropplan.desk.desk import Desk
from cropplan.desk.sync_listening import listen
from cropplan.desk.sync_picture import picture, wanted_back
from cropplan.desk.sync_run import Question, Report, Run, chosen_list
from cropplan.desk.sync_telling import tell
from cropplan.record import synced
from cropplan.sync.storage import Storage, SyncTrouble

__all__ = ["DAYS_AHEAD", "Question", "Report", "sync"]

#: Days ahead of which the phone shows the work; what is late and due today is always shown.
DAYS_AHEAD = 14
#: So often is the server asked again within one run. What is still unsettled then waits.
_PASSES = 5


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
    run = Run(desk=desk, storage=storage, days=days, report=Report())
    back: Collection[str] = ()
    if bring_back:
        back = wanted_back(picture(desk, days), synced.read(desk.record), bring_back)
    for passed in range(_PASSES):
        try:
            listen(run, meant=meant or passed > 0)
            wrote = tell(run, back)
        except SyncTrouble as fault:
            run.report.stopped = str(fault)
            return run.report
        back = ()
        if not wrote:
            return run.report
    run.report.stopped = f"'{chosen.name}' was still changing; run it again for the rest"
    return run.report
