"""Which test holds which rule for tasks on a calendar server, by the number of its row.

The rows are those of the list of requirements for calendars on real clients: 8 to 12 on the
identity of what is published, 39 and 40 on two-way tasks.
"""

from __future__ import annotations

PHONE = "tests/clients/sync/test_sync_phone.py"
STORAGES = "tests/clients/sync/test_sync_storages.py"
STORY = "tests/clients/sync/test_sync_story.py"
DESK = "tests/unit/sync/test_sync_desk.py"
HTTP = "tests/unit/sync/test_sync_http.py"
TODO = "tests/unit/sync/test_sync_todo.py"

ROWS: dict[int, tuple[str, ...]] = {
    # No METHOD. RFC 4791 §4.1.
    8: (f"{PHONE}::test_every_task_on_the_server_is_one_legal_task_alone",),
    # UID and DTSTAMP exactly once. RFC 5545 §3.6.2.
    9: (
        f"{TODO}::test_a_task_sent_breaks_no_rule_of_the_standard",
        f"{PHONE}::test_every_task_on_the_server_is_one_legal_task_alone",
    ),
    # The UID is a UUID. RFC 7986 §5.3.
    10: (f"{TODO}::test_a_task_sent_has_the_uid_of_its_event_in_the_feed",),
    # The UID is stable. RFC 5545 §3.8.4.7.
    11: (
        f"{DESK}::test_a_day_that_moves_is_told_under_the_same_uid",
        f"{DESK}::test_a_record_made_again_from_its_export_knows_its_tasks",
        f"{PHONE}::test_the_uid_is_that_of_the_event_in_the_feed",
    ),
    # The UID is unique. RFC 4791 §5.3.2.1.
    12: (
        f"{STORAGES}::test_one_uid_stands_once_in_a_list",
        f"{DESK}::test_a_task_that_is_there_already_is_taken_over_and_not_doubled",
        f"{STORY}::test_a_sync_killed_a_hundred_times_loses_no_tick_and_doubles_none",
    ),
    # If-None-Match, If-Match, 412 merged, read again after PUT, bad token, removed is not done.
    # RFC 4791 §5.3.2 and §5.3.4, RFC 6578 §3.2 and §3.5.2.
    39: (
        f"{HTTP}::test_each_write_states_what_it_found",
        f"{STORAGES}::test_a_create_never_writes_over_what_is_there",
        f"{STORAGES}::test_a_replace_needs_the_etag_that_is_there_now",
        f"{DESK}::test_a_tick_made_while_we_move_the_day_is_merged",
        f"{DESK}::test_a_tick_made_between_our_write_and_our_next_look_is_read",
        f"{PHONE}::test_a_forgotten_token_is_survived",
        f"{PHONE}::test_removed_on_the_phone_is_asked_about",
    ),
    # Ticks in three ways, DUE without DTSTART, nothing repeats, a phone's properties stay,
    # COMPLETED in UTC with STATUS and 100 %. RFC 5545 §3.8.1.8, §3.8.2.1, §3.8.2.3.
    40: (
        f"{TODO}::test_a_tick_is_read_in_whichever_way_a_phone_writes_it",
        f"{PHONE}::test_a_tick_on_the_phone_is_in_the_journal",
        f"{PHONE}::test_every_task_on_the_server_is_one_legal_task_alone",
        f"{PHONE}::test_what_a_phone_added_is_kept_when_the_day_moves",
        f"{PHONE}::test_done_at_the_terminal_is_ticked_on_the_phone_in_all_three_ways",
    ),
}
