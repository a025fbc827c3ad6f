"""The server's outer border: who may ask, how much and how slowly, and what is written down.

Everything within is values: a `Request` goes in, a `Reply` comes out, in the desk's own thread.
"""

from __future__ import annotations

import asyncio
import time
import traceback
from collections.abc import Awaitable, Callable, Mapping
from http import HTTPStatus
from typing import Any

from cropplan.desk.desk import Desk
from cropplan.problems import CropplanError
from cropplan.serve.exchange import ALWAYS, Reply, Request, divided, not_found, plainly
from cropplan.serve.log import Log
from cropplan.serve.room import DeskRoom

#: An answer from a phone is a few hundred octets.
MOST_BODY = 64 * 1024
#: A path holds a key, a page and a tag. [octets]
_LONGEST_PATH = 512
#: All headers of a request together. [octets]
_LONGEST_HEAD = 16 * 1024
#: How long a body may take to come. [s]
BODY_SECONDS = 15
_METHODS = ("GET", "HEAD", "POST")

#: Gives the reply to a request, from the desk.
Answering = Callable[[Desk, Request], Reply]
# The messages of ASGI, as its specification names them.
Message = Mapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]


class App:
    """The ASGI application (asgi.readthedocs.io, HTTP message format 2.3)."""

    def __init__(self, room: DeskRoom, answer: Answering, hosts: frozenset[str], log: Log) -> None:
        self._room = room
        self._answer = answer
        self._hosts = hosts
        self._log = log

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            return
        begun = time.perf_counter()
        headers = {n.decode("latin-1"): v.decode("latin-1") for n, v in scope["headers"]}
        reply = self._refused(scope, headers)
        if reply is None:
            body, reply = await _body(scope, headers, receive)
            if reply is None:
                reply = await self._answered(scope, headers, body)
        await _send(reply, send)
        self._log.request(scope["method"], scope["path"], reply.status, time.perf_counter() - begun)

    def _refused(self, scope: Message, headers: Mapping[str, str]) -> Reply | None:
        # First of all, before any key is looked at: a page of a stranger, whose name was made to
        # lead here, sends its own name as Host.
        if headers.get("host", "").casefold() not in self._hosts:
            return plainly(HTTPStatus.MISDIRECTED_REQUEST, "This is another server.")
        if scope["method"] not in _METHODS:
            allowed = ", ".join(_METHODS)
            return plainly(HTTPStatus.METHOD_NOT_ALLOWED, "Not so.", Allow=allowed)
        if sum(len(name) + len(value) for name, value in scope["headers"]) > _LONGEST_HEAD:
            return plainly(HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE, "Too much.")
        if len(scope["raw_path"] or b"") > _LONGEST_PATH:
            return not_found()
        return None

    async def _answered(self, scope: Message, headers: Mapping[str, str], body: bytes) -> Reply:
        prefix, secret, rest = divided(scope["path"])
        request = Request(
            method=scope["method"],
            host=headers["host"].casefold(),
            encrypted=scope["scheme"] == "https",
            prefix=prefix,
            secret=secret,
            rest=rest,
            query=scope["query_string"].decode("latin-1"),
            headers=headers,
            body=body,
        )
        try:
            return await self._room.ask(lambda desk: self._answer(desk, request))
        except CropplanError as fault:
            self._log.trouble(str(fault), secret)
        except Exception:
            self._log.trouble(traceback.format_exc(), secret)
        # Never an empty calendar nor a page in its place: a client then keeps what it has.
        return plainly(HTTPStatus.SERVICE_UNAVAILABLE, "Not just now; ask again.", Retry_After="60")


async def _body(
    scope: Message, headers: Mapping[str, str], receive: Receive
) -> tuple[bytes, Reply | None]:
    """The body of a POST, if it is small and comes soon; else the refusal."""
    if scope["method"] != "POST":
        return b"", None
    too_large = plainly(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, "Too much.", Connection="close")
    told = headers.get("content-length", "0")
    if not told.isascii() or not told.isdigit() or int(told) > MOST_BODY:
        return b"", too_large
    body = b""
    try:
        async with asyncio.timeout(BODY_SECONDS):
            while True:
                event = await receive()
                if event["type"] != "http.request":
                    return b"", plainly(HTTPStatus.BAD_REQUEST, "Cut off.", Connection="close")
                body += event.get("body", b"")
                if len(body) > MOST_BODY:
                    return b"", too_large
                if not event.get("more_body", False):
                    return body, None
    except TimeoutError:
        return b"", plainly(HTTPStatus.REQUEST_TIMEOUT, "Too slow.", Connection="close")


async def _send(reply: Reply, send: Send) -> None:
    headers = {**ALWAYS, **reply.headers}
    if reply.status != HTTPStatus.NOT_MODIFIED:
        headers["Content-Length"] = str(len(reply.body))
    await send(
        {
            "type": "http.response.start",
            "status": reply.status,
            "headers": [(n.lower().encode(), v.encode("latin-1")) for n, v in headers.items()],
        }
    )
    await send({"type": "http.response.body", "body": reply.body, "more_body": False})
