"""A list of tasks on a CalDAV server (RFC 4791), read by its account of changes (RFC 6578)."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice
from urllib.parse import urljoin

from cropplan.sync import webdav
from cropplan.sync.storage import (
    Listing,
    NotAllowed,
    Rejected,
    Resource,
    Stale,
    SyncTrouble,
    TokenRefused,
    UidTaken,
)
from cropplan.sync.wire import Answer, Wire

#: Resources asked for at once; servers bound the size of a request.
TOGETHER = 100
#: More pieces than this of one account of changes, and the server is going round in circles.
_MOST_PIECES = 1000
_CALENDAR = {"Content-Type": "text/calendar; charset=utf-8"}
#: RFC 6578 §3.2 has 403 or 409 for a token that is no longer known; others are seen as well.
_TOKEN_GONE = frozenset({400, 403, 404, 409, 410, 412, 415, 422})
_NO_SUCH_REPORT = frozenset({400, 403, 405, 415, 422, 501})
_NOT_THERE = frozenset({404, 410})


class CalDavList:
    """The collection at an address. `name` is what its owner calls it."""

    def __init__(self, wire: Wire, address: str, name: str) -> None:
        self.wire = wire
        self.address = address if address.endswith("/") else f"{address}/"
        self.name = name
        self._path = webdav.path_of(self.address)

    def look(self, token: str | None) -> Listing:
        """What has changed since `token`; everything for None.

        Raises TokenRefused, Unreachable, SyncTrouble.
        """
        etags: dict[str, str | None] = {}
        removed: set[str] = set()
        following = token
        for _ in range(_MOST_PIECES):
            answer = self._report(webdav.changes_since(following), "0")
            if answer.status != 207:
                return self._without_account(answer, token)
            said, following = webdav.multistatus(answer.content, self.wire.host)
            for one in said:
                if one.status == 404:
                    removed.add(one.path)
                    etags.pop(one.path, None)
                elif one.path.startswith(self._path) and one.path != self._path:
                    etags[one.path] = one.text(f"{webdav.DAV}getetag")
                    removed.discard(one.path)
            # §3.6: an account that was cut short says 507 of the collection itself.
            if not any(one.status == 507 for one in said):
                return Listing(
                    etags=etags,
                    removed=frozenset(removed),
                    whole=token is None,
                    token=following,
                )
        raise SyncTrouble(f"{self.wire.host} never comes to the end of its changes; nothing done")

    def _without_account(self, answer: Answer, token: str | None) -> Listing:
        if token is not None and answer.status in _TOKEN_GONE:
            raise TokenRefused(f"{self.wire.host} has no account of changes since the last time")
        if answer.status in _NOT_THERE:
            raise self._no_list()
        if answer.status not in _NO_SUCH_REPORT:
            raise self._unreadable(answer)
        answer = self.wire.ask(
            "PROPFIND", self.address, body=webdav.ETAGS_OF_ALL, headers={"Depth": "1"}
        )
        if answer.status in _NOT_THERE:
            raise self._no_list()
        if answer.status != 207:
            raise self._unreadable(answer)
        said, _ = webdav.multistatus(answer.content, self.wire.host)
        etags = {
            one.path: one.text(f"{webdav.DAV}getetag") for one in said if one.path != self._path
        }
        return Listing(etags=etags, whole=True, token=None)

    def _no_list(self) -> SyncTrouble:
        return SyncTrouble(
            f"the list '{self.name}' is no longer on {self.wire.host}; choose another with "
            "--calendar NAME, or add --make to make it anew"
        )

    def read(self, paths: Iterable[str]) -> list[Resource]:
        """Those of these resources that are there. Raises Unreachable, SyncTrouble."""
        found: list[Resource] = []
        waiting = iter(paths)
        while batch := list(islice(waiting, TOGETHER)):
            answer = self._report(webdav.these(batch), "1")
            if answer.status != 207:
                raise self._unreadable(answer)
            said, _ = webdav.multistatus(answer.content, self.wire.host)
            absent = {one.path for one in said if one.status in _NOT_THERE}
            given = [one for one in map(_resource, said) if one is not None]
            # RFC 4791 §7.9 wants a word on each. What a server leaves out is asked for by itself,
            # for a task must not be taken for removed because an answer was short.
            for path in set(batch) - absent - {one.path for one in given}:
                given += self._read_alone(path)
            found += given
        return found

    def _read_alone(self, path: str) -> list[Resource]:
        answer = self.wire.ask("GET", urljoin(self.address, path))
        if answer.status in _NOT_THERE:
            return []
        if answer.status != 200:
            raise self._unreadable(answer)
        etag = answer.headers.get("ETag")
        return [Resource(path=path, etag=etag, content=answer.content)]

    def _unreadable(self, answer: Answer) -> SyncTrouble:
        return SyncTrouble(
            f"the list '{self.name}' on {self.wire.host} cannot be read ({answer.spoken})"
        )

    def path_of(self, uid: str) -> str:
        """The path at which a new task of that UID is put."""
        return f"{self._path}{uid}.ics"

    def create(self, path: str, content: bytes) -> None:
        """Put a new resource where there is none.

        Raises Stale, UidTaken, Rejected, NotAllowed, Unreachable.
        """
        # RFC 4791 §5.3.2: so that nothing that is there already is ever written over.
        self._write("PUT", path, content, {"If-None-Match": "*"})

    def replace(self, path: str, content: bytes, etag: str) -> None:
        """Put a resource in the place of the one read with `etag`.

        Raises Stale, Rejected, NotAllowed, Unreachable.
        """
        self._write("PUT", path, content, {"If-Match": etag})

    def remove(self, path: str, etag: str) -> None:
        """Remove the resource read with `etag`.

        Raises Stale, Rejected, NotAllowed, Unreachable.
        """
        self._write("DELETE", path, None, {"If-Match": etag})

    def _write(
        self, method: str, path: str, content: bytes | None, condition: dict[str, str]
    ) -> None:
        answer = self.wire.ask(
            method,
            urljoin(self.address, path),
            body=content,
            headers={**_CALENDAR, **condition},
        )
        if 200 <= answer.status < 300:
            # An ETag sent here is not kept: §5.3.4 lets a server store other octets than it was
            # sent, so the copy is read again before it is believed.
            return
        if answer.status == 412 or answer.status in _NOT_THERE:
            raise Stale(f"{path} on {self.wire.host} is not as it was read")
        named, other = webdav.precondition(answer.content)
        if named == "no-uid-conflict":
            raise UidTaken(f"{path}: another task on {self.wire.host} has the same UID", other)
        if answer.status in {403, 405} and named in {"", "need-privileges"}:
            raise NotAllowed(
                f"'{self.wire.user}' may not change the list '{self.name}' on {self.wire.host} "
                f"({answer.spoken}); choose one that may be changed, with --calendar NAME"
            )
        why = named.replace("-", " ") or answer.spoken
        raise Rejected(f"{self.wire.host} does not take it ({why})")

    def _report(self, body: str, depth: str) -> Answer:
        return self.wire.ask("REPORT", self.address, body=body, headers={"Depth": depth})


def _resource(said: webdav.Said) -> Resource | None:
    content = said.text(f"{webdav.CAL}calendar-data")
    if said.status != 200 or content is None:
        return None
    etag = said.text(f"{webdav.DAV}getetag")
    return Resource(path=said.path, etag=etag, content=content.encode())
