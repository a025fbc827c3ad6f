"""What is known of tasks on a calendar server: what it shows of them, and what it was told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import Enum


class Mark(Enum):
    """How a task stands on the server.

    UNSENT : about to be sent, or cut off while being sent. GONE : removed there without a tick.
    """

    UNSENT = "unsent"
    OPEN = "open"
    DONE = "done"
    CANCELLED = "cancelled"
    GONE = "gone"


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskList:
    """The list on a server that the work is kept in step with.

    address : of the collection, with no password in it. name : as its owner calls it.
    token : the server's word for how far its changes were read; None to read all.
    """

    address: str
    user: str
    name: str
    token: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SyncedTask:
    """One task on the server: one line of work, with all the turns it stands for.

    keys : of the turns, as text. summary : what it is called there.
    href : its path on the server. etag : of the copy last read; None when it must be read again.
    mark : how it stood there when last read or told. stamp : when it was ticked, as the server's
        copy says; a second tick has another. [UTC]
    digest : of what it was told to show. sent, told : when it was first sent, last told. [UTC]
    closed : the day since which it stands done.
    first_entry, last_entry : the journal's entries that its tick made.
    question : what must be said before its tick can be written.
    """

    uid: str
    summary: str
    keys: tuple[str, ...]
    href: str
    etag: str | None = None
    mark: Mark = Mark.UNSENT
    stamp: datetime | None = None
    digest: str = ""
    sent: datetime
    told: datetime
    closed: date | None = None
    first_entry: int | None = None
    last_entry: int | None = None
    question: str | None = None
