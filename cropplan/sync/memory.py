"""A list of tasks in memory, with the answers and errors of a server, for trying out a sync."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from cropplan.sync.storage import (
    Listing,
    NotAllowed,
    Resource,
    Stale,
    TokenRefused,
    UidTaken,
)

_UID = re.compile(rb"^UID:(.*?)\r?$", re.MULTILINE)


@dataclass(slots=True, kw_only=True)
class MemoryList:
    """Resources by path, with an account of every change.

    read_only : writing is not allowed. forgets_before : tokens older than this are refused.
    """

    read_only: bool = False
    forgets_before: int = 0
    _resources: dict[str, Resource] = field(default_factory=dict)
    _changes: list[str] = field(default_factory=list)

    def look(self, token: str | None) -> Listing:
        """What has changed since `token`; everything for None. Raises TokenRefused."""
        now = str(len(self._changes))
        if token is None:
            etags = {path: resource.etag for path, resource in self._resources.items()}
            return Listing(etags=etags, whole=True, token=now)
        if not token.isdecimal() or not self.forgets_before <= int(token) <= len(self._changes):
            raise TokenRefused("the list in memory has no account since then")
        changed = dict.fromkeys(self._changes[int(token) :])
        return Listing(
            etags={p: self._resources[p].etag for p in changed if p in self._resources},
            removed=frozenset(changed) - self._resources.keys(),
            whole=False,
            token=now,
        )

    def read(self, paths: Iterable[str]) -> list[Resource]:
        """Those of these resources that are there."""
        return [self._resources[path] for path in paths if path in self._resources]

    def path_of(self, uid: str) -> str:
        """The path at which a new task of that UID is put."""
        return f"/memory/{uid}.ics"

    def create(self, path: str, content: bytes) -> None:
        """Put a new resource where there is none. Raises Stale, UidTaken, NotAllowed."""
        self._refuse_if_read_only()
        if path in self._resources:
            raise Stale(f"{path} is there already")
        uid = _UID.search(content)
        for other in self._resources.values():
            theirs = _UID.search(other.content)
            if uid and theirs and uid[1] == theirs[1]:
                raise UidTaken(f"{other.path} has the UID of {path}", other.path)
        self._put(path, content)

    def replace(self, path: str, content: bytes, etag: str) -> None:
        """Put a resource in the place of the one read with `etag`. Raises Stale, NotAllowed."""
        self._refuse_unless(path, etag)
        self._put(path, content)

    def remove(self, path: str, etag: str) -> None:
        """Remove the resource read with `etag`. Raises Stale, NotAllowed."""
        self._refuse_unless(path, etag)
        del self._resources[path]
        self._changes.append(path)

    def _refuse_unless(self, path: str, etag: str) -> None:
        self._refuse_if_read_only()
        there = self._resources.get(path)
        if there is None or there.etag != etag:
            raise Stale(f"{path} is not as it was read")

    def _refuse_if_read_only(self) -> None:
        if self.read_only:
            raise NotAllowed("the list in memory is read-only")

    def _put(self, path: str, content: bytes) -> None:
        self._changes.append(path)
        etag = f'"{len(self._changes)}"'
        self._resources[path] = Resource(path=path, etag=etag, content=content)
