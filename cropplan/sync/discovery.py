"""Finding a grower's list of tasks on a calendar server, or making it (RFC 4791, RFC 6764)."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from urllib.parse import urljoin, urlsplit

from cropplan.problems import did_you_mean
from cropplan.sync import webdav
from cropplan.sync.storage import SyncTrouble
from cropplan.sync.wire import Wire


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A collection on the server. tasks : whether it takes tasks."""

    address: str
    name: str
    tasks: bool


def find(wire: Wire, server: str, name: str | None, *, make: bool) -> Found:
    """The list of tasks of that name; the one at the address itself, or the only one, for None.

    make : make it when there is none of that name.
    Raises SyncTrouble, Unreachable, NotAllowed.
    """
    here = _ask(wire, server)
    own = next((said for said in here if webdav.path_of(server) in _ways(said.path)), None)
    if own is not None and name is None and _is_list(own):
        return _taking_tasks(wire, _found(server, own))
    home = _home(wire, server, here)
    lists = [_found(home, said) for said in _ask(wire, home, depth="1") if _is_list(said)]
    if name is None:
        with_tasks = [found for found in lists if found.tasks]
        if len(with_tasks) == 1:
            return with_tasks[0]
        known = ", ".join(f"'{found.name}'" for found in with_tasks) or "none yet"
        raise SyncTrouble(f"name the list of tasks with --calendar NAME; {wire.host} has: {known}")
    named = [found for found in lists if name in {found.name, _last(found.address)}]
    if len(named) > 1:
        raise SyncTrouble(
            f"{wire.host} has {len(named)} lists called '{name}'; name the address of one of "
            f"them with --server: {', '.join(found.address for found in named)}"
        )
    if named:
        return _taking_tasks(wire, named[0])
    if make:
        return _made(wire, home, name)
    near = did_you_mean(name, [found.name for found in lists])
    raise SyncTrouble(f"{wire.host} has no list called '{name}'{near or '; add --make to make it'}")


def _ask(wire: Wire, address: str, depth: str = "0") -> list[webdav.Said]:
    answer = wire.ask("PROPFIND", address, body=webdav.WHERE_AM_I, headers={"Depth": depth})
    if answer.status != 207:
        return []
    said, _ = webdav.multistatus(answer.content, wire.host)
    return said


def _home(wire: Wire, server: str, here: list[webdav.Said]) -> str:
    """Where the user's lists are: RFC 4791 §6.2.1, by the principal of RFC 5397."""
    for said in (here, _ask(wire, urljoin(server, "/.well-known/caldav"))):
        home = _first(said, f"{webdav.CAL}calendar-home-set")
        if home is not None:
            return urljoin(server, home)
        principal = _first(said, f"{webdav.DAV}current-user-principal")
        if principal is not None:
            at_principal = _ask(wire, urljoin(server, principal))
            home = _first(at_principal, f"{webdav.CAL}calendar-home-set")
            if home is not None:
                return urljoin(server, home)
    raise SyncTrouble(
        f"{server} is not the address of a calendar server; its own pages say which one is, "
        "often with /dav or /caldav at the end"
    )


def _first(said: list[webdav.Said], name: str) -> str | None:
    for one in said:
        for href in webdav.hrefs_in(one.properties.get(name)):
            return href
    return None


def _is_list(said: webdav.Said) -> bool:
    kinds = said.properties.get(f"{webdav.DAV}resourcetype")
    return kinds is not None and kinds.find(f"{webdav.CAL}calendar") is not None


def _found(base: str, said: webdav.Said) -> Found:
    address = urljoin(base, said.path)
    parts = said.properties.get(f"{webdav.CAL}supported-calendar-component-set")
    # RFC 4791 §5.2.3: a server that does not say takes all kinds.
    names = None if parts is None else {part.get("name", "").upper() for part in parts}
    return Found(
        address=address if address.endswith("/") else f"{address}/",
        name=said.text(f"{webdav.DAV}displayname") or _last(address),
        tasks=names is None or "VTODO" in names,
    )


def _taking_tasks(wire: Wire, found: Found) -> Found:
    if not found.tasks:
        raise SyncTrouble(
            f"the list '{found.name}' on {wire.host} takes events only, no tasks; name another "
            "with --calendar NAME, or a new one and --make"
        )
    return found


def _made(wire: Wire, home: str, name: str) -> Found:
    address = urljoin(home if home.endswith("/") else f"{home}/", f"{uuid.uuid4()}/")
    answer = wire.ask("MKCALENDAR", address, body=webdav.make_list(name))
    if not 200 <= answer.status < 300:
        raise SyncTrouble(
            f"{wire.host} does not let '{wire.user}' make a list ({answer.spoken}); make one of "
            "tasks on its own pages, and name it with --calendar"
        )
    return Found(address=address, name=name, tasks=True)


def _last(address: str) -> str:
    return urlsplit(address).path.rstrip("/").rpartition("/")[2]


def _ways(path: str) -> set[str]:
    return {path, path.rstrip("/"), f"{path.rstrip('/')}/"}
