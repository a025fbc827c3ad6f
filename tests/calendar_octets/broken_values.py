"""Faults of values, of the ties between them, and of recurrence rules."""

from __future__ import annotations

from tests.calendar_octets.breaking import broken

FIRST = "UID:3b1e54c2-6f2a-5d0f-8a2a-5d1f6d0e9b01\n"
SECOND = "UID:3b1e54c2-6f2a-5d0f-8a2a-5d1f6d0e9b02\nDTSTAMP:20270302T060000Z\n"
LEAP = "DTSTART;VALUE=DATE:20280229\n"
LEAP_END = "DTEND;VALUE=DATE:20280301\n"
DAILY = "RRULE:FREQ=DAILY;INTERVAL=2;UNTIL=20280110\n"
REFRESH = "REFRESH-INTERVAL;VALUE=DURATION:PT6H\n"

VALUES = [
    broken("a bare DATE", LEAP, "DTSTART:20280229\n", "3.8.2.4", "without VALUE=DATE"),
    broken("a day that never was", LEAP, "DTSTART;VALUE=DATE:20270229\n", "3.3.4", "no DATE"),
    broken("a time as a DATE", LEAP, "DTSTART;VALUE=DATE:20280229T000000\n", "3.3.4", "no DATE"),
    broken(
        "an hour that never was",
        "DTSTART:20270701T080000Z",
        "DTSTART:20270701T240000Z",
        "3.3.5",
        "no DATE-TIME",
    ),
    broken(
        "an offset in a time",
        "DTSTART:20270701T080000Z",
        "DTSTART:20270701T080000+0100",
        "3.3.5",
        "no DATE-TIME",
    ),
    broken("dashes in a date", LEAP, "DTSTART;VALUE=DATE:2028-02-29\n", "3.3.4", "no DATE"),
    broken("DTSTAMP not in UTC", SECOND, SECOND.replace("0Z", "0"), "3.8.7.2", "not in UTC"),
    broken(
        "LAST-MODIFIED not in UTC",
        "LAST-MODIFIED:20270302T060000Z",
        "LAST-MODIFIED:20270302T060000",
        "3.8.7.3",
        "not in UTC",
    ),
    broken(
        "CREATED as a DATE",
        "CREATED:20270220T060000Z",
        "CREATED;VALUE=DATE:20270220",
        "3.8.7.1",
        "no DATE-TIME",
    ),
    broken("SEQUENCE below nought", "SEQUENCE:2", "SEQUENCE:-1", "3.8.7.4", "not from 0"),
    broken("SEQUENCE in words", "SEQUENCE:2", "SEQUENCE:two", "3.8.7.4", "not from 0"),
    broken("a to-do's STATUS", "STATUS:TENTATIVE", "STATUS:NEEDS-ACTION", "3.8.1.11", "not one of"),
    broken("a made-up STATUS", "STATUS:TENTATIVE", "STATUS:DONE", "3.8.1.11", "not one of"),
    broken(
        "a made-up TRANSP",
        "STATUS:TENTATIVE\nTRANSP:TRANSPARENT",
        "STATUS:TENTATIVE\nTRANSP:FREE",
        "3.8.2.7",
        "not one of",
    ),
    broken("a bare comma", r"C1\, C2", "C1, C2", "3.3.11", "bare ','"),
    broken("a bare semicolon", r"cuttings\;", "cuttings;", "3.3.11", "bare ';'"),
    broken("an escaped colon", "tops of B3:", r"tops of B3\:", "3.3.11", "may not be escaped"),
    broken(
        "a lone backslash at the end",
        "SUMMARY:Test the water",
        "SUMMARY:Test\\",
        "3.3.11",
        "escapes 'nothing'",
    ),
    broken("a bare semicolon in a kind", r"trays\, small", "trays; small", "3.3.11", "bare ';'"),
    broken("an empty kind", r"cuttings,trays", "cuttings,,trays", "3.8.1.2", "empty item"),
    broken(
        "a refresh without its type",
        REFRESH,
        "REFRESH-INTERVAL:PT6H\n",
        "7986 §5.7",
        "no VALUE=DURATION",
    ),
    broken(
        "a refresh that is no length",
        REFRESH,
        "REFRESH-INTERVAL;VALUE=DURATION:6H\n",
        "7986 §5.7",
        "no positive DURATION",
    ),
    broken(
        "a refresh of no time",
        REFRESH,
        "REFRESH-INTERVAL;VALUE=DURATION:PT0S\n",
        "7986 §5.7",
        "no positive DURATION",
    ),
    broken(
        "hours and seconds without minutes",
        "DURATION:PT10M",
        "DURATION:PT1H5S",
        "3.3.6",
        "no DURATION",
    ),
    broken("a colour by number", "COLOR:forestgreen", "COLOR:#228b22", "7986 §5.9", "no colour"),
    broken("a trigger that is no length", "TRIGGER:PT8H", "TRIGGER:8h", "3.8.6.3", "no DURATION"),
    broken(
        "a trigger at a local time",
        "TRIGGER:PT8H",
        "TRIGGER;VALUE=DATE-TIME:20280229T080000",
        "3.8.6.3",
        "no DATE-TIME in UTC",
    ),
    broken("an offset that is none", "TZOFFSETTO:+0000", "TZOFFSETTO:0", "3.3.14", "no UTC offset"),
]

TIES = [
    broken(
        "DTEND on the day itself",
        LEAP_END,
        "DTEND;VALUE=DATE:20280229\n",
        "3.8.2.2",
        "not later than DTSTART",
    ),
    broken("DTEND before DTSTART", LEAP_END, "DTEND;VALUE=DATE:20280228\n", "3.8.2.2", "not later"),
    broken(
        "DTEND of another type",
        LEAP_END,
        "DTEND:20280301T000000Z\n",
        "3.8.2.2",
        "DTEND is UTC and DTSTART DATE",
    ),
    broken(
        "DTEND floating while DTSTART has a zone",
        "DTEND;TZID=House/Summer:2027",
        "DTEND:2027",
        "3.8.2.2",
        "DTEND is FLOATING",
    ),
    broken("DTEND and DURATION", LEAP_END, LEAP_END + "DURATION:P1D\n", "3.6.1", "together with"),
    broken("a DATE that lasts hours", LEAP_END, "DURATION:PT24H\n", "3.6.1", "holds hours"),
    broken(
        "no zone for a TZID", "TZID:House/Summer", "TZID:House/Winter", "3.2.19", "has no VTIMEZONE"
    ),
    broken(
        "a TZID on UTC",
        "DTSTART:20270701T080000Z",
        "DTSTART;TZID=House/Summer:20270701T080000Z",
        "3.2.19",
        "in UTC with a TZID",
    ),
    broken(
        "a TZID on a DATE",
        LEAP,
        "DTSTART;VALUE=DATE;TZID=House/Summer:20280229\n",
        "3.2.19",
        "a DATE with a TZID",
    ),
    broken("the same UID for two", "9b04\n", "9b01\n", "3.8.4.7", "not unique"),
    broken(
        "two overrides of one day",
        "RECURRENCE-ID;VALUE=DATE:20280103\n",
        "",
        "3.8.4.4",
        "not unique",
    ),
    broken(
        "DTSTAMP that is 'now'",
        FIRST + "DTSTAMP:20270301T060000Z",
        FIRST + "DTSTAMP:20270309T060000Z",
        "3.8.7.2",
        "differs from LAST-MODIFIED",
    ),
    broken(
        "CREATED after the last change",
        "CREATED:20270220T060000Z",
        "CREATED:20290220T060000Z",
        "3.8.7.1",
        "later than LAST-MODIFIED",
    ),
    broken(
        "EXDATE of another type",
        "EXDATE;VALUE=DATE:20280105",
        "EXDATE:20280105T000000Z",
        "3.8.5.1",
        "not of the type",
    ),
    broken(
        "RDATE of another type",
        "RDATE;VALUE=DATE:20280112",
        "RDATE:20280112T000000Z",
        "3.8.5.2",
        "not of the type",
    ),
    broken(
        "RECURRENCE-ID of another type",
        "RECURRENCE-ID;VALUE=DATE:20280103",
        "RECURRENCE-ID:20280103T000000Z",
        "3.8.4.4",
        "not of the type",
    ),
    broken(
        "METHOD:PUBLISH without ORGANIZER",
        "VERSION:2.0\n",
        "VERSION:2.0\nMETHOD:PUBLISH\n",
        "5546 §3.2.1",
        "without ORGANIZER",
    ),
]

RULES = [
    broken("FREQ not first", DAILY, "RRULE:INTERVAL=2;FREQ=DAILY\n", "3.3.10", "begin with FREQ"),
    broken("no FREQ", DAILY, "RRULE:INTERVAL=2\n", "3.3.10", "no FREQ"),
    broken("an unknown FREQ", DAILY, "RRULE:FREQ=FORTNIGHTLY\n", "3.3.10", "no such value"),
    broken("COUNT and UNTIL", "UNTIL=20280110", "UNTIL=20280110;COUNT=3", "3.3.10", "both COUNT"),
    broken(
        "UNTIL with a time on a DATE",
        "UNTIL=20280110",
        "UNTIL=20280110T000000Z",
        "3.3.10",
        "DTSTART is DATE",
    ),
    broken(
        "UNTIL not in UTC",
        "UNTIL=20270831T230000Z",
        "UNTIL=20270831T230000",
        "3.3.10",
        "DTSTART is LOCAL",
    ),
    broken(
        "UNTIL a DATE for a time",
        "UNTIL=20270831T230000Z",
        "UNTIL=20270831",
        "3.3.10",
        "DTSTART is LOCAL",
    ),
    broken("an hour on a DATE", DAILY, "RRULE:FREQ=DAILY;BYHOUR=9\n", "3.3.10", "BYHOUR on a DATE"),
    broken("INTERVAL nought", "INTERVAL=2", "INTERVAL=0", "3.3.10", "no such value"),
    broken("a part twice", "INTERVAL=2", "INTERVAL=2;INTERVAL=3", "3.3.10", "INTERVAL twice"),
    broken("an unknown part", "INTERVAL=2", "EVERY=2", "3.3.10", "unknown part"),
    broken("a day that is none", "BYDAY=TU,FR", "BYDAY=TUE,FRI", "3.3.10", "no such value"),
]
