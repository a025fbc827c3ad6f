"""A list that behaves as badly as servers and networks do, and a fuse that cuts a run short."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any
from unittest.mock import patch

from cropplan.record import synced
from cropplan.record.store import Record
from cropplan.sync.storage import (
    Listing,
    NotAllowed,
    Rejected,
    Resource,
    Storage,
    TokenRefused,
    Unreachable,
)


class Cut(BaseException):
    """The power is gone: nothing of ours may catch this."""


@dataclass(slots=True)
class Fuse:
    """Burns down by one at each point where a run may be cut off; None never burns."""

    left: int | None = None

    def burn(self) -> None:
        """One point further."""
        if self.left is not None:
            self.left -= 1
            if self.left < 0:
                raise Cut


@contextmanager
def cut_off(fuse: Fuse) -> Iterator[None]:
    """While it lasts, the fuse also burns before and after whatever is kept in the record."""

    def burning(act: Callable[..., Any]) -> Callable[..., Any]:
        def wrapped(*args: Any, **kwargs: Any) -> Any:
            fuse.burn()
            answer = act(*args, **kwargs)
            fuse.burn()
            return answer

        return wrapped

    with (
        patch.object(synced, "keep", burning(synced.keep)),
        patch.object(synced, "keep_and_move_on", burning(synced.keep_and_move_on)),
        patch.object(Record, "append", burning(Record.append)),
    ):
        yield


@dataclass(slots=True, kw_only=True)
class RudeList:
    """Another list, with bad manners: each is the share of calls on which it shows.

    lost_etags, odd_etags : of listings and copies. forgets : tokens.
    fails : writes that are refused, unanswered, or done and unanswered.
    read_only : of all writes. meddle : somebody else's doing just before a write to a path.
    """

    inner: Storage
    chance: random.Random
    fuse: Fuse = field(default_factory=Fuse)
    lost_etags: float = 0.0
    odd_etags: float = 0.0
    forgets: float = 0.0
    fails: float = 0.0
    read_only: bool = False
    meddle: Callable[[str], None] | None = None

    def _happens(self, share: float) -> bool:
        return self.chance.random() < share

    def _etag(self, etag: str | None) -> str | None:
        if self._happens(self.lost_etags):
            return None
        return f'"odd-{self.chance.random()}"' if self._happens(self.odd_etags) else etag

    def look(self, token: str | None) -> Listing:
        """What has changed, more or less."""
        self.fuse.burn()
        if token is not None and self._happens(self.forgets):
            raise TokenRefused("no account since then")
        listing = self.inner.look(token)
        return replace(listing, etags={p: self._etag(e) for p, e in listing.etags.items()})

    def read(self, paths: Iterable[str]) -> list[Resource]:
        """What is there, with or without the right ETag."""
        self.fuse.burn()
        return [replace(one, etag=self._etag(one.etag)) for one in self.inner.read(paths)]

    def path_of(self, uid: str) -> str:
        """As the list itself."""
        return self.inner.path_of(uid)

    def create(self, path: str, content: bytes) -> None:
        """Perhaps."""
        self._rudely(path, lambda: self.inner.create(path, content))

    def replace(self, path: str, content: bytes, etag: str) -> None:
        """Perhaps."""
        self._rudely(path, lambda: self.inner.replace(path, content, etag))

    def remove(self, path: str, etag: str) -> None:
        """Perhaps."""
        self._rudely(path, lambda: self.inner.remove(path, etag))

    def _rudely(self, path: str, act: Callable[[], None]) -> None:
        self.fuse.burn()
        if self.meddle is not None:
            self.meddle(path)
        if self.read_only:
            raise NotAllowed("the list may not be changed")
        if self._happens(self.fails / 3):
            raise Rejected("the server does not take it")
        if self._happens(self.fails / 3):
            raise Unreachable("nobody answers")
        act()
        self.fuse.burn()
        if self._happens(self.fails / 3):
            raise Unreachable("nobody answers, though it is done")
