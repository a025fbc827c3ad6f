"""Keys: which device may read the calendar, tick on the page, or do a neighbour's errands."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlsplit

from cropplan.desk.calendar import KINDS, OTHER_KIND
from cropplan.desk.desk import Desk, first_house, house_called, today_in
from cropplan.holding.holding import Holding
from cropplan.holding.house import Absence
from cropplan.problems import Misuse, Refusal, did_you_mean
from cropplan.record import keys as kept
from cropplan.record.keys import Key, KeyKind

__all__ = [
    "Address",
    "Key",
    "KeyKind",
    "NewKey",
    "addresses",
    "is_here_only",
    "keys",
    "let_in",
    "new_key",
    "path_of",
    "revoke",
    "served_at",
    "server_address",
    "serving_at",
]

#: Where the calendars are served unless something else is said. The port has no meaning.
USUAL_ADDRESS = "http://127.0.0.1:8427"
#: Google takes no calendar address longer than 256 characters
#: (webapps.stackexchange.com/questions/158639); the path with the key needs 56 of them.
_LONGEST_SERVER = 190
_LONGEST_LABEL = 60
#: A neighbour's phone may find signal only after the absence is over. [d]
NEIGHBOUR_GRACE = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """One address of a key. use : what for, in words. short : the same in one word."""

    use: str
    short: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NewKey:
    """A key just made, with the addresses that hold its secret. They cannot be had again."""

    key: Key
    addresses: tuple[Address, ...]


def new_key(
    desk: Desk,
    label: str,
    kind: KeyKind,
    *,
    house: str | None = None,
    works: tuple[str, ...] = (),
    at: str | None = None,
) -> NewKey:
    """Make a key for one device.

    works : the kinds of work its calendar shows; empty for all.
    at : where the server is reached; None for where it was last started.
    A neighbour's key is for the next absence in the record.
    """
    holding = desk.record.snapshot(living_only=True)
    today = today_in(desk, first_house(holding))
    absence = None
    if house is not None:
        house_called(holding, house)
    if works and kind is not KeyKind.FEED:
        raise Misuse(f"a {kind.value}'s page shows all its work; kinds of work are for a calendar")
    if kind is KeyKind.NEIGHBOUR:
        absence = _next_absence(holding, today, house)
        house = absence.house or house
    base = server_address(desk, at)
    key, secret = kept.add(
        desk.record,
        _label(label),
        kind,
        made=today,
        house=house,
        works=tuple(dict.fromkeys(_work(word) for word in works)),
        first=None if absence is None else absence.first,
        last=None if absence is None else absence.last,
    )
    return NewKey(key=key, addresses=addresses(base, key, secret))


def _label(typed: str) -> str:
    label = " ".join(typed.split())
    if not label or not label.isprintable() or len(label) > _LONGEST_LABEL:
        raise Misuse(
            f"'{typed}' is no name for a key; write whose device it is, such as 'Ines phone'"
        )
    return label


def _work(word: str) -> str:
    known = {*KINDS.values(), OTHER_KIND}
    plain = " ".join(word.split()).casefold()
    if plain not in known:
        near = did_you_mean(plain, known) or f"; write {', '.join(sorted(known))}"
        raise Misuse(f"'{word}' is no kind of work a calendar shows{near}")
    return plain


def _next_absence(holding: Holding, today: date, house: str | None) -> Absence:
    coming = [
        absence
        for absence in holding.absences
        if absence.last >= today and (house is None or absence.house in {None, house})
    ]
    if not coming:
        raise Refusal(
            "no time away lies ahead, and a neighbour's key is for one; "
            "write it first: cropplan away FROM TO"
        )
    return min(coming, key=lambda absence: absence.first)


def server_address(desk: Desk, at: str | None = None) -> str:
    """The server's address without a path: as given, or where it was last started."""
    return _base(at or served_at(desk))


def _base(address: str) -> str:
    """The address of the server, without a path."""
    parts = urlsplit(address)
    try:
        whole = parts.scheme in {"http", "https"} and parts.hostname and (parts.port or 1) > 0
    except ValueError:
        whole = False
    if not whole or parts.username or parts.path.strip("/") or not address.isascii():
        raise Misuse(
            f"'{address}' is no address of a server; write such as http://192.168.1.20:8427"
        )
    if len(address) > _LONGEST_SERVER:
        raise Misuse(
            f"'{address}' is {len(address)} characters long; with the key it would be longer than "
            "calendars take: give the server a shorter name"
        )
    return f"{parts.scheme}://{parts.netloc}"


def path_of(key: Key, secret: str) -> str:
    """The path under which a key is let in."""
    return f"/f/{secret}/house.ics" if key.kind is KeyKind.FEED else f"/p/{secret}/"


def addresses(base: str, key: Key, secret: str) -> tuple[Address, ...]:
    """The addresses of a key at a server."""
    url = base + path_of(key, secret)
    if key.kind is not KeyKind.FEED:
        return (Address(use="open on the phone", short="page", url=url),)
    # A webcal address is the web address with another scheme; iPhones subscribe by it, where a
    # web address tends to be imported once.
    webcal = "webcal" + url[url.index(":") :]
    return (
        Address(use="iPhone, iPad, Mac: subscribe", short="apple", url=webcal),
        Address(use="all others: add a calendar from an address", short="others", url=url),
    )


def keys(desk: Desk) -> list[Key]:
    """Every key there ever was, those taken back included, in the order made."""
    return kept.read_all(desk.record)


def revoke(desk: Desk, label: str) -> Key:
    """Take a key back. Raises Refusal when no key in use has that label."""
    holding = desk.record.snapshot(living_only=True)
    return kept.revoke(desk.record, label, today_in(desk, first_house(holding)))


def is_here_only(address: Address) -> bool:
    """Whether only this computer can reach an address."""
    return urlsplit(address.url).hostname in {"localhost", "127.0.0.1", "::1"}


def served_at(desk: Desk) -> str:
    """Where the calendars were last served, or would be by default."""
    return kept.served_at(desk.record) or USUAL_ADDRESS


def serving_at(desk: Desk, address: str) -> None:
    """Keep where the calendars are served, for the addresses of keys to come."""
    kept.keep_served_at(desk.record, address)


def let_in(desk: Desk, secret: str) -> Key | None:
    """The key that a secret opens today; None for a wrong, revoked or outlived one."""
    key = kept.opened_by(desk.record, secret)
    # By the clock alone: asking the record for the house's day would cost more than the answer.
    day = desk.clock().date()
    if key is None or (key.last is not None and (day - key.last).days > NEIGHBOUR_GRACE):
        return None
    with suppress(Refusal):
        # A record in use elsewhere can still be read; the day of use is not worth a failure.
        kept.note_use(desk.record, key, day)
    return key
