"""What the server does under load, against the same server answering a constant body.

    python tests/benchmarks/serve_load.py

Two servers run at once, of one library with one configuration: ours over a house's record, and
one that sends a constant body of the same size without looking at anything. Sixteen connections
ask each in turn, so that a busy machine slows both. Printed are requests a second, the 99th
percentile, and ours over the constant one as ratios; how often the calendar was built; and how
long a wrong key, a revoked key and an unknown path take beside each other.
"""

from __future__ import annotations

import asyncio
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve()
ROOT = HERE.parents[2]
sys.path += [str(ROOT), str(ROOT / "tests/clients/serve")]

from raw_http import ask  # noqa: E402
from served_house import KeyKind, desk_over, free_port, house_record, make_key, serving  # noqa: E402

from cropplan.desk import keys  # noqa: E402
from cropplan.desk.serving import Feeds  # noqa: E402

CONNECTIONS = 16
#: Requests a round, over all connections, and rounds for each way of asking.
REQUESTS = 1600
ROUNDS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Requests a second, and the 99th percentile of how long one took. [1/s, ms]"""

    rate: float
    p99: float


async def _one_connection(port: int, octets: bytes, number: int, took: list[float]) -> None:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    for _ in range(number):
        begun = time.perf_counter()
        writer.write(octets)
        head = await reader.readuntil(b"\r\n\r\n")
        length = next(
            (int(row.split(b":")[1]) for row in head.split(b"\r\n") if b"content-length" in row), 0
        )
        await reader.readexactly(length)
        took.append(time.perf_counter() - begun)
    writer.close()


async def _round(port: int, octets: bytes, requests: int) -> Measured:
    took: list[float] = []
    begun = time.perf_counter()
    each = requests // CONNECTIONS
    await asyncio.gather(*(_one_connection(port, octets, each, took) for _ in range(CONNECTIONS)))
    whole = time.perf_counter() - begun
    return Measured(rate=len(took) / whole, p99=1000 * statistics.quantiles(took, n=100)[98])


def request(port: int, path: str, **headers: str) -> bytes:
    """A request as octets."""
    lines = [f"GET {path} HTTP/1.1", f"Host: 127.0.0.1:{port}"]
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    return ("\r\n".join(lines) + "\r\n\r\n").encode()


def compare(what: str, own: tuple[int, bytes], floor: tuple[int, bytes], requests: int) -> None:
    """Measure both in turn and print medians and ratios."""
    pairs = [
        (asyncio.run(_round(*floor, requests)), asyncio.run(_round(*own, requests)))
        for _ in range(ROUNDS)
    ]
    rate = statistics.median(ours.rate for _, ours in pairs)
    p99 = statistics.median(ours.p99 for _, ours in pairs)
    constant = statistics.median(theirs.rate for theirs, _ in pairs)
    slowest = statistics.median(theirs.p99 for theirs, _ in pairs)
    by_rate = statistics.median(ours.rate / theirs.rate for theirs, ours in pairs)
    by_p99 = statistics.median(ours.p99 / theirs.p99 for theirs, ours in pairs)
    print(
        f"{what:<22} {rate:7.0f} /s  p99 {p99:6.1f} ms | constant {constant:7.0f} /s  "
        f"p99 {slowest:6.1f} ms | ratios {by_rate:.2f} {by_p99:.2f}"
    )


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        record = house_record(Path(folder) / "house.db")
        revoked = make_key(record, "lost phone", KeyKind.PHONE)
        desk = desk_over(record)
        with desk.record:
            keys.revoke(desk, "lost phone")
        with serving(record) as served:
            plain = ask(served, served.feed)
            packed = ask(served, served.feed, Accept_Encoding="gzip")
            constant = _Constant(len(plain.body), len(packed.body))
            try:
                _load(served.port, served.feed, plain.headers["etag"], constant)
                _wrong_ways(served.port, revoked)
            finally:
                constant.stop()
            log = served.log.read_text(encoding="utf-8")
        polls = log.count(" GET /f/")
        print(f"polls answered {polls}; {_built_for(record, polls)}")


def _load(port: int, feed: str, etag: str, constant: _Constant) -> None:
    for what, path, own_headers, count in (
        ("304", "/none", {"If_None_Match": etag}, REQUESTS),
        ("whole calendar", "/plain", {}, REQUESTS),
        ("whole calendar, gzip", "/packed", {"Accept_Encoding": "gzip"}, REQUESTS),
    ):
        own = (port, request(port, feed, **own_headers))
        compare(what, own, (constant.port, request(constant.port, path)), count)


def _wrong_ways(port: int, revoked: str) -> None:
    ways: Mapping[str, str] = {
        "wrong key": f"/p/{'A' * 43}/",
        "revoked key": revoked,
        "unknown path": f"/x/{'A' * 43}/",
    }
    took: dict[str, list[float]] = {name: [] for name in ways}
    for _ in range(ROUNDS):
        for name, path in ways.items():
            each: list[float] = []
            asyncio.run(_one_connection(port, request(port, path), 400, each))
            took[name] += each
    medians = {name: 1e6 * statistics.median(each) for name, each in took.items()}
    print("refused in [µs]: " + ", ".join(f"{name} {each:.0f}" for name, each in medians.items()))


def _built_for(record: Path, polls: int) -> str:
    desk = desk_over(record)
    feeds = Feeds()
    with desk.record:
        key = next(key for key in keys.keys(desk) if key.kind is KeyKind.FEED)
        begun = time.perf_counter()
        feeds.feed(desk, key)
        first = time.perf_counter() - begun
        begun = time.perf_counter()
        for _ in range(polls):
            feeds.feed(desk, key)
        again = (time.perf_counter() - begun) / polls
    return (
        f"built {feeds.built} time in {first * 1000:.0f} ms; a later poll asks {again * 1e6:.0f} µs"
    )


class _Constant:
    """The floor: the same server, sending constant bodies."""

    def __init__(self, plain: int, packed: int) -> None:
        self.port = free_port()
        words = [sys.executable, str(HERE), "--constant", str(self.port), str(plain), str(packed)]
        self._process = subprocess.Popen(words, env={**os.environ, "PYTHONPATH": str(ROOT)})
        time.sleep(2)

    def stop(self) -> None:
        """Stop it."""
        self._process.terminate()
        self._process.wait()


def serve_constant(port: int, plain: int, packed: int) -> None:
    """Send constant bodies until stopped, with the configuration of the real server."""
    import uvicorn

    from cropplan.serve.run import Place, _config, _listening

    bodies = {"/plain": b"x" * plain, "/packed": b"x" * packed, "/none": b""}

    async def app(scope: Mapping[str, Any], _: Any, send: Any) -> None:
        body = bodies[scope["path"]]
        headers = [(b"etag", b'"constant"'), (b"content-length", str(len(body)).encode())]
        status = 200 if body else 304
        await send(
            {"type": "http.response.start", "status": status, "headers": headers[: 1 + bool(body)]}
        )
        await send({"type": "http.response.body", "body": body, "more_body": False})

    uvicorn.Server(_config(app, Place(port=port))).run(sockets=[_listening("127.0.0.1", port)])  # type: ignore[arg-type]


if __name__ == "__main__":
    if sys.argv[1:2] == ["--constant"]:
        serve_constant(*map(int, sys.argv[2:5]))
    else:
        main()
