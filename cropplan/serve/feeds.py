"""Replies with a calendar: whole, packed, or "not changed" (RFC 9110)."""

from __future__ import annotations

from email.utils import format_datetime
from http import HTTPStatus

from cropplan.desk.serving import Feed
from cropplan.serve.exchange import Reply, Request

FILE = "house.ics"


def feed_reply(feed: Feed, request: Request) -> Reply:
    """The calendar as this client wants it: packed if it can unpack, nothing if it has it."""
    packed = takes_gzip(request.headers.get("accept-encoding", ""))
    body, etag = (feed.packed, feed.packed_etag) if packed else (feed.body, feed.etag)
    revised = format_datetime(feed.revised, usegmt=True)
    headers = {
        "ETag": etag,
        "Last-Modified": revised,
        # Kept by the client and asked about each time; no-store would forbid "not changed".
        "Cache-Control": "private, no-cache",
        "Vary": "Accept-Encoding",
    }
    if _has_it(request, etag, revised):
        return Reply(status=HTTPStatus.NOT_MODIFIED, headers=headers)
    headers |= {
        "Content-Type": "text/calendar; charset=utf-8",
        "Content-Disposition": f'inline; filename="{FILE}"',
    }
    if packed:
        headers["Content-Encoding"] = "gzip"
    return Reply(status=HTTPStatus.OK, body=body, headers=headers)


def _has_it(request: Request, etag: str, revised: str) -> bool:
    """Whether the client's validator is today's (RFC 9110 §13.1.2, §13.1.3, §13.2.2)."""
    tags = request.headers.get("if-none-match")
    if tags is not None:
        # Compared weakly, as §13.1.2 says; with it, If-Modified-Since is not looked at.
        held = {tag.strip().removeprefix("W/") for tag in tags.split(",")}
        return "*" in held or etag in held
    # A date later than ours would do too (§13.1.3), but a clock that was set back must not keep
    # an old calendar alive; every change has a date of its own, so the very date is asked for.
    return request.headers.get("if-modified-since") == revised


def takes_gzip(accepted: str) -> bool:
    """Whether an Accept-Encoding names gzip and does not refuse it (RFC 9110 §12.5.3)."""
    for choice in accepted.split(","):
        coding, _, weight = choice.partition(";")
        if coding.strip().casefold() in {"gzip", "x-gzip"}:
            quality = weight.partition("=")[2].strip() or "1"
            return quality.strip("0.") != ""
    return False
