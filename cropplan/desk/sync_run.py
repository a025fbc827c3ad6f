"""What one run of a sync works with, and what it comes to."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime

from cropplan.desk.desk import Desk
from cropplan.holding.synced import TaskList
from cropplan.problems import Refusal
from cropplan.record import synced
from cropplan.sync.storage import Storage


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
class Run:
    """What one run works with."""

    desk: Desk
    storage: Storage
    days: int
    report: Report

    @property
    def moment(self) -> datetime:
        """Now, in the whole seconds that a calendar can carry. [UTC]"""
        return self.desk.clock().astimezone(UTC).replace(microsecond=0)


def chosen_list(desk: Desk) -> TaskList:
    """The list that work is kept in step with. Raises Refusal when there is none yet."""
    chosen = synced.task_list(desk.record)
    if chosen is None:
        raise Refusal(
            "no calendar server is known yet; name one: cropplan calendar sync --server URL "
            "--user NAME --calendar NAME (and --make to make the list there)"
        )
    return chosen
