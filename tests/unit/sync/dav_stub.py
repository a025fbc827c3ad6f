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
