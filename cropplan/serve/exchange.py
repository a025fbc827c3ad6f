"""A request and its reply as values, so that what is answered can be told without a network."""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from http import HTTPStatus
from urllib.parse import parse_qs, urlsplit

#: Sent with every reply. No page tells another site where it was, nor lets itself be guessed at.
ALWAYS: Mapping[str, str] = {
    "X-Content-Type-Options": "nosniff",
    "X-Robots-Tag": "noindex",
    "Referrer-Policy": "no-referrer",
}

#: Holds a phone's key, for the labels in the house, whose codes hold none.
COOKIE = "let-in"


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What was asked.

    host : as in the Host header, known to be one of ours. encrypted : came over TLS.
    headers : names in small letters.
    secret : the part of the path where a key stands; empty when there is none.
    prefix, rest : the path before and after it.
    """

    method: str
    host: str
    encrypted: bool = False
    prefix: str = ""
    secret: str = ""
    rest: str = ""
    query: str = ""
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes = b""

    @property
    def asked(self) -> Mapping[str, list[str]]:
        """The values of the query, by name."""
        return parse_qs(self.query, max_num_fields=50)

    @property
    def form(self) -> Mapping[str, list[str]]:
        """The values of a form, by name. Raises ValueError when it is no form."""
        text = self.body.decode("utf-8")
        return parse_qs(text, keep_blank_values=True, max_num_fields=500)

    @property
    def remembered(self) -> str:
        """The key that this browser was last let in by, as its cookie says; empty without one."""
        for pair in self.headers.get("cookie", "").split(";"):
            name, _, value = pair.strip().partition("=")
            if name == COOKIE:
                return value
        return ""

    @property
    def wants_json(self) -> bool:
        """Whether our own script asks, which goes on by itself from the answer."""
        return "application/json" in self.headers.get("accept", "")

    def comes_from_here(self) -> bool:
        """Whether the browser says that one of our own pages sent this.

        The scheme is left aside: behind a proxy that does the TLS it is not ours to know.
        """
        origin = self.headers.get("origin")
        if origin is None:
            return self.headers.get("sec-fetch-site") == "same-origin"
        return urlsplit(origin).netloc.casefold() == self.host


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What is answered; `headers` besides those that every reply has."""

    status: int
    body: bytes = b""
    headers: Mapping[str, str] = field(default_factory=dict)


def plainly(status: HTTPStatus, words: str, **headers: str) -> Reply:
    """A reply in a few plain words. Header names are given with underscores."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return Reply(
        status=status,
        body=f"{words}\n".encode(),
        headers={"Content-Type": "text/plain; charset=utf-8", "Cache-Control": "no-store", **named},
    )


def not_found() -> Reply:
    """The one answer to everything that is not there or not for this key."""
    return plainly(HTTPStatus.NOT_FOUND, "There is nothing here.")


def divided(path: str) -> tuple[str, str, str]:
    """Prefix, secret and rest of a path such as `/p/SECRET/week`.

    Whatever the path, its second part is taken for a secret, so that an unknown path goes the
    same way and takes the same time as one with a wrong key.
    """
    _, prefix, *rest = path.split("/", 3) if path.count("/") else ("", path)
    secret = rest[0] if rest else ""
    return prefix, secret, rest[1] if len(rest) > 1 else ""


def form_token(secret: str) -> str:
    """What a page of this key puts into its forms, and nobody can who does not know the key."""
    return hmac.new(secret.encode("utf-8", "surrogatepass"), b"form", sha256).hexdigest()
