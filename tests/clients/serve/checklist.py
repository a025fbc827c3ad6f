"""What a calendar must be to work on real clients, requirement by requirement, and what proves it.

Forty requirements, gathered from the standards and from what owners of feeds have reported. Each
names its source and the tests that would fail if it were broken, as `file::test`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """One requirement: what, by whose word, proved where."""

    must: str
    source: str
    tests: tuple[str, ...]


_JUDGE = "tests/calendar_octets/test_the_judge.py::"
_READERS = "tests/clients/test_calendar_readers.py::"
_WORDS = "tests/property/test_ics_words_survive.py::"
_ICAL = "tests/unit/ics/test_ics_ical.py::"
_PUBLISHED = "tests/unit/ics/test_ics_published.py::"
_NOTICES = "tests/unit/record/test_record_notices.py::"
_HEADERS = "tests/clients/serve/test_serve_feed_headers.py::"
_CHANGES = "tests/clients/serve/test_serve_feed_changes.py::"
_CONTENT = "tests/clients/serve/test_serve_feed_content.py::"
_ADDRESSES = "tests/clients/serve/test_serve_wrong_addresses.py::"
_RIGHTS = "tests/clients/serve/test_serve_rights.py::"
_CODES = "tests/clients/serve/test_serve_keys_and_codes.py::"
_FEEDS = "tests/unit/serve/test_serve_feeds.py::"
_REPLIES = "tests/unit/serve/test_serve_replies.py::"
_KEYS = "tests/unit/serve/test_serve_keys.py::"
_STORAGES = "tests/clients/sync/test_sync_storages.py::"
_SYNC = "tests/unit/sync/test_sync_desk.py::"
_TO_DO = "tests/unit/sync/test_sync_todo.py::"
_PLAIN = "tests/unit/ics/test_ics_words.py::"

#: The octets of what is really served, read by a judge written apart from the writer; and the
#: judge itself, tried on files broken one fault at a time.
_JUDGED = (
    f"{_CONTENT}test_every_calendar_that_is_served_keeps_the_standards",
    f"{_JUDGE}test_each_broken_feed_is_caught_by_the_rule_it_breaks",
)
_BARE = f"{_CONTENT}test_a_served_calendar_holds_neither_alarms_to_dos_nor_its_own_address"
_POLLED = (
    f"{_CHANGES}test_what_a_day_of_work_changes_breaks_no_promise",
    f"{_JUDGE}test_a_broken_promise_between_two_files_is_caught",
)

CHECKLIST: dict[int, Row] = {
    1: Row("all lines end CRLF, the last included", "RFC 5545 §3.1", _JUDGED),
    2: Row("no physical line over 75 octets", "RFC 5545 §3.1", _JUDGED),
    3: Row(
        "every physical line valid UTF-8 alone, no BOM",
        "RFC 5545 §3.1, §6",
        (*_JUDGED, f"{_WORDS}test_any_words_are_read_back_as_they_were_shown"),
    ),
    4: Row(
        "no control characters",
        "RFC 5545 §3.1",
        (
            *_JUDGED,
            f"{_PLAIN}test_what_a_calendar_cannot_carry_is_left_out",
        ),
    ),
    5: Row(
        "unfolded and unescaped, any text is what it was",
        "RFC 5545 §3.3.11",
        (
            f"{_WORDS}test_any_words_are_read_back_as_they_were_shown",
            f"{_READERS}test_ical_js_reads_texts_and_kinds_whole",
        ),
    ),
    6: Row(
        "our PRODID and VERSION:2.0 once, before components",
        "RFC 5545 §3.6, §3.7.3, §3.7.4",
        (*_JUDGED, f"{_ICAL}test_the_whole_file_is_as_expected"),
    ),
    7: Row(
        "never an empty calendar",
        "RFC 5545 §3.6; collective/icalendar 251",
        (
            f"{_FEEDS}test_a_house_without_work_in_the_calendar_has_its_quiet_event",
            f"{_READERS}test_every_reader_sees_that_nothing_falls_due",
            f"{_JUDGE}test_an_empty_calendar_is_caught",
        ),
    ),
    8: Row(
        "no METHOD",
        "RFC 5546 §3.2.1; RFC 4791 §4.1",
        (
            *_JUDGED,
            _BARE,
        ),
    ),
    9: Row("UID and DTSTAMP once in each event", "RFC 5545 §3.6.1", _JUDGED),
    10: Row(
        "UIDs are UUIDs, with no host in them",
        "RFC 7986 §5.3",
        (*_JUDGED, f"{_PUBLISHED}test_the_uid_comes_from_the_records_namespace_and_the_key_alone"),
    ),
    11: Row(
        "UIDs outlive a rebuild, a copy, a restart, another name",
        "RFC 5545 §3.8.4.7; ellite/Wallos PR 966",
        (f"{_CHANGES}test_identities_outlive_a_copy_of_the_record_and_a_new_name",),
    ),
    12: Row(
        "UIDs are unique in a feed",
        "RFC 5545 §3.8.4.4; PlaceCal 2993",
        (*_JUDGED, f"{_PUBLISHED}test_two_notices_with_one_key_are_refused"),
    ),
    13: Row(
        "DTSTAMP is the stored revision, never the moment of asking",
        "RFC 5545 §3.8.7.2; nextcloud/server PR 58193",
        (
            f"{_PUBLISHED}test_the_same_work_again_changes_nothing",
            f"{_FEEDS}test_a_calendar_that_says_the_same_has_the_same_octets",
        ),
    ),
    14: Row(
        "two builds of one record are the same octets",
        "as 13",
        (
            f"{_CHANGES}test_the_same_day_told_twice_is_the_same_octets_even_after_a_restart",
            f"{_ICAL}test_another_process_in_another_zone_writes_the_same_octets",
        ),
    ),
    15: Row(
        "SEQUENCE is stored, rises with day and status, never falls",
        "RFC 5545 §3.8.7.4; RFC 5546 §2.1.4",
        (
            *_POLLED,
            f"{_PUBLISHED}test_only_a_new_day_or_certainty_raises_the_sequence",
            f"{_NOTICES}test_a_promise_to_calendars_cannot_be_broken",
        ),
    ),
    16: Row(
        "LAST-MODIFIED in UTC, moves with any visible change",
        "RFC 5545 §3.8.7.3",
        (*_POLLED, f"{_PUBLISHED}test_stamps_are_whole_seconds_of_utc"),
    ),
    17: Row(
        "all-day: VALUE=DATE, and DTEND the next day, over every kind of day",
        "RFC 5545 §3.6.1, §3.8.2.2; othyn/go-calendar PR 18",
        (*_JUDGED, f"{_ICAL}test_a_day_ends_on_the_next"),
    ),
    18: Row("DTEND of the same type, later, never with DURATION", "RFC 5545 §3.8.2.2", _JUDGED),
    19: Row("no floating times", "RFC 5545 §3.2.19; ulsklyc/yuvomi 818", _JUDGED),
    20: Row(
        "a VTIMEZONE only where it is needed and right: here never",
        "RFC 5545 §3.6.5",
        (
            _BARE,
            *_JUDGED,
        ),
    ),
    21: Row("no TZID on a date or a UTC value", "RFC 5545 §3.2.19", _JUDGED),
    22: Row(
        "each occurrence an event of its own, no rule to unroll",
        "RFC 5545 §3.3.10",
        (
            *_JUDGED,
            _BARE,
        ),
    ),
    23: Row(
        "a reader that unrolls sees the plan and no more",
        "RFC 5545 §3.8.5.1, §3.8.4.4",
        (f"{_CONTENT}test_every_reader_sees_the_served_days_alike",),
    ),
    24: Row(
        "STATUS only as allowed; what ceased leaves the feed",
        "RFC 5545 §3.8.1.11; hackgvl/hackgreenville-com PR 498; w3c/calendar 60",
        (*_JUDGED, f"{_CHANGES}test_a_pure_removal_changes_both_validators"),
    ),
    25: Row(
        "chores are TRANSPARENT",
        "RFC 5545 §3.8.2.7",
        (*_JUDGED, f"{_ICAL}test_the_whole_file_is_as_expected"),
    ),
    26: Row(
        "CATEGORIES escaped item by item, COLOR a name if any",
        "RFC 5545 §3.8.1.2; RFC 7986 §5.9",
        (*_JUDGED, f"{_READERS}test_ical_js_reads_texts_and_kinds_whole"),
    ),
    27: Row(
        "nothing depends on an alarm: there is none",
        "RFC 5545 §3.6.6; Gowee/lccal-worker 9",
        (_BARE,),
    ),
    28: Row(
        "NAME and X-WR-CALNAME; REFRESH-INTERVAL with VALUE=DURATION, X-PUBLISHED-TTL, >= PT1H",
        "RFC 7986 §5.1, §5.7, §7; moadim-io/daemon 362",
        (*_JUDGED, f"{_ICAL}test_the_whole_file_is_as_expected"),
    ),
    29: Row(
        "the calendar's own UID and LAST-MODIFIED are steady",
        "RFC 7986 §5.3, §5.4",
        (
            *_POLLED,
            f"{_ICAL}test_a_removal_shows_in_the_calendars_own_revision",
            f"{_CHANGES}test_the_same_day_told_twice_is_the_same_octets_even_after_a_restart",
        ),
    ),
    30: Row(
        "a feed holds events only",
        "RFC 4791 §4.1",
        (_BARE,),
    ),
    31: Row(
        "at most 1,000 events and 512 KiB, and a warning beyond",
        "roed314/seminars 777; JM-Lemmi/ical-relay 212",
        (
            f"{_CONTENT}test_a_feed_stays_within_what_phones_take",
            f"{_FEEDS}test_too_long_a_calendar_is_cut_at_whole_days_and_says_so",
        ),
    ),
    32: Row(
        "GET and HEAD alike, charset told, no Accept needed",
        "RFC 5545 §3.1.4; aaronpk/Meetable 138",
        (
            f"{_HEADERS}test_a_calendar_is_sent_with_the_headers_that_clients_need",
            f"{_HEADERS}test_head_has_the_headers_of_get_and_no_body",
            f"{_HEADERS}test_an_importer_that_accepts_nothing_in_particular_is_served",
        ),
    ),
    33: Row(
        "strong ETag and Last-Modified, 304 for both, changed by a pure removal too",
        "bitfireAT/icsx5 397; sabre-io/dav 969",
        (
            f"{_HEADERS}test_an_unchanged_calendar_is_not_sent_again",
            f"{_CHANGES}test_a_pure_removal_changes_both_validators",
            f"{_CHANGES}test_two_changes_within_a_second_are_told_apart",
            f"{_REPLIES}test_validators_decide_whether_a_calendar_is_sent",
        ),
    ),
    34: Row(
        "gzip only when asked, Vary set, the same when unpacked",
        "RFC 9110 §12.5.3, §12.5.5",
        (f"{_HEADERS}test_gzip_is_sent_only_when_asked_for",),
    ),
    35: Row(
        "a failure is 503, never a page and never an emptied calendar",
        "amtgard/ORK3 PR 502",
        (f"{_CHANGES}test_while_the_record_cannot_answer_calendars_are_left_as_they_are",),
    ),
    36: Row(
        "keys of 120 bits or more, hashed, compared in one time, revocable, never written down",
        "W3C TAG, Good Practices for Capability URLs",
        (
            f"{_KEYS}test_a_key_has_more_chance_than_can_be_guessed_and_never_comes_twice",
            f"{_KEYS}test_only_the_digest_of_a_key_is_kept",
            f"{_KEYS}test_right_wrong_revoked_and_missing_keys_are_compared_alike",
            f"{_CODES}test_keys_are_listed_without_their_secrets_and_can_be_taken_back",
            f"{_ADDRESSES}test_every_wrong_way_in_gets_the_same_answer",
            f"{_ADDRESSES}test_no_key_is_ever_written_down",
            _BARE,
        ),
    ),
    37: Row(
        "loopback unless asked, Host allow-list on every request, change by POST + Origin + token",
        "nccgroup/singularity wiki; web.dev, Fetch Metadata",
        (
            f"{_CODES}test_by_default_only_this_computer_can_connect",
            f"{_REPLIES}test_it_is_opened_wider_only_when_asked_and_then_warned_of",
            f"{_ADDRESSES}test_a_foreign_host_is_refused_before_any_key_is_looked_at",
            f"{_RIGHTS}test_a_strangers_page_cannot_tick",
            f"{_RIGHTS}test_a_form_without_the_pages_token_is_refused",
            f"{_RIGHTS}test_no_get_changes_anything",
            f"{_RIGHTS}test_a_calendars_key_cannot_tick",
        ),
    ),
    38: Row(
        "addresses of at most 256 ASCII characters, webcal and https, codes read back the same",
        "webapps.stackexchange.com/questions/158639; nextcloud/calendar 2416",
        (f"{_CODES}test_a_new_feeds_codes_are_read_back_to_its_very_addresses",),
    ),
    39: Row(
        "CalDAV: If-None-Match:* and If-Match, 412 merged, bad token re-read, removed is not done",
        "RFC 4791 §5.3.2, §5.3.4; RFC 6578 §3.2, §3.5.2",
        (
            f"{_STORAGES}test_a_create_never_writes_over_what_is_there",
            f"{_STORAGES}test_a_replace_needs_the_etag_that_is_there_now",
            f"{_STORAGES}test_a_token_that_was_never_given_is_refused",
            f"{_SYNC}test_a_tick_made_while_we_move_the_day_is_merged",
            f"{_SYNC}test_removed_on_the_phone_is_asked_about_and_not_done",
        ),
    ),
    40: Row(
        "ticks read in all three ways, DUE alone, no repeats, the phone's own kept, times in UTC",
        "RFC 5545 §3.8.2.1, §3.8.2.3, §3.8.1.8; tasks/tasks 859, 1600",
        (
            f"{_TO_DO}test_a_tick_is_read_in_whichever_way_a_phone_writes_it",
            f"{_TO_DO}test_a_task_is_due_on_a_day_and_begins_on_none",
            f"{_TO_DO}test_a_finished_task_says_so_in_all_three_ways",
            f"{_TO_DO}test_what_a_phone_added_is_kept_to_the_octet_when_the_task_is_told_anew",
        ),
    ),
}
