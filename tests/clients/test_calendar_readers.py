"""The written calendar as other people's programs read it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest

from cropplan.holding.notice import Notice, Published
from cropplan.ics.ical import render
from cropplan.ics.published import Publishing, compare
from tests.calendar_octets.octets import feed_findings, findings_between, read_events
from tests.clients.readers import READERS, Khal, Line, assert_all_readers_agree, icaljs_events

RECORD = UUID("5d0c2f0e-93c6-4d0b-8d4c-6c0b3f9f1a77")
CALENDAR = UUID("a2b7d7cf-3f0e-4b52-9a9f-6f6f2f5a1b11")
FIRST_TOLD = datetime(2027, 11, 25, 6, 30, tzinfo=UTC)

# Rounds of an invented house: every so many days, so that each weekday, month end, year end and
# the leap day of 2028 falls on something.
ROUNDS = (
    ("pollinate", 1, "Pollinate 🍅 in B1–B6", ("pollinating",)),
    ("drain", 3, "Drain the solids: loop “Großer Teich”; 20 l", ("water, solids", "loop")),
    ("strike", 13, "Strike 12 cuttings, Fraîcheur d’été → tray C1\\C2", ("cuttings",)),
    ("renew", 45, "Renew the medium in B3, B4; wear a mask", ("media", "cautions")),
)
DAYS = 430


def invented_year() -> list[Notice]:
    """Fourteen months of notices across two year ends and a leap day, told in many letters."""
    start = date(2027, 12, 20)
    return [
        Notice(
            key=f"{duty}/house:kitchen/{turn}",
            day=start + timedelta(days=turn * every),
            summary=summary,
            text=f"{summary}\nWhy: {every} days since the last; see “{duty}”, 100 % of it.\n"
            + "In walking order: B1, B2, B3; then C1, C2 (naïve façade, 温室, теплица 🌿). " * 3,
            kinds=kinds,
            tentative=duty == "strike",
        )
        for duty, every, summary, kinds in ROUNDS
        for turn in range(DAYS // every)
    ]


def written(publishing: Publishing, revised: datetime = FIRST_TOLD) -> bytes:
    """The file of what is live."""
    return render(
        publishing.live,
        name="Kitchen house, glass; 温室",
        calendar_uid=CALENDAR,
        revised=revised,
        about="What falls due, day by day.\nAn invented house.",
    )


def lines_of(publishing: Publishing) -> list[Line]:
    """What a reader must see of what is live."""
    return [(told.uid, notice.day, notice.summary) for notice, told in publishing.live]


def stored(*publishings: Publishing) -> dict[str, Published]:
    """The record's memory after these, the later over the earlier."""
    return {told.key: told for each in publishings for told in each.changed}


def test_every_reader_sees_the_invented_year_alike() -> None:
    """Programs not ours agree on UID, day and words of some 600 events (RFC 5545 §3.6.1)."""
    publishing = compare(invented_year(), {}, FIRST_TOLD, RECORD)
    octets = written(publishing)
    assert feed_findings(octets) == []
    days = {notice.day for notice, _ in publishing.live}
    assert {date(2027, 12, 31), date(2028, 1, 1), date(2028, 2, 29), date(2028, 12, 31)} <= days
    assert_all_readers_agree(octets, lines_of(publishing))


def test_a_file_on_disk_is_read_like_its_octets(tmp_path: Path) -> None:
    """The same check serves the file that a command has written."""
    publishing = compare(invented_year()[:5], {}, FIRST_TOLD, RECORD)
    file = tmp_path / "house.ics"
    file.write_bytes(written(publishing))
    assert_all_readers_agree(file, lines_of(publishing))


def test_every_reader_sees_that_nothing_falls_due() -> None:
    """RFC 5545 §3.6 wants a component: an empty list of work is one event, not a broken file."""
    octets = written(compare([], {}, FIRST_TOLD, RECORD))
    assert feed_findings(octets) == []
    (event,) = read_events(octets)
    assert_all_readers_agree(octets, [(event.uid, date(2027, 11, 25), "Nothing falls due")])


@pytest.mark.parametrize("reader", READERS.values(), ids=READERS)
def test_a_reader_would_notice_another_day_or_another_word(
    reader: Callable[[bytes], list[Line]],
) -> None:
    """A reader that says yes to anything proves nothing: each one tells changed files apart."""
    notices = invented_year()[:3]
    plain = written(compare(notices, {}, FIRST_TOLD, RECORD))
    moved = replace(notices[1], day=notices[1].day + timedelta(days=1))
    reworded = replace(notices[1], summary="Pollinate 🍆 in B1–B6")
    for other in (moved, reworded):
        changed = written(compare([notices[0], other, notices[2]], {}, FIRST_TOLD, RECORD))
        assert len(set(reader(changed)) - set(reader(plain))) == 1


def test_ical_js_reads_texts_and_kinds_whole() -> None:
    """Folded, escaped and unescaped by another's code in another language (§3.1, §3.3.11)."""
    publishing = compare(invented_year(), {}, FIRST_TOLD, RECORD)
    seen = {event["uid"]: event for event in icaljs_events(written(publishing))}
    for notice, told in publishing.live:
        event = seen[told.uid]
        assert event["description"] == notice.text
        assert tuple(event["categories"]) == notice.kinds


def test_late_work_moves_the_later_turns_in_khal_without_a_twin(tmp_path: Path) -> None:
    """One turn done, the rest a day later: the same UIDs, new days, nothing twice."""
    notices = invented_year()[:40]
    first = compare(notices, {}, FIRST_TOLD, RECORD)
    late = [replace(notice, day=notice.day + timedelta(days=1)) for notice in notices[1:]]
    later = FIRST_TOLD + timedelta(days=26)
    second = compare(late, stored(first), later, RECORD)
    assert second.gone == (notices[0].key,)
    assert findings_between(written(first), written(second, later)) == []

    khal = Khal(tmp_path)
    khal.import_file(written(first))
    khal.import_file(written(second, later))
    # An import adds and replaces but cannot take away, so the turn done stays in khal alone.
    done = next(line for line in lines_of(first) if line[0] not in dict_of(second))
    assert sorted(khal.lines()) == sorted([*lines_of(second), done])


def dict_of(publishing: Publishing) -> dict[str, Notice]:
    """The live notices by UID."""
    return {told.uid: notice for notice, told in publishing.live}
