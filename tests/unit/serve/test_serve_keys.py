"""Keys and ticks in the record: enough chance, kept as digests, each tick written once."""

from __future__ import annotations

import base64
import sqlite3
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from cropplan.desk import keys as desk_keys
from cropplan.desk.desk import Desk, open_desk, write
from cropplan.desk.premises import go_away
from cropplan.holding.entry import Fed, Seen
from cropplan.holding.planting import Stage
from cropplan.problems import Refusal
from cropplan.record import keys
from cropplan.record.audit import check
from cropplan.record.keys import KeyKind
from cropplan.record.store import open_record
from tests.builders import bare_house, bearing

TODAY = date(2026, 6, 10)
NOW = datetime(2026, 6, 10, 6, 0, tzinfo=UTC)


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A small house on a June morning."""
    with open_record(tmp_path / "house.db", create=True) as record:
        record.append(bare_house())
        record.append(bearing("tom1", "B1"))
        yield Desk(record=record, clock=lambda: NOW)


def test_a_key_has_more_chance_than_can_be_guessed_and_never_comes_twice(desk: Desk) -> None:
    """W3C TAG, Good Practices for Capability URLs: at least 120 bits; here 256."""
    secrets = [keys.add(desk.record, f"phone {n}", KeyKind.PHONE, made=TODAY)[1] for n in range(50)]
    assert len(set(secrets)) == 50
    assert {len(base64.urlsafe_b64decode(f"{secret}=")) for secret in secrets} == {32}


def test_only_the_digest_of_a_key_is_kept(desk: Desk) -> None:
    """SHA-256 at rest, and a revoked key is never given back."""
    key, secret = keys.add(desk.record, "wall", KeyKind.FEED, made=TODAY)
    rows = desk.record.connection.execute("SELECT * FROM access_key").fetchall()
    assert secret not in repr(rows)
    assert keys.digest_of(secret) in repr(rows)
    keys.revoke(desk.record, "wall", TODAY)
    with pytest.raises(sqlite3.IntegrityError, match="nor given back once revoked"):
        desk.record.connection.execute("UPDATE access_key SET revoked = NULL")
    with pytest.raises(sqlite3.IntegrityError, match="a key is never changed"):
        desk.record.connection.execute("UPDATE access_key SET digest = 'other'")
    assert keys.read_all(desk.record)[0].id == key.id


def test_right_wrong_revoked_and_missing_keys_are_compared_alike(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every digest to its end, in constant time, whatever was offered: one path for all."""
    made = [keys.add(desk.record, f"p{n}", KeyKind.PHONE, made=TODAY) for n in range(4)]
    keys.revoke(desk.record, "p1", TODAY)
    compared: list[tuple[int, int]] = []
    real = keys.hmac.compare_digest

    def counted(one: bytes, other: bytes) -> bool:
        compared.append((len(one), len(other)))
        return real(one, other)

    monkeypatch.setattr(keys.hmac, "compare_digest", counted)
    found = {}
    for name, secret in {
        "first": made[0][1],
        "last": made[3][1],
        "revoked": made[1][1],
        "wrong": "A" * 43,
        "missing": "",
        "long": "x" * 5000,
        "odd": "\udcff",
    }.items():
        compared.clear()
        opened = keys.opened_by(desk.record, secret)
        found[name] = (None if opened is None else opened.label, tuple(compared))
    assert {name: label for name, (label, _) in found.items() if label} == {
        "first": "p0",
        "last": "p3",
    }
    assert {paths for _, paths in found.values()} == {((64, 64),) * 4}


def test_a_label_names_one_device_until_its_key_is_revoked(desk: Desk) -> None:
    """Two keys under one name could not be told apart when one is lost."""
    keys.add(desk.record, "Ines", KeyKind.PHONE, made=TODAY)
    with pytest.raises(Refusal, match="a key is called 'Ines' already"):
        keys.add(desk.record, "Ines", KeyKind.FEED, made=TODAY)
    keys.revoke(desk.record, "Ines", TODAY)
    keys.add(desk.record, "Ines", KeyKind.PHONE, made=TODAY)
    assert [(key.label, key.revoked) for key in keys.read_all(desk.record)] == [
        ("Ines", TODAY),
        ("Ines", None),
    ]


def test_the_day_of_use_is_kept_once_a_day(desk: Desk) -> None:
    """A poll every few minutes must not write every few minutes."""
    _, secret = keys.add(desk.record, "wall", KeyKind.FEED, made=TODAY)
    assert desk_keys.let_in(desk, secret) is not None
    changes = desk.record.connection.total_changes
    for _ in range(5):
        desk_keys.let_in(desk, secret)
    assert desk.record.connection.total_changes == changes
    assert keys.read_all(desk.record)[0].used == TODAY


def test_a_neighbours_key_outlives_the_absence_by_a_week_and_no_longer(desk: Desk) -> None:
    """Its last ticks may come late; after that it opens nothing, revoked or not."""
    go_away(desk, date(2026, 6, 12), date(2026, 6, 20))
    made = desk_keys.new_key(desk, "Ines", KeyKind.NEIGHBOUR)
    assert (made.key.first, made.key.last) == (date(2026, 6, 12), date(2026, 6, 20))
    secret = made.addresses[0].url.split("/")[4]
    for days, opens in ((0, True), (10, True), (17, True), (18, False), (400, False)):
        later = Desk(record=desk.record, clock=lambda days=days: NOW + timedelta(days=days))  # type: ignore[misc]
        assert (desk_keys.let_in(later, secret) is not None) is opens, days


def test_a_tick_sent_again_writes_nothing_again(desk: Desk) -> None:
    """The same name, the same answer, one entry."""
    key, _ = keys.add(desk.record, "Mina", KeyKind.PHONE, made=TODAY)
    before = desk.record.revision

    def act() -> tuple[str, ...]:
        write(desk, TODAY, [Fed(loop="main", grams=20.0)])
        return ("fed",)

    told = [keys.once(desk.record, "tick-1", key, NOW, act) for _ in range(3)]
    assert told[0] == told[1] == told[2]
    assert told[0].said == ("fed",)
    assert told[0].entries == (before + 1,)
    assert desk.record.revision == before + 1
    assert keys.once(desk.record, "tick-2", key, NOW, act).entries == (before + 2,)


def test_a_tick_cut_off_after_writing_is_known_when_it_comes_again(desk: Desk) -> None:
    """Tick and entries are one transaction: whatever fails afterwards, nothing is written twice."""
    key, _ = keys.add(desk.record, "Mina", KeyKind.PHONE, made=TODAY)
    before = desk.record.revision

    def cut_off() -> tuple[str, ...]:
        write(desk, TODAY, [Fed(loop="main", grams=20.0), Fed(loop="main", grams=5.0)])
        raise RuntimeError("the power went")

    with pytest.raises(RuntimeError):
        keys.once(desk.record, "tick-1", key, NOW, cut_off)
    assert desk.record.revision == before + 2
    again = keys.once(desk.record, "tick-1", key, NOW, cut_off)
    assert again.entries == (before + 1, before + 2)
    assert desk.record.revision == before + 2
    assert check(desk.record) == []


def test_a_refused_tick_leaves_nothing_and_may_come_again(desk: Desk) -> None:
    """What could not be written is not kept as done."""
    key, _ = keys.add(desk.record, "Mina", KeyKind.PHONE, made=TODAY)
    before = desk.record.revision

    def refused() -> tuple[str, ...]:
        write(desk, TODAY, [Fed(loop="main", grams=1.0), Seen(tag="none", stage=Stage.ROOTED)])
        return ()

    with pytest.raises(Refusal, match="'none'"):
        keys.once(desk.record, "tick-1", key, NOW, refused)
    assert keys.tick_sent(desk.record, "tick-1") is None
    assert desk.record.revision == before
    # And what is written later by other means is not taken for it.
    write(desk, TODAY, [Fed(loop="main", grams=1.0)])
    assert keys.tick_sent(desk.record, "tick-1") is None


def test_two_servers_of_one_record_write_a_tick_once(desk: Desk) -> None:
    """The second to write loses its entries with its tick, and answers as the first did."""
    key, _ = keys.add(desk.record, "Mina", KeyKind.PHONE, made=TODAY)
    before = desk.record.revision
    with open_record(desk.record.path) as record:
        other = Desk(record=record, clock=lambda: NOW)

        def raced() -> tuple[str, ...]:
            keys.once(
                other.record,
                "tick-1",
                key,
                NOW,
                lambda: (write(other, TODAY, [Fed(loop="main", grams=7.0)]), ("first",))[1],
            )
            write(desk, TODAY, [Fed(loop="main", grams=8.0)])
            return ("second",)

        told = keys.once(desk.record, "tick-1", key, NOW, raced)
    assert told.said == ("first",)
    assert desk.record.revision == before + 1


def test_a_tick_that_changes_nothing_is_kept_with_what_was_said(desk: Desk) -> None:
    """Sent again, it gives the same answer, though by then the same work might be due anew."""
    key, _ = keys.add(desk.record, "Mina", KeyKind.PHONE, made=TODAY)
    told = keys.once(desk.record, "tick-1", key, NOW, lambda: ("nothing changed",))
    assert told.entries == ()
    again = keys.once(desk.record, "tick-1", key, NOW, lambda: ("something else",))
    assert again.said == ("nothing changed",)


def test_the_address_last_served_at_is_kept_for_new_keys(desk: Desk) -> None:
    """What the running server told is what a new key's address begins with."""
    assert desk_keys.served_at(desk) == desk_keys.USUAL_ADDRESS
    desk_keys.serving_at(desk, "https://house.example:8443")
    made = desk_keys.new_key(desk, "wall", KeyKind.FEED)
    assert [one.url.split("/f/")[0] for one in made.addresses] == [
        "webcal://house.example:8443",
        "https://house.example:8443",
    ]


def test_an_older_records_keys_open_in_this_release(tmp_path: Path) -> None:
    """The frozen record of version 3 holds a phone's key, a revoked one and a tick."""
    import shutil

    old = Path(__file__).parents[1] / "record" / "old" / "v3.db"
    copy = Path(shutil.copy(old, tmp_path / "house.db"))
    desk = open_desk(copy, clock=lambda: NOW)
    with desk.record:
        assert [(key.label, key.kind) for key in desk_keys.keys(desk)] == [
            ("phone by the door", KeyKind.PHONE),
            ("wall", KeyKind.FEED),
        ]
        known = keys.tick_sent(desk.record, "8d0b6a58")
        assert known is not None
        assert known.said == ("nothing to write",)
