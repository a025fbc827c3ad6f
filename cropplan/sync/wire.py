"""Requests to a calendar server: who asks, what is followed, and what its faults are called.

`requests` and not the library `caldav`: a task must go as the octets that were decided on, with
If-Match and If-None-Match, and `caldav` 3.6 raises SEQUENCE on every save; it also brings 22
packages (57 MB) where this brings 4. What is needed of the protocol is six kinds of request.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urljoin, urlsplit

from cropplan.sync.storage import NotAllowed, SyncTrouble, Unreachable

if TYPE_CHECKING:
    from requests import PreparedRequest, Response, Session

#: How long to wait for a connection, and for each piece of an answer. [s]
PATIENCE = (10.0, 60.0)
#: An answer longer than this is not one of ours to read. [octets]
LONGEST = 64 * 1024 * 1024
_REDIRECTS = 5
_MOVED = frozenset({301, 302, 307, 308})
_BUSY = frozenset({429, 502, 503, 504})


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a server answered. headers : whatever the capitals of their names."""

    status: int
    reason: str
    headers: Mapping[str, str]
    content: bytes

    @property
    def spoken(self) -> str:
        """The status as a person may look it up."""
        return f"{self.status} {self.reason}".strip()


class Wire:
    """A connection to one server. It keeps the password to itself: no message holds it."""

    def __init__(self, server: str, user: str, password: str) -> None:
        import requests

        self.server = server
        self.user = user
        self._password = password
        self.session: Session = requests.Session()
        self.session.headers["User-Agent"] = "cropplan"
        # Until the server has said how it wants the password, none is sent; and without this the
        # library would look for one in the user's ~/.netrc.
        self.session.auth = _nobody

    def close(self) -> None:
        """Let go of the connection."""
        self.session.close()

    def ask(
        self,
        method: str,
        url: str,
        *,
        body: str | bytes | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> Answer:
        """The server's answer, whatever its status but 401 and those of a busy server.

        Raises Unreachable, NotAllowed.
        """
        content = body.encode() if isinstance(body, str) else body
        sent = {"Content-Type": "application/xml; charset=utf-8", **(headers or {})}
        answer = self._follow(method, url, content, sent)
        if answer.status == 401 and self.session.auth is _nobody:
            self._introduce(answer)
            answer = self._follow(method, url, content, sent)
        if answer.status == 401:
            raise NotAllowed(
                f"{self.host} does not let '{self.user}' in with this password; "
                "set CROPPLAN_CALDAV_PASSWORD, or keep the right one in the keyring"
            )
        if answer.status in _BUSY:
            raise Unreachable(
                f"{self.host} is too busy to answer ({answer.spoken}); "
                "run it again in a while, it goes on from here"
            )
        return answer

    @property
    def host(self) -> str:
        """The server's name, for messages."""
        return urlsplit(self.server).netloc

    def _introduce(self, answer: Answer) -> None:
        from requests.auth import HTTPBasicAuth, HTTPDigestAuth

        offered = answer.headers.get("WWW-Authenticate", "").casefold()
        # Digest does not send the password itself, so it is preferred where both are offered.
        kind = HTTPDigestAuth if "digest" in offered else HTTPBasicAuth
        self.session.auth = kind(self.user, self._password)

    def _follow(
        self, method: str, url: str, content: bytes | None, headers: Mapping[str, str]
    ) -> Answer:
        for _ in range(_REDIRECTS):
            answer = self._send(method, url, content, headers)
            if answer.status not in _MOVED:
                return answer
            # The library would turn some of these into a GET, and take the password elsewhere.
            to = urljoin(url, answer.headers.get("Location", ""))
            if not _same_house(url, to):
                raise SyncTrouble(
                    f"{self.host} sends us on to {to}, another server; "
                    "if it is yours, name that address with --server"
                )
            url = to
        raise SyncTrouble(f"{self.host} sends us on and on; name the right address with --server")

    def _send(
        self, method: str, url: str, content: bytes | None, headers: Mapping[str, str]
    ) -> Answer:
        import requests

        try:
            with self.session.request(
                method,
                url,
                data=content,
                headers=dict(headers),
                allow_redirects=False,
                timeout=PATIENCE,
                stream=True,
            ) as response:
                return Answer(
                    status=response.status_code,
                    reason=response.reason or "",
                    headers=response.headers,
                    content=self._content_of(response),
                )
        except requests.exceptions.SSLError:
            raise Unreachable(
                f"{self.host} has a certificate that is not trusted; if it is your own, name its "
                "file in REQUESTS_CA_BUNDLE"
            ) from None
        except requests.exceptions.Timeout:
            raise Unreachable(
                f"{self.host} does not answer; run it again in a while, it goes on from here"
            ) from None
        except (requests.exceptions.InvalidURL, requests.exceptions.InvalidSchema):
            raise SyncTrouble(f"'{url}' is no address of a calendar server") from None
        except requests.exceptions.RequestException:
            raise Unreachable(
                f"{self.host} cannot be reached; look whether the server runs and the address is "
                "right, then run it again: it goes on from here"
            ) from None

    def _content_of(self, response: Response) -> bytes:
        content = bytearray()
        for piece in response.iter_content(65536):
            content += piece
            if len(content) > LONGEST:
                raise Unreachable(f"{self.host} answers without end; is its address right?")
        return bytes(content)


def is_private(server: str) -> bool:
    """Whether what is sent to this address can be read on the way by nobody else."""
    parts = urlsplit(server)
    if parts.scheme == "https":
        return True
    name = parts.hostname or ""
    try:
        return ipaddress.ip_address(name).is_loopback
    except ValueError:
        return name == "localhost"


def _nobody(request: PreparedRequest) -> PreparedRequest:
    return request


def _same_house(before: str, after: str) -> bool:
    old, new = urlsplit(before), urlsplit(after)
    if old.hostname != new.hostname:
        return False
    return new.scheme == "https" or (new.scheme, new.port) == (old.scheme, old.port)
