"""What the server writes down: every request, and no key in any line."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import datetime
from hashlib import sha256

#: So much of a key's digest tells two keys of a house apart, and opens nothing.
_SHOWN = 4
#: Paths that our keys stand in; of any other path nothing is written, for it may hold one mistyped.
_PREFIXES = frozenset({"f", "p"})


class Log:
    """Lines on standard error, or wherever `write` puts them."""

    def __init__(
        self, clock: Callable[[], datetime], write: Callable[[str], object] | None = None
    ) -> None:
        self._clock = clock
        self._write = write or _to_standard_error

    def request(self, method: str, path: str, status: int, seconds: float) -> None:
        """One line about a request that was answered."""
        known = method if method.isalpha() and len(method) < 10 else "?"
        self._line(f"{known} {_shown(path)} {status} {seconds * 1000:.1f} ms")

    def trouble(self, words: str, secret: str) -> None:
        """What went wrong with a request, without the key it was made with."""
        plain = words.replace(secret, "(key)") if secret else words
        for line in plain.splitlines():
            self._line(f"! {line}")

    def note(self, words: str) -> None:
        """Something that whoever runs the server should know."""
        self._line(words)

    def _line(self, words: str) -> None:
        moment = self._clock().isoformat(timespec="seconds")
        self._write(f"{moment} {words}\n")


def _shown(path: str) -> str:
    parts = path.split("/")
    if len(parts) < 4 or parts[1] not in _PREFIXES:
        return "(another path)"
    digest = sha256(parts[2].encode("utf-8", "surrogatepass")).hexdigest()
    return f"/{parts[1]}/{digest[:_SHOWN]}…/"


def _to_standard_error(line: str) -> None:
    sys.stderr.write(line)
    sys.stderr.flush()
