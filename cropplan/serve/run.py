"""Starting the server: where it listens, whom it answers, and what it says first."""

from __future__ import annotations

import ipaddress
import socket
import ssl
from collections.abc import Callable, Iterable
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import uvicorn

from cropplan.desk.desk import Desk
from cropplan.desk.keys import serving_at
from cropplan.problems import Refusal
from cropplan.serve.app import App
from cropplan.serve.log import Log
from cropplan.serve.protocol import PatientProtocol
from cropplan.serve.room import DeskRoom
from cropplan.serve.site import Site

USUAL_PORT = 8427
_LOOPBACK = "127.0.0.1"
_USUAL = {"http": 80, "https": 443}
#: Connections at once; beyond these the answer is "503, ask again". A process may usually have
#: 1,024 files open, and each connection is one.
_MOST_CONNECTIONS = 800
_LONGEST_HEAD = 16 * 1024
_WIDE_WARNING = (
    "warning: everyone on this network can now reach the calendar's door. Without a key it stays "
    "shut, but give each device its own key, and revoke one that is lost"
)
_PLAIN_WARNING = (
    "warning: without --cert and --private-key what is sent can be read on the way, keys "
    "included: use it only on a network whose every user you trust. Phones then keep no page for "
    "when the signal drops"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where to listen.

    hosts : addresses of this computer. lan : beyond this computer was asked for.
    names : further names under which it is reached, as NAME or NAME:PORT.
    cert, private_key : files for TLS, both or neither.
    """

    hosts: tuple[str, ...] = (_LOOPBACK,)
    port: int = USUAL_PORT
    lan: bool = False
    names: tuple[str, ...] = ()
    cert: Path | None = None
    private_key: Path | None = None

    @property
    def scheme(self) -> str:
        """Of the addresses it is reached at."""
        return "http" if self.cert is None else "https"


def place(
    *,
    host: str | None = None,
    port: int = USUAL_PORT,
    lan: bool = False,
    names: Iterable[str] = (),
    cert: Path | None = None,
    private_key: Path | None = None,
) -> Place:
    """Where to listen, checked. Raises Refusal for what would open more than was asked for."""
    if (cert is None) != (private_key is None):
        raise Refusal("TLS needs both files: --cert FILE and --private-key FILE")
    if cert is not None and private_key is not None:
        _try_tls(cert, private_key)
    if host is not None and not lan and not _is_loopback(host):
        raise Refusal(f"'{host}' can be reached from other computers; add --lan if that is meant")
    hosts = [_LOOPBACK] if host is None else [host]
    if lan and host is None:
        hosts.append(_lan_address())
    return Place(
        hosts=tuple(hosts),
        port=port,
        lan=lan,
        names=tuple(name.casefold() for name in names),
        cert=cert,
        private_key=private_key,
    )


def _try_tls(cert: Path, private_key: Path) -> None:
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(cert, private_key)
    except ssl.SSLError as fault:
        raise Refusal(
            f"'{cert}' and '{private_key}' are no certificate with its key: {fault.reason}"
        ) from fault
    except OSError as fault:
        raise Refusal(f"'{cert}' or '{private_key}' cannot be read: {fault.strerror}") from fault


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _is_any(host: str) -> bool:
    return host in {"0.0.0.0", "::"}  # noqa: S104 - compared with, not bound to


def _lan_address() -> str:
    """The address by which others on the network reach this computer."""
    # Nothing is sent: a datagram socket only looks up which way it would go.
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            found = str(probe.getsockname()[0])
        except OSError:
            found = _LOOPBACK
    if _is_loopback(found):
        raise Refusal("this computer is on no network; join one, or name an address with --host")
    return found


def allowed_hosts(where: Place) -> frozenset[str]:
    """Every Host that a request may name, each with its port."""
    own = {host for host in where.hosts if not _is_any(host)}
    if any(_is_loopback(host) or _is_any(host) for host in where.hosts):
        own |= {"localhost", _LOOPBACK, "::1"}
    if where.lan:
        name = socket.gethostname().casefold()
        own |= {name, f"{name.partition('.')[0]}.local"}
        if any(map(_is_any, where.hosts)):
            with suppress(Refusal):
                own.add(_lan_address())
    reached = {(host, where.port) for host in own} | {_parted(n, where.port) for n in where.names}
    hosts = {f"{_bracketed(host)}:{port}" for host, port in reached}
    # A browser leaves out the port that is usual.
    return frozenset(hosts | {_bracketed(h) for h, port in reached if port in _USUAL.values()})


def address(where: Place) -> str:
    """The address to print for new keys: a given name, else the one others can reach."""
    host, port = where.hosts[-1], where.port
    scheme = where.scheme
    if where.names:
        host, port = _parted(where.names[0], where.port)
        # A name on the usual port of https, served without: a proxy in front does the TLS.
        scheme = "https" if port == _USUAL["https"] else scheme
    elif _is_any(host):
        host = _lan_address()
    shown = _bracketed(host)
    return f"{scheme}://{shown}" if port == _USUAL[scheme] else f"{scheme}://{shown}:{port}"


def _parted(name: str, port: int) -> tuple[str, int]:
    head, colon, tail = name.rpartition(":")
    return (head, int(tail)) if colon and tail.isdigit() and ":" not in head else (name, port)


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def warnings(where: Place) -> list[str]:
    """What to tell whoever starts the server."""
    if not where.lan:
        return []
    return [_WIDE_WARNING, *([] if where.cert else [_PLAIN_WARNING])]


def serve(
    open_desk: Callable[[], Desk],
    where: Place,
    *,
    clock: Callable[[], datetime],
    say: Callable[[str], object],
    write_log: Callable[[str], object] | None = None,
) -> None:
    """Serve until stopped.

    open_desk : called in the one thread that asks the record.
    say : takes the first lines for whoever started it. write_log : takes the log's lines.
    Raises Refusal when the record cannot be opened or the port is taken.
    """
    log = Log(clock, write_log)
    room = DeskRoom(open_desk)
    try:
        room.ask_now(lambda desk: serving_at(desk, address(where)))
        sockets = [_listening(host, where.port) for host in where.hosts]
        for line in (*warnings(where), f"serving at {address(where)}; Ctrl-C stops it"):
            say(line)
        app = App(room, Site(log).answer, allowed_hosts(where), log)
        uvicorn.Server(_config(app, where)).run(sockets=sockets)
    except KeyboardInterrupt:
        say("stopped")
    finally:
        room.close()


def _listening(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Named as TCP, or asyncio would not switch Nagle's delay off and a short answer, sent as head
    # and body, would wait 40 ms for the client's acknowledgement.
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((host, port))
        listener.listen(1024)
    except OSError as fault:
        listener.close()
        raise Refusal(
            f"cannot listen at {host}:{port}: {fault.strerror}; choose another with --port"
        ) from fault
    return listener


def _config(app: App, where: Place) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        http=PatientProtocol,
        loop="asyncio",
        ws="none",
        lifespan="off",
        interface="asgi3",
        # The library's own lines would hold the whole path, and the path holds the key.
        access_log=False,
        log_config=None,
        log_level="critical",
        server_header=False,
        proxy_headers=False,
        limit_concurrency=_MOST_CONNECTIONS,
        h11_max_incomplete_event_size=_LONGEST_HEAD,
        timeout_keep_alive=5,
        timeout_graceful_shutdown=3,
        ssl_certfile=where.cert,
        ssl_keyfile=where.private_key,
    )
