"""A second client over raw HTTP that ticks tasks as phones do; it shares no code with ours."""

from __future__ import annotations

import re
from base64 import b64encode
from dataclasses import dataclass
from urllib.error import HTTPError
from urllib.parse import urljoin
from urllib.request import Request, urlopen
from xml.etree import ElementTree

from tests.clients.sync.server import PASSWORD, USER

#: The ways in which programs mark a task as done (facts gathered from their published code and
#: reports; RFC 5545 §3.8.1.8, §3.8.1.11 and §3.8.2.1 name the three properties).
WAYS = {
    "all three": "STATUS:COMPLETED\r\nCOMPLETED:{at}\r\nPERCENT-COMPLETE:100",
    "status only": "STATUS:COMPLETED",
    "percent only": "STATUS:NEEDS-ACTION\r\nPERCENT-COMPLETE:100",
    "completed only": "COMPLETED:{at}",
    "a day, though illegal": "STATUS:COMPLETED\r\nCOMPLETED;VALUE=DATE:{day}",
}
#: Those that a strict server takes; DATE is not allowed for COMPLETED (§3.8.2.1).
LEGAL_WAYS = [way for way in WAYS if "illegal" not in way]
CAL = "{urn:ietf:params:xml:ns:caldav}"
#: RFC 4791 §7.8.
EVERY_TASK = (
    b'<?xml version="1.0"?><C:calendar-query xmlns:D="DAV:" '
    b'xmlns:C="urn:ietf:params:xml:ns:caldav"><D:prop><D:getetag/><C:calendar-data/></D:prop>'
    b'<C:filter><C:comp-filter name="VCALENDAR"/></C:filter></C:calendar-query>'
)
_STATE = re.compile(r"^(?:STATUS|COMPLETED|PERCENT-COMPLETE)[:;].*\r?\n", re.MULTILINE)


def ticked(text: str, way: str = "all three", *, at: str = "20260305T061500Z") -> str:
    """A task's text as a phone writes it once ticked. at : the moment, in UTC."""
    state = WAYS[way].format(at=at, day=at[:8])
    return _STATE.sub("", text).replace("END:VTODO", f"{state}\r\nEND:VTODO")


def unticked(text: str) -> str:
    """A task's text once its tick was taken away: STATUS back, COMPLETED gone."""
    return _STATE.sub("", text).replace("END:VTODO", "STATUS:NEEDS-ACTION\r\nEND:VTODO")


def value(text: str, name: str) -> str | None:
    """The value of a property, unfolded; None when there is none."""
    unfolded = re.sub(r"\r?\n[ \t]", "", text)
    found = re.search(rf"^{name}(?:;[^:\r\n]*)?:(.*?)\r?$", unfolded, re.MULTILINE)
    return found[1] if found else None


def is_done(text: str) -> bool:
    """Whether a phone would show it as finished."""
    return (
        value(text, "STATUS") == "COMPLETED"
        or value(text, "COMPLETED") is not None
        or value(text, "PERCENT-COMPLETE") == "100"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One resource of the list, as last read."""

    path: str
    etag: str
    text: str

    @property
    def uid(self) -> str:
        """Its UID."""
        return value(self.text, "UID") or ""

    @property
    def summary(self) -> str:
        """What it is called."""
        return value(self.text, "SUMMARY") or ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Phone:
    """A phone that looks at one list."""

    address: str

    def tasks(self) -> list[Task]:
        """Every task in the list, as a phone that starts afresh asks for them."""
        _, body = self._ask("REPORT", self.address, EVERY_TASK, {"Depth": "1"})
        return [
            Task(
                path=response.findtext("{DAV:}href") or "",
                etag=response.findtext(".//{DAV:}getetag") or "",
                text=re.sub("\r?\n", "\r\n", response.findtext(f".//{CAL}calendar-data") or ""),
            )
            for response in ElementTree.fromstring(body)  # noqa: S314 - our own server
            if response.tag == "{DAV:}response"
        ]

    def read(self, path: str) -> Task | None:
        """One task; None when it is not there."""
        try:
            etag, text = self._ask("GET", urljoin(self.address, path))
        except HTTPError as fault:
            if fault.code in {404, 410}:
                return None
            raise
        return Task(path=path, etag=etag, text=text)

    def find(self, summary: str) -> Task:
        """The one task of that summary, or whose summary begins so."""
        tasks = self.tasks()
        found = [t for t in tasks if t.summary == summary] or [
            t for t in tasks if t.summary.startswith(summary)
        ]
        assert len(found) == 1, f"{len(found)} tasks begin with '{summary}'"
        return found[0]

    def tick(self, task: Task, way: str = "all three", *, at: str = "20260305T061500Z") -> int:
        """Mark a task as done; the status of the answer."""
        return self.put(task, ticked(task.text, way, at=at))

    def untick(self, task: Task) -> int:
        """Take the tick away; the status of the answer."""
        return self.put(task, unticked(task.text))

    def put(self, task: Task, text: str) -> int:
        """Write a task back unless it changed meanwhile; the status of the answer."""
        headers = {"If-Match": task.etag, "Content-Type": "text/calendar; charset=utf-8"}
        return self._status("PUT", task.path, text.encode(), headers)

    def add(self, name: str, text: str) -> int:
        """A resource of the phone's own."""
        headers = {"If-None-Match": "*", "Content-Type": "text/calendar; charset=utf-8"}
        return self._status("PUT", name, text.encode(), headers)

    def remove(self, task: Task) -> int:
        """Delete a task."""
        return self._status("DELETE", task.path, None, {"If-Match": task.etag})

    def remove_list(self) -> int:
        """Delete the whole list."""
        return self._status("DELETE", self.address, None, {})

    def _status(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> int:
        request = self._request(method, urljoin(self.address, path), body, headers)
        try:
            with urlopen(request, timeout=30) as answer:  # noqa: S310 - loopback
                return int(answer.status)
        except HTTPError as fault:
            return fault.code

    def _ask(
        self,
        method: str,
        url: str,
        body: bytes | None = None,
        headers: dict[str, str] | None = None,
    ) -> tuple[str, str]:
        request = self._request(method, url, body, headers or {})
        with urlopen(request, timeout=30) as answer:  # noqa: S310 - loopback
            return answer.headers.get("ETag", ""), answer.read().decode()

    def _request(
        self, method: str, url: str, body: bytes | None, headers: dict[str, str]
    ) -> Request:
        who = b64encode(f"{USER}:{PASSWORD}".encode()).decode()
        return Request(  # noqa: S310 - loopback
            url, data=body, method=method, headers={"Authorization": f"Basic {who}", **headers}
        )
