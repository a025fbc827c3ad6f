"""The calendar over real HTTP: headers, validators, gzip and kept connections."""

from __future__ import annotations

import gzip
from email.utils import parsedate_to_datetime

import pytest
from raw_http import Reply, ask, parted, send
from served_house import Served


def without_date(reply: Reply) -> dict[str, str]:
    """The headers but the moment of sending."""
    return {name: value for name, value in reply.headers.items() if name != "date"}


def test_a_calendar_is_sent_with_the_headers_that_clients_need(looked_at: Served) -> None:
    """Calendar text with its charset (RFC 5545 §3.1.4), inline, private but kept, no CORS."""
    reply = ask(looked_at, looked_at.feed)
    assert reply.status == 200
    assert reply.headers["content-type"] == "text/calendar; charset=utf-8"
    assert reply.headers["content-disposition"] == 'inline; filename="house.ics"'
    assert reply.headers["cache-control"] == "private, no-cache"
    assert reply.headers["vary"] == "Accept-Encoding"
    assert reply.headers["x-content-type-options"] == "nosniff"
    assert reply.headers["referrer-policy"] == "no-referrer"
    assert reply.headers["x-robots-tag"] == "noindex"
    assert int(reply.headers["content-length"]) == len(reply.body) > 10_000
    assert not any(name.startswith("access-control") for name in reply.headers)
    assert "server" not in reply.headers
    assert reply.body.startswith(b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n")
    assert reply.body.endswith(b"END:VCALENDAR\r\n")


def test_an_importer_that_accepts_nothing_in_particular_is_served(looked_at: Served) -> None:
    """Google's importer sends no Accept header (github.com/aaronpk/Meetable/issues/138)."""
    plain = ask(looked_at, looked_at.feed, User_Agent="Google-Calendar-Importer")
    odd = ask(looked_at, looked_at.feed, Accept="image/png")
    assert plain.status == odd.status == 200
    assert plain.body == odd.body


def test_head_has_the_headers_of_get_and_no_body(looked_at: Served) -> None:
    """RFC 9110 §9.3.2, for the calendar and for the page."""
    for path in (looked_at.feed, f"{looked_at.phone}week"):
        got = ask(looked_at, path)
        head = ask(looked_at, path, method="HEAD")
        assert head.body == b""
        assert head.status == got.status == 200
        told = (without_date(got), without_date(head))
        if path == looked_at.feed:
            assert told[0] == told[1]
        else:
            assert told[0].keys() == told[1].keys()
    # An If-None-Match that holds is answered alike too.
    etag = ask(looked_at, looked_at.feed).headers["etag"]
    assert ask(looked_at, looked_at.feed, method="HEAD", If_None_Match=etag).status == 304


def test_an_unchanged_calendar_is_not_sent_again(looked_at: Served) -> None:
    """304 for either validator (RFC 9110 §13.1.2, §13.1.3), without a body, validators kept."""
    first = ask(looked_at, looked_at.feed)
    etag, revised = first.headers["etag"], first.headers["last-modified"]
    assert etag.startswith('"')
    assert len(etag) == 66
    assert parsedate_to_datetime(revised).tzinfo is not None
    same = [
        {"If_None_Match": etag},
        {"If_None_Match": f'"other", {etag}'},
        {"If_None_Match": f"W/{etag}"},
        {"If_None_Match": "*"},
        {"If_Modified_Since": revised},
        {"If_None_Match": etag, "If_Modified_Since": "Sun, 06 Nov 1994 08:49:37 GMT"},
    ]
    for asked in same:
        reply = ask(looked_at, looked_at.feed, **asked)
        assert (reply.status, reply.body) == (304, b""), asked
        assert "content-type" not in reply.headers
        assert reply.headers["etag"] == etag
        assert reply.headers["last-modified"] == revised
        assert reply.headers["cache-control"] == "private, no-cache"
    changed = [
        {"If_None_Match": '"other"'},
        {"If_None_Match": '"other"', "If_Modified_Since": revised},
        {"If_Modified_Since": "Sun, 06 Nov 1994 08:49:37 GMT"},
        {"If_Modified_Since": "no date"},
    ]
    for asked in changed:
        assert ask(looked_at, looked_at.feed, **asked).status == 200, asked


def test_a_polling_client_keeps_its_connection(looked_at: Served) -> None:
    """Two requests on one connection get two whole replies, the 304 ending where it should."""
    etag = ask(looked_at, looked_at.feed).headers["etag"]
    head = f"GET {looked_at.feed} HTTP/1.1\r\nHost: 127.0.0.1:{looked_at.port}\r\n"
    asked = f"{head}If-None-Match: {etag}\r\n\r\n{head}Connection: close\r\n\r\n"
    got = send(looked_at, asked.encode())
    first, rest = got.split(b"\r\n\r\n", 1)
    assert b" 304 " in first
    assert parted(rest).status == 200


@pytest.mark.parametrize(
    ("accepted", "packed"),
    [
        (None, False),
        ("gzip", True),
        ("deflate, gzip;q=0.5", True),
        ("br, deflate", False),
        ("gzip;q=0", False),
        ("gzip;q=0.0, identity", False),
        ("identity", False),
        ("*", False),
    ],
)
def test_gzip_is_sent_only_when_asked_for(
    looked_at: Served, accepted: str | None, packed: bool
) -> None:
    """Its body is the same once unpacked, its validator another, and caches are told (Vary)."""
    plain = ask(looked_at, looked_at.feed)
    wanted = {} if accepted is None else {"Accept_Encoding": accepted}
    reply = ask(looked_at, looked_at.feed, **wanted)
    assert reply.headers["vary"] == "Accept-Encoding"
    assert (reply.headers.get("content-encoding") == "gzip") is packed
    assert int(reply.headers["content-length"]) == len(reply.body)
    if packed:
        assert gzip.decompress(reply.body) == plain.body
        assert len(reply.body) < len(plain.body) / 4
        assert reply.headers["etag"] != plain.headers["etag"]
        again = ask(looked_at, looked_at.feed, If_None_Match=reply.headers["etag"], **wanted)
        assert again.status == 304
    else:
        assert reply.body == plain.body
