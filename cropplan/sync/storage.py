"""What a list of tasks on a server can be asked, the same for a real one and one in memory.

A `path` is a resource's path on the server; an `etag` is the server's word for one state of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from cropplan.problems import Refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """What has changed in a list since a token, or all that is in it.

    etags : by path; None where the server gave none. removed : paths that are no longer there.
    whole : everything is listed, so that what is not listed is not there.
    token : to ask from the next time; None when the server keeps no account of changes.
    """

    etags: Mapping[str, str | None]
    removed: frozenset[str] = frozenset()
    whole: bool
    token: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Resource:
    """One resource as it is on the server now."""

    path: str
    etag: str | None
    content: bytes


class SyncTrouble(Refusal):
    """The server will not, or cannot be asked. The text says which side, and what to do."""


class Unreachable(SyncTrouble):
    """Nothing more can be asked of the server now; a later run goes on from here."""


class NotAllowed(SyncTrouble):
    """The server knows who asks and will not have the list changed."""


class Rejected(SyncTrouble):
    """The server will not take this one resource; others may go."""


class Stale(SyncTrouble):
    """The resource is no longer as it was read, or is there already (HTTP 412)."""


class UidTaken(SyncTrouble):
    """Another resource of the list has the same UID.

    path : of that one, when the server says.
    """

    def __init__(self, message: str, path: str | None = None) -> None:
        super().__init__(message)
        self.path = path


class TokenRefused(SyncTrouble):
    """The server has no account of changes since that token; all must be read again."""


class Storage(Protocol):
    """A list of tasks. Every method may raise `Unreachable`; those that write, `NotAllowed`."""

    def look(self, token: str | None) -> Listing:
        """What has changed since `token`; everything for None. Raises TokenRefused."""

    def read(self, paths: Iterable[str]) -> list[Resource]:
        """Those of these resources that are there; one that is not given is not there."""

    def path_of(self, uid: str) -> str:
        """The path at which a new task of that UID is put."""

    def create(self, path: str, content: bytes) -> None:
        """Put a new resource where there is none. Raises Stale, UidTaken, Rejected."""

    def replace(self, path: str, content: bytes, etag: str) -> None:
        """Put a resource in the place of the one read with `etag`. Raises Stale, Rejected."""

    def remove(self, path: str, etag: str) -> None:
        """Remove the resource read with `etag`. Raises Stale, Rejected."""
