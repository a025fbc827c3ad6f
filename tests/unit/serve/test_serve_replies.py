"""Replies told without a network: paths, validators, packing, hosts, addresses, log lines."""

from __future__ import annotations

import gzip
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import pytest

from cropplan.desk.serving import Feed
from cropplan.problems import Refusal
from cropplan.serve import run
from cropplan.serve.exchange import Request, divided, form_token
from cropplan.serve.feeds import feed_reply, takes_gzip
from cropplan.serve.log import Log
from cropplan.serve.run import Place, address, allowed_hosts, place, warnings
from cropplan.serve.words import harvest, mass, minutes, unit_of

MOMENT = datetime(2026, 3, 4, 5, 6, 7, tzinfo=UTC)
REVISED = "Wed, 04 Mar 2026 05:06:07 GMT"
FEED = Feed(
    body=b"BEGIN:VCALENDAR\r\n",
    packed=gzip.compress(b"BEGIN:VCALENDAR\r\n", mtime=0),
    etag='"plain"',
    packed_etag='"packed"',
    revised=MOMENT,
    events=0,
)


@pytest.mark.parametrize(
    ("path", "parts"),
    [
        ("/p/SECRET/week", ("p", "SECRET", "week")),
        ("/p/SECRET/plant/tom7", ("p", "SECRET", "plant/tom7")),
        ("/p/SECRET/", ("p", "SECRET", "")),
        ("/p/SECRET", ("p", "SECRET", "")),
        ("/f/SECRET/house.ics", ("f", "SECRET", "house.ics")),
        ("/p//x", ("p", "", "x")),
        ("//p/SECRET/", ("", "p", "SECRET/")),
        ("/robots.txt", ("robots.txt", "", "")),
        ("/", ("", "", "")),
        ("*", ("*", "", "")),
        ("", ("", "", "")),
    ],
)
def test_every_path_has_a_place_for_a_secret(path: str, parts: tuple[str, str, str]) -> None:
    """So that a path we do not know goes the way of one with a wrong key."""
    assert divided(path) == parts


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 200),
        ({"if-none-match": '"plain"'}, 304),
        ({"if-none-match": 'W/"plain"'}, 304),
        ({"if-none-match": '"a", "plain" , "b"'}, 304),
        ({"if-none-match": "*"}, 304),
        ({"if-none-match": '"packed"'}, 200),
        ({"if-none-match": '"packed"', "accept-encoding": "gzip"}, 304),
        ({"if-none-match": '"plain"', "accept-encoding": "gzip"}, 200),
        ({"if-none-match": "plain"}, 200),
        ({"if-modified-since": REVISED}, 304),
        ({"if-modified-since": "Wed, 04 Mar 2026 05:06:06 GMT"}, 200),
        ({"if-modified-since": "Wed, 04 Mar 2026 05:06:08 GMT"}, 200),
        ({"if-modified-since": REVISED, "if-none-match": '"x"'}, 200),
    ],
)
def test_validators_decide_whether_a_calendar_is_sent(headers: dict[str, str], status: int) -> None:
    """RFC 9110 §13.2.2: If-None-Match first, and If-Modified-Since only without it."""
    reply = feed_reply(FEED, Request(method="GET", host="h", headers=headers))
    assert reply.status == status
    assert bool(reply.body) is (status == 200)
    assert reply.headers["Last-Modified"] == REVISED


@pytest.mark.parametrize(
    ("accepted", "taken"),
    [("gzip", True), ("GZIP ; q=1", True), ("x-gzip", True), ("a,gzip;q=0.001", True)]
    + [(one, False) for one in ("", "gzip;q=0", "gzip; q=0.000", "deflate", "gzipped", "*")],
)
def test_gzip_is_taken_only_when_it_is_named_and_not_refused(accepted: str, taken: bool) -> None:
    """RFC 9110 §12.5.3: a weight of 0 means not acceptable."""
    assert takes_gzip(accepted) is taken


@pytest.mark.parametrize(
    ("headers", "ours"),
    [
        ({"origin": "http://house:8427"}, True),
        ({"origin": "https://HOUSE:8427"}, True),
        ({"origin": "http://house"}, False),
        ({"origin": "http://house:8427.evil.example"}, False),
        ({"origin": "http://me@house:8427"}, False),
        ({"origin": "null"}, False),
        ({"origin": ""}, False),
        ({"origin": "null", "sec-fetch-site": "same-origin"}, False),
        ({"sec-fetch-site": "same-origin"}, True),
        ({"sec-fetch-site": "same-site"}, False),
        ({}, False),
    ],
)
def test_an_answer_must_come_from_our_own_page(headers: dict[str, str], ours: bool) -> None:
    """Origin where there is one, else what the browser says of the site it fetches for."""
    assert Request(method="POST", host="house:8427", headers=headers).comes_from_here() is ours


def test_a_forms_token_tells_keys_apart_and_does_not_tell_the_key() -> None:
    """One key, one token; another key, another; the key is not in it."""
    assert form_token("a-key") == form_token("a-key")
    assert form_token("a-key") != form_token("b-key")
    assert "a-key" not in form_token("a-key")


def test_log_lines_hold_a_few_digits_of_a_keys_digest_and_no_more() -> None:
    """Two keys can be told apart; no path of a visitor is written as it came."""
    lines: list[str] = []
    log = Log(lambda: MOMENT, lines.append)
    log.request("GET", "/p/SECRET-KEY/plant/tom7", 200, 0.0123)
    log.request("GET", "/q/SECRET-KEY/", 404, 0)
    log.request("GET\r\nX", "/SECRET-KEY", 404, 0)
    log.trouble("line one of SECRET-KEY\nline two", "SECRET-KEY")
    log.note("started")
    digits = sha256(b"SECRET-KEY").hexdigest()[:4]
    assert lines[0].endswith(f" GET /p/{digits}…/ 200 12.3 ms\n")
    assert all(line.startswith("2026-03-04T05:06:07+00:00 ") for line in lines)
    assert all(line.count("\n") == 1 for line in lines)
    assert not [line for line in lines if "SECRET" in line]
    assert lines[3].endswith("! line one of (key)\n")


LOOPBACK = {"localhost:8427", "127.0.0.1:8427", "[::1]:8427"}


@pytest.fixture
def named(monkeypatch: pytest.MonkeyPatch) -> None:
    """A computer called shed, at one address of its network."""
    monkeypatch.setattr(run.socket, "gethostname", lambda: "Shed.lan")
    monkeypatch.setattr(run, "_lan_address", lambda: "192.168.1.20")


@pytest.mark.parametrize(
    ("where", "hosts", "shown"),
    [
        (Place(), LOOPBACK, "http://127.0.0.1:8427"),
        (Place(hosts=("::1",)), LOOPBACK, "http://[::1]:8427"),
        (
            Place(hosts=("127.0.0.1", "192.168.1.20"), lan=True),
            LOOPBACK | {"192.168.1.20:8427", "shed.lan:8427", "shed.local:8427"},
            "http://192.168.1.20:8427",
        ),
        (
            Place(hosts=("192.168.1.20",), lan=True),
            {"192.168.1.20:8427", "shed.lan:8427", "shed.local:8427"},
            "http://192.168.1.20:8427",
        ),
        (
            Place(hosts=("0.0.0.0",), lan=True),  # noqa: S104 - asked for by name
            LOOPBACK | {"192.168.1.20:8427", "shed.lan:8427", "shed.local:8427"},
            "http://192.168.1.20:8427",
        ),
        (
            Place(names=("house.example:443",)),
            LOOPBACK | {"house.example:443", "house.example"},
            "https://house.example",
        ),
        (
            Place(names=("house.example",), cert=Path("c"), private_key=Path("k")),
            LOOPBACK | {"house.example:8427"},
            "https://house.example:8427",
        ),
        (
            Place(port=80),
            {"localhost:80", "127.0.0.1:80", "[::1]:80", "localhost", "127.0.0.1", "[::1]"},
            "http://127.0.0.1",
        ),
    ],
)
@pytest.mark.usefixtures("named")
def test_only_names_that_lead_here_are_answered(where: Place, hosts: set[str], shown: str) -> None:
    """Exact name and port; a port is left out only where it is the usual one."""
    assert allowed_hosts(where) == hosts
    assert address(where) == shown


@pytest.mark.usefixtures("named")
def test_it_is_opened_wider_only_when_asked_and_then_warned_of() -> None:
    """Loopback alone by default; the network's address with --lan; never all of them unasked."""
    assert place().hosts == ("127.0.0.1",)
    assert warnings(place()) == []
    wide = place(lan=True)
    assert wide.hosts == ("127.0.0.1", "192.168.1.20")
    assert len(warnings(wide)) == 2
    assert place(host="0.0.0.0", lan=True).hosts == ("0.0.0.0",)  # noqa: S104
    for host in ("0.0.0.0", "::", "192.168.1.20", "house.example"):  # noqa: S104
        with pytest.raises(Refusal, match=f"'{host}' can be reached from other computers"):
            place(host=host)
    for host in ("localhost", "127.0.0.5", "::1"):
        assert place(host=host).hosts == (host,)


def test_a_computer_on_no_network_cannot_be_reached_from_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """--lan without a network is refused, not quietly served to nobody."""

    class Nowhere:
        def __init__(self, *_: object) -> None:
            """A socket of a computer without a network."""

        def connect(self, _: object) -> None:
            """No way leads anywhere."""
            raise OSError("network is unreachable")

        def close(self) -> None:
            """Nothing to close."""

    monkeypatch.setattr(run.socket, "socket", Nowhere)
    with pytest.raises(Refusal, match="this computer is on no network"):
        place(lan=True)


def test_a_port_in_use_is_told_in_one_line() -> None:
    """The address, why not, and what to type instead."""
    import socket

    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(Refusal, match=rf"cannot listen at 127.0.0.1:{port}: .*--port"):
            run._listening("127.0.0.1", port)


@pytest.mark.parametrize(
    ("length", "said"),
    [(0.2, "under 1 min"), (1, "1 min"), (59.4, "59 min"), (60, "1 h"), (95, "1 h 35 min")],
)
def test_lengths_of_work_are_spoken_shortly(length: float, said: str) -> None:
    """Whole minutes, hours from sixty."""
    assert minutes(length) == said


def test_amounts_are_told_in_the_units_of_the_house() -> None:
    """1 lb = 453.59237 g by definition (NIST Handbook 44, Appendix C)."""
    from cropplan.holding.house import Units

    assert unit_of("kg", Units.US) == "lb"
    assert unit_of("pieces", Units.US) == "pieces"
    assert harvest(0.45359237, "kg", Units.US) == "1 lb"
    assert harvest(12, "pieces", Units.US) == "12 pieces"
    assert harvest(1.5, "kg", Units.METRIC) == "1.5 kg"
    assert mass(28.349523125, Units.US) == "1.0 oz"
    assert mass(230, Units.METRIC) == "230 g"
