"""Faults of lines, of nesting, and of what must be present."""

from __future__ import annotations

from tests.calendar_octets.breaking import Broken, broken
from tests.calendar_octets.samples import FEED

FIRST = "UID:3b1e54c2-6f2a-5d0f-8a2a-5d1f6d0e9b01\n"
LEAP = "DTSTART;VALUE=DATE:20280229\n"
LEAP_END = "DTEND;VALUE=DATE:20280301\n"
TITLE = r"SUMMARY:Strike twelve cuttings\; trays C1\, C2 🍅" + "\n"

LINES = [
    Broken("an LF alone", b"VERSION:2.0\r\n", b"VERSION:2.0\n", "3.1", "LF alone"),
    Broken("a CR alone", b"VERSION:2.0\r\n", b"VERSION:2.0\r", "3.1", "CR alone"),
    Broken("no last break", b"END:VCALENDAR\r\n", b"END:VCALENDAR", "3.1", "has no CRLF"),
    Broken("a last LF alone", b"END:VCALENDAR\r\n", b"END:VCALENDAR\n", "3.1", "LF alone"),
    Broken("an empty line", b"VERSION:2.0\r\n", b"VERSION:2.0\r\n\r\n", "3.1", "is empty"),
    Broken("a byte order mark", b"BEGIN:VCALENDAR", b"\xef\xbb\xbfBEGIN:VCALENDAR", "3.1", "mark"),
    Broken(
        "a line of 76 octets",
        b"SUMMARY:Test the water",
        b"SUMMARY:Test the water" + b"x" * 54,
        "3.1",
        "76 octets",
    ),
    Broken(
        "a long line of letters of two octets",
        b"SUMMARY:Test the water",
        b"SUMMARY:" + "é".encode() * 40,
        "3.1",
        "88 octets",
    ),
    Broken(
        "a fold inside a letter", "🍅".encode(), b"\xf0\x9f\r\n \x8d\x85", "3.1 and 6", "not UTF-8"
    ),
    Broken("Latin-1", "🍅".encode(), b"\xe9", "3.1 and 6", "not UTF-8"),
    Broken("a surrogate", "🍅".encode(), b"\xed\xa0\xbc", "3.1 and 6", "not UTF-8"),
    Broken("a bell", "🍅".encode(), b"\x07", "3.1", "control octet 07"),
    Broken("a NUL", "🍅".encode(), b"\x00", "3.1", "control octet 00"),
    Broken("a DEL", "🍅".encode(), b"\x7f", "3.1", "control octet 7F"),
    Broken("a fold before anything", b"BEGIN:VCALENDAR", b" BEGIN:VCALENDAR", "3.1", "not there"),
    Broken("a word that is no line", b"VERSION:2.0", b"VERSION", "3.1", "no content line"),
    Broken("a space in a name", b"SEQUENCE:2", b"SEQUENCE :2", "3.1", "no content line"),
    Broken(
        "a colon in a bare parameter",
        b"TZID=House/Summer:20270601T113000",
        b"TZID=a:b:2027",
        "3.3.5",
        "no DATE-TIME",
    ),
    Broken(
        "an open quote",
        b"TZID=House/Summer:20270601T113000",
        b'TZID="House:20270601T113000',
        "3.1",
        "no content line",
    ),
    broken("a parameter twice", LEAP, "DTSTART;VALUE=DATE;VALUE=DATE:20280229\n", "3.2", "twice"),
]

NESTING = [
    broken("an END of another", "END:VALARM", "END:VEVENT", "3.4", "where VALARM is open"),
    broken("an END too many", "END:VCALENDAR\n", "END:VCALENDAR\n" * 2, "3.4", "nothing"),
    broken("no END", "END:VCALENDAR\n", "", "3.4", "never ended"),
    broken("a line after the end", "END:VCALENDAR\n", "END:VCALENDAR\nX-A:b\n", "3.4", "outside"),
    broken(
        "a property after a component",
        "END:VCALENDAR\n",
        "X-A:b\nEND:VCALENDAR\n",
        "3.6",
        "after a component",
    ),
    broken(
        "a property after an alarm",
        "END:VALARM\n",
        "END:VALARM\nLOCATION:B3\n",
        "3.6.1",
        "after a component",
    ),
    broken(
        "an alarm in the calendar",
        "END:VCALENDAR\n",
        "BEGIN:VALARM\nACTION:AUDIO\nTRIGGER:PT1H\nEND:VALARM\nEND:VCALENDAR\n",
        "3.6.6",
        "may not stand in VCALENDAR",
    ),
]

PRESENCE = [
    broken("no VERSION", "VERSION:2.0\n", "", "3.6", "without VERSION"),
    broken("another VERSION", "VERSION:2.0\n", "VERSION:3.0\n", "3.7.4", "not one of 2.0"),
    broken("VERSION twice", "VERSION:2.0\n", "VERSION:2.0\nVERSION:2.0\n", "3.6", "more than once"),
    broken("no PRODID", "PRODID:-//cropplan//judge's sample//EN\n", "", "3.6", "without PRODID"),
    broken("another's PRODID", "//cropplan//", "//somebody//", "3.7.3", "another maker"),
    broken("no UID", FIRST, "", "3.6.1", "without UID"),
    broken("UID twice", FIRST, FIRST * 2, "3.6.1", "UID stands more than once"),
    broken("no DTSTAMP", FIRST + "DTSTAMP:20270301T060000Z\n", FIRST, "3.6.1", "without DTSTAMP"),
    broken("no DTSTART", LEAP, "", "3.6.1", "without DTSTART"),
    broken("DTSTART twice", LEAP, LEAP * 2, "3.6.1", "DTSTART stands more than once"),
    broken("SUMMARY twice", TITLE, TITLE * 2, "3.6.1", "SUMMARY stands more than once"),
    broken(
        "a misspelt property",
        "SUMMARY:Test the water",
        "SUMARY:Test the water",
        "3.6.1",
        "SUMARY is no property",
    ),
    broken("DUE in an event", LEAP_END, "DUE;VALUE=DATE:20280301\n", "3.6.1", "DUE is no property"),
    broken("an alarm without ACTION", "ACTION:DISPLAY\n", "", "3.6.6", "without ACTION"),
    broken("an alarm without TRIGGER", "TRIGGER:PT8H\n", "", "3.6.6", "without TRIGGER"),
    broken(
        "an alarm without words",
        "DESCRIPTION:Strike cuttings\n",
        "",
        "3.6.6",
        "without DESCRIPTION",
    ),
    broken("REPEAT without DURATION", "DURATION:PT10M\n", "", "3.6.6", "stand together"),
    broken(
        "a zone without rules",
        FEED[FEED.index("BEGIN:STAN") : FEED.index("END:VTIMEZ")],
        "",
        "3.6.5",
        "without STANDARD",
    ),
    broken("a zone without its offset", "TZOFFSETTO:+0000\n", "", "3.6.5", "without TZOFFSETTO"),
]
