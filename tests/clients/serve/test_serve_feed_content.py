"""What a served calendar holds, octet by octet: what phones and importers need, and no more."""

from __future__ import annotations

import gzip
from datetime import timedelta

from raw_http import ask, events_in
from served_house import TODAY, KeyKind, Served, make_key

from cropplan.desk.calendar import KINDS
from cropplan.desk.serving import MOST_OCTETS
from tests.calendar_octets.octets import feed_findings, read_events
from tests.clients.readers import assert_all_readers_agree


def test_a_key_for_a_kind_of_work_shows_that_and_nothing_else(served: Served) -> None:
    """A feed of chosen kinds: its events are among the whole feed's, under the same UIDs."""
    some = make_key(served.record, "some work", KeyKind.FEED, works=("pollinating", "solids"))
    whole, part = ask(served, served.feed), ask(served, some)
    assert events_in(part.body) < events_in(whole.body)
    kinds = {line for line in part.text.split("\r\n") if line.startswith("CATEGORIES:")}
    assert kinds == {"CATEGORIES:pollinating", "CATEGORIES:solids"}
    assert "NAME:north: pollinating and solids\r\n" in part.text
    assert part.headers["etag"] != whole.headers["etag"]


def test_a_feed_stays_within_what_phones_take(looked_at: Served) -> None:
    """At most 1,000 events and 512 KiB (roed314/seminars 777; JM-Lemmi/ical-relay 212)."""
    body = ask(looked_at, looked_at.feed).body
    assert len(body) <= MOST_OCTETS
    assert 0 < body.count(b"BEGIN:VEVENT") <= 1000
    events = read_events(body)
    assert max(event.day for event in events) <= TODAY + timedelta(days=120)
    done = [event for event in events if event.summary.startswith("✓")]
    assert all(event.day >= TODAY - timedelta(days=14) for event in done)


def test_every_calendar_that_is_served_keeps_the_standards(served: Served) -> None:
    """RFC 5545 and 7986 judged octet by octet: whole, in part, unpacked, and with nothing due."""
    some = make_key(served.record, "solids", KeyKind.FEED, works=("solids",))
    shown = {kind for event in read_events(ask(served, served.feed).body) for kind in event.kinds}
    idle = min(set(KINDS.values()) - shown)
    none = make_key(served.record, "nothing", KeyKind.FEED, works=(idle,))
    bodies = [ask(served, path).body for path in (served.feed, some, none)]
    bodies.append(gzip.decompress(ask(served, served.feed, Accept_Encoding="gzip").body))
    for body in bodies:
        assert feed_findings(body) == []
    assert len(read_events(bodies[0])) > len(read_events(bodies[1])) > 0
    assert [event.summary for event in read_events(bodies[2])] == ["Nothing falls due"]


def test_every_reader_sees_the_served_days_alike(looked_at: Served) -> None:
    """Programs of other people agree on UID, day and words of what is served."""
    path = make_key(looked_at.record, "fewer events", KeyKind.FEED, works=("pollinating",))
    body = ask(looked_at, path).body
    lines = [(event.uid, event.day, event.summary) for event in read_events(body)]
    assert_all_readers_agree(body, lines)


def test_a_served_calendar_holds_neither_alarms_to_dos_nor_its_own_address(
    looked_at: Served,
) -> None:
    """Nothing that clients of a subscription misread, and no secret in a file that is passed on."""
    text = ask(looked_at, looked_at.feed).text
    unfolded = text.replace("\r\n ", "")
    for never in ("VALARM", "VTODO", "METHOD", "RRULE", "VTIMEZONE", "TZID", "SOURCE", "http"):
        assert never not in unfolded
    assert not [secret for secret in looked_at.secrets if secret in unfolded]
