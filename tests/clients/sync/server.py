"""A real CalDAV server, Radicale from PyPI, started on loopback for as long as a test needs it."""

from __future__ import annotations

import importlib.util
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import urlopen

import pytest

USER, PASSWORD = "ivy", "under-the-bench-7"
#: How long a server may take to answer for the first time. [s]
READY = 20.0

CONFIG = """
[server]
hosts = 127.0.0.1:{port}
[auth]
type = htpasswd
htpasswd_filename = {users}
htpasswd_encryption = plain
delay = 0
[rights]
type = {rights}
file = {rules}
[storage]
filesystem_folder = {folder}
[web]
type = none
[logging]
level = warning
"""

#: Everything may be read, nothing written.
READ_ONLY = """
[all]
user: .+
collection: .*
permissions: Rr
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A server that runs. folder : where it keeps its collections."""

    url: str
    folder: Path


@contextmanager
def radicale(room: Path, *, read_only_of: Path | None = None) -> Iterator[Server]:
    """Radicale on a free port, with its collections in `room`.

    read_only_of : the collections of another, to be read and not changed.
    """
    if importlib.util.find_spec("radicale") is None:
        pytest.fail("Radicale is missing: pip install 'cropplan[test]'")
    room.mkdir(parents=True, exist_ok=True)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    users, rules, config = room / "users", room / "rules", room / "config"
    users.write_text(f"{USER}:{PASSWORD}\n")
    rules.write_text(READ_ONLY)
    rights = "from_file" if read_only_of else "owner_only"
    folder = read_only_of or room / "store"
    config.write_text(
        CONFIG.format(port=port, users=users, rules=rules, rights=rights, folder=folder)
    )
    with (room / "log").open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "radicale", "--config", str(config)],
            stdout=log,
            stderr=subprocess.STDOUT,
        )
    try:
        url = f"http://127.0.0.1:{port}/"
        _wait_for(url, process, room / "log")
        yield Server(url=url, folder=folder)
    finally:
        process.terminate()
        process.wait(10)


def _wait_for(url: str, process: subprocess.Popen[bytes], log: Path) -> None:
    until = time.monotonic() + READY
    while time.monotonic() < until:
        if process.poll() is not None:
            pytest.fail(f"Radicale did not start: {log.read_text()[-500:]}")
        try:
            urlopen(url, timeout=1).close()  # noqa: S310 - loopback
        except HTTPError:
            return
        except (URLError, OSError):
            time.sleep(0.05)
        else:
            return
    pytest.fail(f"Radicale gave no answer in {READY:g} s: {log.read_text()[-500:]}")
