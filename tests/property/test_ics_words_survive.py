"""Any words a grower or a file can hand over reach the calendar whole, and break nothing."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from hypothesis import given, settings
from hypothesis import strategies as st

from cropplan.holding.notice import Notice
from cropplan.ics.ical import render
from cropplan.ics.published import compare
from cropplan.ics.text import one_line, plain, plain_notice
from tests.calendar_octets.octets import feed_findings, read_events
from tests.calendar_octets.values import unescaped

RECORD = UUID("5d0c2f0e-93c6-4d0b-8d4c-6c0b3f9f1a77")
NOW = datetime(2027, 3, 1, 6, 30, tzinfo=UTC)

# Every character there is, lone surrogates too, and the ones that break calendars far more often.
ANY = st.characters(exclude_categories=())
TROUBLE = st.sampled_from([*"\\;,:\"'nN\n\r\t\x00\x07\x7f\x85\u2028\ud83c=^%& ", "🍅", "é", "👩‍🌾"])
WORDS = st.lists(st.one_of(ANY, TROUBLE), max_size=120).map("".join)
DAYS = st.dates(min_value=date(1900, 1, 1), max_value=date(2199, 12, 31))
NOTICES = st.builds(
    Notice,
    key=st.uuids().map(str),
    day=DAYS,
    # A title without a letter is refused by no one but shows nothing, so one is always there.
    summary=WORDS.map(lambda words: f"Work {words}"),
    text=WORDS,
    kinds=st.lists(WORDS, max_size=3).map(tuple),
    tentative=st.booleans(),
)


@settings(max_examples=200, deadline=None)
@given(notices=st.lists(NOTICES, max_size=4, unique_by=lambda n: n.key), name=WORDS, about=WORDS)
def test_any_words_are_read_back_as_they_were_shown(
    notices: list[Notice], name: str, about: str
) -> None:
    """RFC 5545 §3.1 and §3.3.11: unfolded and unescaped by the judge, the texts are the same."""
    live = compare(notices, {}, NOW, RECORD).live
    octets = render(live, name=f"House {name}", calendar_uid=RECORD, revised=NOW, about=about)
    assert feed_findings(octets) == []
    if not notices:
        return
    for event, (notice, _) in zip(read_events(octets), live, strict=True):
        assert (event.summary, event.text) == (one_line(notice.summary), plain(notice.text))
        assert event.kinds == plain_notice(notice).kinds
        assert (event.day, event.end) == (notice.day, notice.day + timedelta(days=1))


@given(words=WORDS)
def test_making_words_plain_twice_changes_nothing_more(words: str) -> None:
    """`compare` and `render` both do it, so it must be the same the second time."""
    assert plain(plain(words)) == plain(words)
    assert one_line(one_line(words)) == one_line(words)


@given(words=st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"))))
def test_no_letter_is_lost_from_words_without_controls(words: str) -> None:
    """Only spaces at an end are dropped; every script and sign is kept."""
    assert plain(words) == words.rstrip()


@given(words=st.text(alphabet=st.sampled_from("\\nN;,:x")))
def test_the_judges_unescaping_refuses_or_undoes(words: str) -> None:
    r"""RFC 5545 §3.3.11: what is escaped for it comes back; the judge is not the writer's twin."""
    written = "".join({"\\": r"\\", ";": r"\;", ",": r"\,"}.get(letter, letter) for letter in words)
    assert unescaped(written) == words
