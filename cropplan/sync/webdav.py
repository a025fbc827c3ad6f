"""The XML that is sent to a calendar server, and the answers about many resources at once.

WebDAV (RFC 4918), its calendars (RFC 4791) and its accounts of changes (RFC 6578).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote, urlsplit
from xml.sax.saxutils import escape

from cropplan.sync.storage import SyncTrouble

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

DAV, CAL = "{DAV:}", "{urn:ietf:params:xml:ns:caldav}"
_NAMESPACES = 'xmlns:D="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav"'
_HEAD = '<?xml version="1.0" encoding="utf-8"?>\n'

ETAGS_OF_ALL = (
    f"{_HEAD}<D:propfind {_NAMESPACES}><D:prop><D:getetag/><D:resourcetype/></D:prop></D:propfind>"
)
WHERE_AM_I = (
    f"{_HEAD}<D:propfind {_NAMESPACES}><D:prop><D:resourcetype/><D:displayname/>"
    "<D:current-user-principal/><C:calendar-home-set/><C:supported-calendar-component-set/>"
    "</D:prop></D:propfind>"
)


def changes_since(token: str | None) -> str:
    """Asks what has changed in a collection (RFC 6578 §3.2); with no token, for all of it."""
    return (
        f"{_HEAD}<D:sync-collection {_NAMESPACES}>"
        f"<D:sync-token>{escape(token or '')}</D:sync-token><D:sync-level>1</D:sync-level>"
        "<D:prop><D:getetag/></D:prop></D:sync-collection>"
    )


def these(paths: Iterable[str]) -> str:
    """Asks for resources and their ETags (RFC 4791 §7.9)."""
    hrefs = "".join(f"<D:href>{escape(path)}</D:href>" for path in paths)
    return (
        f"{_HEAD}<C:calendar-multiget {_NAMESPACES}>"
        f"<D:prop><D:getetag/><C:calendar-data/></D:prop>{hrefs}</C:calendar-multiget>"
    )


def make_list(name: str) -> str:
    """Makes a collection that holds tasks and nothing else (RFC 4791 §5.3.1)."""
    return (
        f"{_HEAD}<C:mkcalendar {_NAMESPACES}><D:set><D:prop>"
        f"<D:displayname>{escape(name)}</D:displayname>"
        '<C:supported-calendar-component-set><C:comp name="VTODO"/>'
        "</C:supported-calendar-component-set></D:prop></D:set></C:mkcalendar>"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a server says of one resource.

    status : of the resource itself; 200 unless said. properties : those it has, by name.
    """

    path: str
    status: int
    properties: dict[str, Element]

    def text(self, name: str) -> str | None:
        """A property's text; None when it is empty or not there."""
        found = self.properties.get(name)
        return None if found is None else (found.text or None)


def root_of(content: bytes, host: str) -> Element:
    """The root of an XML answer. Raises SyncTrouble when it is not XML."""
    from xml.etree import ElementTree as ET

    # No answer of WebDAV has a document type; entities that grow without end need one.
    if b"<!DOCTYPE" in content:
        raise SyncTrouble(f"{host} answers as no calendar server does; is its address right?")
    try:
        return ET.fromstring(content)  # noqa: S314 - see above
    except ET.ParseError:
        raise SyncTrouble(
            f"{host} answers with no readable XML; is its address that of a calendar server?"
        ) from None


def multistatus(content: bytes, host: str) -> tuple[list[Said], str | None]:
    """What is said of each resource (RFC 4918 §13), and the token to ask from the next time.

    Raises SyncTrouble.
    """
    root = root_of(content, host)
    said = [_said(response) for response in root.iterfind(f"{DAV}response")]
    return [one for one in said if one is not None], root.findtext(f"{DAV}sync-token")


def _said(response: Element) -> Said | None:
    href = response.findtext(f"{DAV}href")
    if href is None:
        return None
    properties: dict[str, Element] = {}
    for propstat in response.iterfind(f"{DAV}propstat"):
        if _status(propstat) == 200:
            for prop in propstat.iterfind(f"{DAV}prop"):
                properties.update({child.tag: child for child in prop})
    return Said(path=path_of(href.strip()), status=_status(response), properties=properties)


def _status(element: Element) -> int:
    words = (element.findtext(f"{DAV}status") or "HTTP/1.1 200 OK").split()
    return int(words[1]) if len(words) > 1 and words[1].isdecimal() else 0


def path_of(href: str) -> str:
    """The path of an address, written in one way however the server has quoted it."""
    return quote(unquote(urlsplit(href).path), safe="/~!$&'()*+,;=:@-._")


def hrefs_in(element: Element | None) -> Iterator[str]:
    """The addresses within a property."""
    if element is not None:
        for href in element.iterfind(f".//{DAV}href"):
            if href.text:
                yield href.text.strip()


def precondition(content: bytes) -> tuple[str, str | None]:
    """The condition that an error names (RFC 4918 §16), and the path it is about, if any."""
    from xml.etree import ElementTree as ET

    if b"<!DOCTYPE" in content:
        return "", None
    try:
        error = ET.fromstring(content)  # noqa: S314 - no document type, so no entities
    except ET.ParseError:
        return "", None
    for condition in error if error.tag == f"{DAV}error" else ():
        href = next(hrefs_in(condition), None)
        return condition.tag.rpartition("}")[2], None if href is None else path_of(href)
    return "", None
