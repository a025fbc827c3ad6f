"""One suite for every storage: the list in memory answers as a real server does, errors included.

What a list must do is RFC 4791 (§5.3.1 to §5.3.4, §7.9) and RFC 6578 (§3); each test says which.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from cropplan.sync.caldav import CalDavList
from cropplan.sync.memory import MemoryList
from cropplan.sync.storage import Listing, Resource, Stale, Storage, TokenRefused, UidTaken

UID = "0c5a1f34-9b1c-4a53-8a6c-5d1d0ab5a7{:02d}"


@pytest.fixture(params=["memory", "radicale"])
def storage(
    request: pytest.FixtureRequest, new_list: Callable[[], CalDavList]
) -> CalDavList | MemoryList:
    """An empty list."""
    return MemoryList() if request.param == "memory" else new_list()


def task(number: int, words: str = "water the trays") -> bytes:
    """A task as a client sends it."""
    lines = (
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//tests//EN",
        "BEGIN:VTODO",
        f"UID:{UID.format(number)}",
        "DTSTAMP:20260305T070000Z",
        f"SUMMARY:{words}",
        "END:VTODO",
        "END:VCALENDAR",
        "",
    )
    return "\r\n".join(lines).encode()


def put(storage: Storage, number: int) -> Resource:
    """A new task, as it is on the server then."""
    path = storage.path_of(UID.format(number))
    storage.create(path, task(number))
    (one,) = storage.read([path])
    return one


def etag(one: Resource) -> str:
    """Its ETag, which every server of these tests gives."""
    assert one.etag is not None
    return one.etag


def since(storage: Storage, token: str | None) -> Listing:
    """What has changed."""
    listing = storage.look(token)
    assert listing.token is not None
    return listing


def test_a_new_list_is_empty(storage: Storage) -> None:
    """Nothing listed, and the account of changes begins."""
    listing = since(storage, None)
    assert (listing.etags, listing.removed, listing.whole) == ({}, frozenset(), True)


def test_what_was_put_is_listed_and_read_with_one_etag(storage: Storage) -> None:
    """RFC 4791 §5.3.4: the listing and the copy speak of one state."""
    one = put(storage, 1)
    assert storage.look(None).etags == {one.path: etag(one)}
    assert UID.format(1).encode() in one.content


def test_a_create_never_writes_over_what_is_there(storage: Storage) -> None:
    """RFC 4791 §5.3.2: If-None-Match: *."""
    one = put(storage, 1)
    with pytest.raises(Stale):
        storage.create(one.path, task(1, "something else"))
    assert storage.read([one.path]) == [one]


def test_a_replace_needs_the_etag_that_is_there_now(storage: Storage) -> None:
    """RFC 4791 §5.3.4 with If-Match: a copy that changed meanwhile is not written over."""
    one = put(storage, 1)
    storage.replace(one.path, task(1, "twice"), etag(one))
    with pytest.raises(Stale):
        storage.replace(one.path, task(1, "thrice"), etag(one))
    (now,) = storage.read([one.path])
    assert b"twice" in now.content
    assert now.etag != one.etag


def test_a_replace_of_what_is_gone_is_refused(storage: Storage) -> None:
    """A task removed on the phone does not come back by itself."""
    one = put(storage, 1)
    storage.remove(one.path, etag(one))
    with pytest.raises(Stale):
        storage.replace(one.path, task(1), etag(one))
    assert storage.read([one.path]) == []


def test_a_remove_needs_the_etag_that_is_there_now(storage: Storage) -> None:
    """What changed meanwhile is not removed unread."""
    one = put(storage, 1)
    storage.replace(one.path, task(1, "twice"), etag(one))
    with pytest.raises(Stale):
        storage.remove(one.path, etag(one))
    (now,) = storage.read([one.path])
    storage.remove(one.path, etag(now))
    assert storage.read([one.path]) == []


def test_one_uid_stands_once_in_a_list(storage: Storage) -> None:
    """RFC 4791 §5.3.2.1: no-uid-conflict; the server says which resource has it, or may."""
    one = put(storage, 1)
    with pytest.raises(UidTaken) as told:
        storage.create(storage.path_of("another-name"), task(1))
    assert told.value.path in {one.path, None}
    assert list(storage.look(None).etags) == [one.path]


def test_only_what_changed_since_a_token_is_listed(storage: Storage) -> None:
    """RFC 6578 §3.2 and §3.5: changed, removed and new members, each once."""
    stays, changes, goes = (put(storage, n) for n in (1, 2, 3))
    token = since(storage, None).token
    assert since(storage, token).etags == {}
    storage.replace(changes.path, task(2, "changed"), etag(changes))
    storage.remove(goes.path, etag(goes))
    comes = put(storage, 4)
    listing = since(storage, token)
    assert not listing.whole
    assert set(listing.etags) == {changes.path, comes.path}
    assert listing.removed == {goes.path}
    assert stays.path not in listing.etags


def test_a_token_that_was_never_given_is_refused(storage: Storage) -> None:
    """RFC 6578 §3.2: valid-sync-token; then all is read again."""
    put(storage, 1)
    with pytest.raises(TokenRefused):
        storage.look("http://radicale.org/ns/sync/" + "0" * 64)


def test_what_is_not_there_is_not_among_what_is_read(storage: Storage) -> None:
    """RFC 4791 §7.9: 404 for one does not spoil the others."""
    one = put(storage, 1)
    found = storage.read([storage.path_of("nowhere"), one.path])
    assert found == [one]
    assert storage.read([]) == []


def test_more_tasks_than_fit_one_request_are_all_read(storage: Storage) -> None:
    """They are asked for in batches."""
    paths = [storage.path_of(f"{UID.format(0)}-{n}") for n in range(103)]
    for number, path in enumerate(paths):
        storage.create(path, task(0).replace(UID.format(0).encode(), f"u-{number}".encode()))
    assert {one.path for one in storage.read(paths)} == set(paths)
