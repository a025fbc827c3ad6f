"""A server on loopback that answers as a test tells it, odd answers included."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One request as it came."""

    method: str
    path: str
    headers: Mapping[str, str]
    body: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Says:
    """One answer."""

    status: int = 207
    headers: Mapping[str, str] = field(default_factory=dict)
    body: str = ""


Answer = Callable[[Asked], Says]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stub:
    """The server: its address, and all that it was asked."""

    url: str
    asked: list[Asked]


@contextmanager
def stub(answer: Callable[[Asked], Says]) -> Iterator[Stub]:
    """A server that answers each request with `answer(request)`."""
    asked: list[Asked] = []

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def __getattr__(self, name: str) -> Callable[[], None]:
            if name.startswith("do_"):
                return self._answer
            raise AttributeError(name)

        def _answer(self) -> None:
            length = int(self.headers.get("Content-Length") or 0)
            body = self.rfile.read(length).decode()
            headers = {name.casefold(): value for name, value in self.headers.items()}
            one = Asked(method=self.command, path=self.path, headers=headers, body=body)
            asked.append(one)
            says = answer(one)
            content = says.body.encode()
            self.send_response(says.status)
            for name, value in says.headers.items():
                self.send_header(name, value)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    class Server(ThreadingHTTPServer):
        def handle_error(self, *_: object) -> None:
            """A client that hangs up in the middle is part of some tests."""

    httpd = Server(("127.0.0.1", 0), Handler)
    threading.Thread(target=httpd.serve_forever, args=(0.02,), daemon=True).start()
    try:
        yield Stub(url=f"http://127.0.0.1:{httpd.server_address[1]}/", asked=asked)
    finally:
        httpd.shutdown()
        httpd.server_close()


def many(*responses: str, upto: str = "") -> str:
    """A multistatus of these responses (RFC 4918 §13)."""
    end = f"<D:sync-token>{upto}</D:sync-token>" if upto else ""
    return (
        '<?xml version="1.0"?><D:multistatus xmlns:D="DAV:" '
        f'xmlns:C="urn:ietf:params:xml:ns:caldav">{"".join(responses)}{end}</D:multistatus>'
    )


def has(href: str, prop: str) -> str:
    """A resource with properties."""
    return (
        f"<D:response><D:href>{href}</D:href><D:propstat><D:prop>{prop}</D:prop>"
        "<D:status>HTTP/1.1 200 OK</D:status></D:propstat></D:response>"
    )


def etag(href: str, value: str) -> str:
    """A resource with an ETag."""
    return has(href, f"<D:getetag>{value}</D:getetag>")


def is_now(href: str, status: int) -> str:
    """A resource with a status of its own."""
    return (
        f"<D:response><D:href>{href}</D:href><D:status>HTTP/1.1 {status} X</D:status></D:response>"
    )


def error(condition: str) -> str:
    """The body of an error that names a condition (RFC 4918 §16)."""
    return (
        '<?xml version="1.0"?><D:error xmlns:D="DAV:" '
        f'xmlns:C="urn:ietf:params:xml:ns:caldav">{condition}</D:error>'
    )


PRINCIPAL = "<D:current-user-principal><D:href>/who/ivy/</D:href></D:current-user-principal>"
HOME = "<C:calendar-home-set><D:href>/cal/ivy/</D:href></C:calendar-home-set>"
CALENDAR = "<D:resourcetype><D:collection/><C:calendar/></D:resourcetype>"


def a_list(name: str, *, holds: str = "VTODO") -> str:
    """The properties of a list."""
    parts = f'<C:supported-calendar-component-set><C:comp name="{holds}"/>'
    return (
        f"{CALENDAR}<D:displayname>{name}</D:displayname>"
        f"{parts}</C:supported-calendar-component-set>"
    )


LISTS = {
    "/cal/ivy/w/": a_list("Work"),
    "/cal/ivy/e/": a_list("Events", holds="VEVENT"),
    "/cal/ivy/t1/": a_list("Twice"),
    "/cal/ivy/t2/": a_list("Twice"),
    "/cal/ivy/any/": f"{CALENDAR}<D:displayname>Any</D:displayname>",
}


def hosted(lists: dict[str, str], *, makes: int = 201) -> Answer:
    """A server as hosters run it: the root knows nothing, /.well-known/caldav leads on."""

    def answer(asked: Asked) -> Says:
        if asked.method == "MKCALENDAR":
            return Says(status=makes)
        match asked.path:
            case "/.well-known/caldav":
                return Says(status=301, headers={"Location": "/dav/"})
            case "/dav/":
                return Says(body=many(has("/dav/", PRINCIPAL)))
            case "/who/ivy/":
                return Says(body=many(has("/who/ivy/", HOME)))
            case "/cal/ivy/":
                return Says(body=many(*[has(href, props) for href, props in lists.items()]))
            case path if path in lists:
                return Says(body=many(has(path, lists[path])))
            case _:
                return Says(status=404)

    return answer
