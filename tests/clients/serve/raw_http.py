"""HTTP by hand over a socket, so that every octet of a reply is seen as it was sent."""

from __future__ import annotations

import re
import socket
from dataclasses import dataclass
from urllib.parse import urlencode

from served_house import Served


@dataclass(frozen=True, slots=True)
class Reply:
    """A reply: its status, its headers in small letters, its body."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        """The body as text."""
        return self.body.decode()


def send(served: Served, octets: bytes, *, timeout: float = 20.0) -> bytes:
    """Send octets and read until the server hangs up."""
    with socket.create_connection(("127.0.0.1", served.port), timeout) as line:
        line.sendall(octets)
        got = b""
        while part := line.recv(65536):
            got += part
    return got


def parted(octets: bytes) -> Reply:
    """A whole reply as its parts."""
    head, _, body = octets.partition(b"\r\n\r\n")
    first, *rest = head.decode("latin-1").split("\r\n")
    match = re.fullmatch(r"HTTP/1\.1 (\d{3})( .*)?", first)
    assert match is not None, first
    headers = {}
    for line in rest:
        name, _, value = line.partition(": ")
        assert name.casefold() not in headers, f"{name} twice"
        headers[name.casefold()] = value
    return Reply(int(match[1]), headers, body)


def ask(
    served: Served,
    path: str,
    *,
    method: str = "GET",
    host: str | None = None,
    body: bytes = b"",
    **headers: str,
) -> Reply:
    """One request on a connection of its own. Header names are given with underscores."""
    lines = [
        f"{method} {path} HTTP/1.1",
        f"Host: {f'127.0.0.1:{served.port}' if host is None else host}",
    ]
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    if body or method == "POST":
        lines.append(f"Content-Length: {len(body)}")
    lines += ["Connection: close", "", ""]
    return parted(send(served, "\r\n".join(lines).encode() + body))


def post(
    served: Served,
    path: str,
    fields: list[tuple[str, str]],
    *,
    origin: str | None = "own",
    host: str | None = None,
    **headers: str,
) -> Reply:
    """A form sent as a browser does. origin : "own" for the page's, None for no such header."""
    if origin is not None:
        headers["Origin"] = served.origin if origin == "own" else origin
    headers["Content_Type"] = "application/x-www-form-urlencoded"
    return ask(served, path, method="POST", host=host, body=urlencode(fields).encode(), **headers)


def token_on(page: str) -> str:
    """The token that a page puts into its forms."""
    match = re.search(r'name="form" value="([0-9a-f]+)"', page)
    assert match is not None
    return match[1]


def keys_of(page: str, handle: str) -> list[str]:
    """The task keys that a page gives for a line."""
    line = page.split(f'id="{handle}"', 1)[1].split("</article>", 1)[0]
    return list(dict.fromkeys(re.findall(r'name="key" value="([^"]+)"', line)))


def ticked(
    served: Served, handle: str, name: str, page: str | None = None, path: str | None = None
) -> Reply:
    """Tick a line of the page, as its form does. name : the tick's own."""
    root = path or served.phone
    shown = page or ask(served, root).text
    fields = [("form", token_on(shown)), ("tick", name), ("what", "done"), ("handle", handle)]
    fields += [("key", key) for key in keys_of(shown, handle)]
    return post(served, f"{root}answer", fields, Accept="application/json")


def events_in(body: bytes) -> set[str]:
    """The UIDs of a calendar's events."""
    lines = body.decode().split("\r\n")
    return {line for line in lines if line.startswith("UID:")} - {lines[3]}
