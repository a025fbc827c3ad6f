"""A calendar lived with: work comes, moves, is reworded, leaves and returns, clocks go astray."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from cropplan.holding.notice import Notice, Published
from cropplan.ics.ical import render
from cropplan.ics.published import compare, feed_revised
from tests.calendar_octets.octets import feed_findings, findings_between, read_events

RECORD = UUID("5d0c2f0e-93c6-4d0b-8d4c-6c0b3f9f1a77")
CALENDAR = UUID("a2b7d7cf-3f0e-4b52-9a9f-6f6f2f5a1b11")
KEYS = st.sampled_from([f"strike/planting:tom{plant}/{turn}" for plant in "12" for turn in "123"])
FIRST_DAY = date(2027, 12, 28)
DAYS = st.integers(0, 6).map(lambda days: FIRST_DAY + timedelta(days=days))
WORDS = st.sampled_from(["Strike 12", "Strike 14", "Strike; twelve, 🍅"])


class FeedLife(RuleBasedStateMachine):
    """What falls due, what the record remembers of it, and the file last written."""

    @initialize()
    def start(self) -> None:
        """An empty record, and its first, empty, calendar."""
        self.due: dict[str, Notice] = {}
        self.stored: dict[str, Published] = {}
        self.now = datetime(2027, 12, 1, 6, 0, tzinfo=UTC)
        self.made = self.now
        self.highest: dict[str, int] = {}
        self.created: dict[str, str] = {}
        self.uid_of: dict[str, str] = {}
        self.away: set[str] = set()
        self.file = b""
        self.file = self._publish()

    @rule(key=KEYS, day=DAYS, words=WORDS, tentative=st.booleans())
    def falls_due(self, key: str, day: date, words: str, tentative: bool) -> None:
        """New work, or known work with another day, other words or another certainty."""
        self.due[key] = Notice(
            key=key, day=day, summary=words, text=words, kinds=(words,), tentative=tentative
        )

    @precondition(lambda self: self.due)
    @rule(data=st.data())
    def is_done(self, data: st.DataObject) -> None:
        """Work leaves the calendar; `falls_due` may bring it back, as an undo does."""
        del self.due[data.draw(st.sampled_from(sorted(self.due)))]

    @precondition(lambda self: self.due)
    @rule(data=st.data(), days=st.integers(-3, 3))
    def is_put_off(self, data: st.DataObject, days: int) -> None:
        """The same work on another day."""
        key = data.draw(st.sampled_from(sorted(self.due)))
        self.due[key] = replace(self.due[key], day=self.due[key].day + timedelta(days=days))

    @rule(seconds=st.sampled_from([0, 0.4, 1, 86400, -86400, -400 * 86400]))
    def time_passes(self, seconds: float) -> None:
        """By any amount, also backwards: a computer's clock may be put right."""
        self.now += timedelta(seconds=seconds)

    @invariant()
    def the_next_file_keeps_every_promise(self) -> None:
        """RFC 5545 §3.8.7, RFC 5546 §2.1.4, RFC 7986 §5.4, judged on the octets."""
        before, self.file = self.file, self._publish()
        assert feed_findings(self.file) == []
        assert findings_between(before, self.file) == []
        self._identity_outlives_absence()
        # A poll on another day, with nothing changed, is answered with the same octets.
        self.now += timedelta(days=1)
        assert self._publish() == self.file

    def _identity_outlives_absence(self) -> None:
        by_uid = {event.uid: event for event in read_events(self.file)}
        for key in self.due:
            event = by_uid[self.stored[key].uid]
            sequence = int(event.value("SEQUENCE"))
            assert self.uid_of.setdefault(key, event.uid) == event.uid
            assert self.created.setdefault(key, event.value("CREATED")) == event.value("CREATED")
            assert sequence >= self.highest.get(key, 0) + (key in self.away)
            self.highest[key] = sequence
        self.away = self.highest.keys() - self.due.keys()
        assert len(set(self.uid_of.values())) == len(self.uid_of)

    def _publish(self) -> bytes:
        publishing = compare(list(self.due.values()), self.stored, self.now, RECORD, made=self.made)
        self.stored.update({row.key: row for row in publishing.changed})
        return render(
            publishing.live,
            name="House",
            calendar_uid=CALENDAR,
            revised=feed_revised(self.stored.values(), made=self.made),
            about="",
        )


FeedLife.TestCase.settings = settings(max_examples=60, stateful_step_count=25, deadline=None)
TestACalendarLivedWith = FeedLife.TestCase
