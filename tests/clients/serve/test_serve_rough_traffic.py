"""Requests that are broken, endless, huge or many: refused or served, and memory stays flat."""

from __future__ import annotations

import contextlib
import random
import socket
import time

import pytest
from raw_http import ask, parted, send
from served_house import Served

CHUNKED_TOO = "Transfer-Encoding: chunked\r\nConnection: close\r\n\r\n0\r\n\r\n"


@pytest.mark.parametrize(
    ("head", "status"),
    [
        ("GET {f} HTTP/1.1\r\n\r\n", {400}),
        ("GET {f} HTTP/1.0\r\n\r\n", {421}),
        ("GET {f} HTTP/1.1\r\nHost: {h}\r\nHost: evil.example\r\n\r\n", {400, 421}),
        ("BREW {f} HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\n\r\n", {405}),
        ("PUT {f} HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\n\r\n", {405}),
        ("DELETE {p} HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\n\r\n", {405}),
        ("OPTIONS * HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\n\r\n", {405}),
        (
            "GET {f} HTTP/1.1\r\nHost: {h}\r\nConnection: close\r\nX: " + "a" * 70000 + "\r\n\r\n",
            {431},
        ),
        (
            "POST {p}answer HTTP/1.1\r\nHost: {h}\r\nContent-Length: 5\r\n" + CHUNKED_TOO,
            {400, 403},
        ),
        ("\x16\x03\x01\x02\x00\x01\x00", {400}),
    ],
)
def test_heads_that_should_not_be_are_refused(
    attacked: Served, head: str, status: set[int]
) -> None:
    """Missing or doubled Host, odd methods, a head without end, a body of two lengths, TLS."""
    octets = head.format(f=attacked.feed, p=attacked.phone, h=f"127.0.0.1:{attacked.port}").encode(
        "latin-1"
    )
    reply = parted(send(attacked, octets))
    assert reply.status in status
    if reply.status == 405:
        assert reply.headers["allow"] == "GET, HEAD, POST"


@pytest.mark.parametrize("chunked", [False, True])
def test_ten_megabytes_are_refused_unread(attacked: Served, chunked: bool) -> None:
    """A body of 10 MB is refused as soon as its size shows, and is never held in memory."""
    before = attacked.memory_kb()
    size = 10 * 1024 * 1024
    told = "Transfer-Encoding: chunked" if chunked else f"Content-Length: {size}"
    head = (
        f"POST {attacked.phone}answer HTTP/1.1\r\nHost: 127.0.0.1:{attacked.port}\r\n{told}\r\n\r\n"
    )
    got = b""
    with socket.create_connection(("127.0.0.1", attacked.port), 10) as line:
        line.sendall(head.encode())
        piece = b"x" * 65536
        with contextlib.suppress(OSError):
            for _ in range(size // len(piece)):
                line.sendall(b"10000\r\n" + piece + b"\r\n" if chunked else piece)
        with contextlib.suppress(OSError):
            got = line.recv(65536)
    # The reply may be lost when the server hangs up on what is still being sent.
    assert got == b"" or b" 413 " in got.split(b"\r\n")[0]
    assert attacked.memory_kb() < before + 4096


def test_a_client_that_never_ends_its_head_is_hung_up_on(attacked: Served) -> None:
    """One octet at a time: others are served meanwhile, and the line is cut in the end."""
    head = f"GET {attacked.feed} HTTP/1.1\r\nHost: 127.0.0.1:{attacked.port}\r\n"
    with socket.create_connection(("127.0.0.1", attacked.port), 10) as line:
        begun = time.monotonic()
        cut = False
        for octet in head.encode():
            try:
                line.sendall(bytes([octet]))
                line.settimeout(0.1)
                cut = line.recv(1) == b""
            except TimeoutError:
                pass
            except OSError:
                cut = True
            if cut:
                break
            assert ask(attacked, attacked.feed).status == 200
        assert cut, f"still open after {time.monotonic() - begun:.0f} s"


def test_a_client_that_never_ends_its_body_is_told_so(attacked: Served) -> None:
    """408 after a while, as for a head."""
    head = (
        f"POST {attacked.phone}answer HTTP/1.1\r\nHost: 127.0.0.1:{attacked.port}\r\n"
        f"Origin: {attacked.origin}\r\nContent-Length: 100\r\n\r\nform="
    )
    assert parted(send(attacked, head.encode())).status == 408


def test_five_hundred_connections_at_once(attacked: Served) -> None:
    """All are served or told to ask again; what they cost is given back."""
    asked = (
        f"GET {attacked.feed} HTTP/1.1\r\nHost: 127.0.0.1:{attacked.port}\r\n"
        "Connection: close\r\n\r\n"
    ).encode()

    def storm() -> list[int]:
        lines = [socket.create_connection(("127.0.0.1", attacked.port), 30) for _ in range(500)]
        statuses = []
        for line in lines:
            line.sendall(asked)
        for line in lines:
            with line:
                got = b""
                while part := line.recv(65536):
                    got += part
            reply = parted(got)
            assert reply.status == 503 or len(reply.body) == int(reply.headers["content-length"])
            statuses.append(reply.status)
        return statuses

    first = storm()
    assert set(first) <= {200, 503}
    assert first.count(200) >= 400
    after_one = attacked.memory_kb()
    for _ in range(3):
        storm()
    assert attacked.memory_kb() < after_one + 8192


def test_octets_of_chance_do_no_harm(attacked: Served) -> None:
    """Two hundred connections of noise, half of them begun like a request."""
    chance = random.Random(7)  # noqa: S311 - noise, not a secret
    for number in range(200):
        noise = chance.randbytes(chance.randrange(1, 400))
        begun = f"GET {attacked.feed} HTTP/1.1\r\n".encode() if number % 2 else b""
        with (
            contextlib.suppress(OSError),
            socket.create_connection(("127.0.0.1", attacked.port), 5) as line,
        ):
            line.sendall(begun + noise)
    assert attacked.alive()
