"""Faults against what a feed must be beyond the standard, and faults of to-dos."""

from __future__ import annotations

from tests.calendar_octets.breaking import broken
from tests.calendar_octets.samples import FEED, TO_DO

FIRST = "UID:3b1e54c2-6f2a-5d0f-8a2a-5d1f6d0e9b01\n"
LEAP_END = "DTEND;VALUE=DATE:20280301\n"
WATER = "DTSTART:20270701T080000Z\nDTEND:20270701T081500Z\n"
REFRESH = "REFRESH-INTERVAL;VALUE=DURATION:PT6H\n"

FEED_ONLY = [
    broken("METHOD", "VERSION:2.0\n", "VERSION:2.0\nMETHOD:REQUEST\n", "5546 §3.2.1",
           "with METHOD"),
    broken("a host in the UID", "9b04\n", "9b04@house.example\n", "7986 §5.3", "no UUID"),
    broken("a task's own key as UID", FIRST, "UID:task-17\n", "7986 §5.3", "no UUID"),
    broken("no calendar UID", "UID:0f8c1f52-6c3b-4b0e-9a56-1f3a5f0c7d11\n", "", "7986 §5.3",
           "calendar without UID"),
    broken("no calendar revision", "LAST-MODIFIED:20270301T060000Z\nNAME", "NAME", "7986 §5.4",
           "calendar without LAST-MODIFIED"),
    broken("no NAME", "NAME:Kitchen house\\, west\nX-WR", "X-WR", "7986 §5.1", "without NAME"),
    broken("no X-WR-CALNAME", "X-WR-CALNAME:Kitchen house\\, west\n", "", "7986 §5.1",
           "without X-WR-CALNAME"),
    broken("two names", "X-WR-CALNAME:Kitchen house\\, west", "X-WR-CALNAME:Other", "7986 §5.1",
           "differs from NAME"),
    broken("no REFRESH-INTERVAL", REFRESH, "", "7986 §5.7", "without REFRESH-INTERVAL"),
    broken("no X-PUBLISHED-TTL", "X-PUBLISHED-TTL:PT6H\n", "", "7986 §5.7", "X-PUBLISHED-TTL"),
    broken("a hurried refresh", REFRESH, "REFRESH-INTERVAL;VALUE=DURATION:PT5M\n", "7986 §7",
           "shorter than an hour"),
    broken("a hurried older refresh", "X-PUBLISHED-TTL:PT6H", "X-PUBLISHED-TTL:PT59M59S",
           "7986 §7", "shorter than an hour"),
    broken("the secret address", "COLOR:forestgreen\n",
           "SOURCE;VALUE=URI:https://house.example/f/secret\n", "7986 §8", "tells its address"),
    broken("a to-do in the feed", "END:VCALENDAR\n",
           TO_DO[TO_DO.index("BEGIN:VTODO") :], "3.6", "with VTODO"),
    broken("a chore that blocks the day", "STATUS:TENTATIVE\nTRANSP:TRANSPARENT\n",
           "STATUS:TENTATIVE\n", "3.8.2.7", "not TRANSP:TRANSPARENT"),
    broken("a chore that is OPAQUE", "STATUS:TENTATIVE\nTRANSP:TRANSPARENT\n",
           "STATUS:TENTATIVE\nTRANSP:OPAQUE\n", "3.8.2.7", "not TRANSP:TRANSPARENT"),
    broken("a floating time", WATER, WATER.replace("00Z", "00"), "3.3.5", "floats"),
    broken("no DTEND", LEAP_END, "", "3.8.2.2", "without DTEND"),
    broken("DTEND taken as the last day", LEAP_END, "DTEND;VALUE=DATE:20280302\n", "3.6.1",
           "not the next day"),
    broken("no SEQUENCE", "SEQUENCE:2\n", "", "3.8.7.4", "without SEQUENCE"),
    broken("no title", "SUMMARY:Test the water\n", "", "3.8.1.12", "without SUMMARY"),
    broken("an empty title", "SUMMARY:Test the water\n", "SUMMARY:\n", "3.8.1.12", "is empty"),
    broken("a second calendar", "END:VCALENDAR\n", "END:VCALENDAR\n" + FEED, "3.4", "second"),
]  # fmt: skip

TO_DOS = [
    broken("DUE on the first day", "DUE;VALUE=DATE:20270309", "DUE;VALUE=DATE:20270307", "3.8.2.3",
           "DUE is not later"),
    broken("DUE of another type", "DUE;VALUE=DATE:20270309", "DUE:20270309T000000Z", "3.8.2.3",
           "DUE is UTC"),
    broken("COMPLETED as a DATE", "COMPLETED:20270308T071500Z", "COMPLETED;VALUE=DATE:20270308",
           "3.8.2.1", "no DATE-TIME"),
    broken("more than all of it", "PERCENT-COMPLETE:100", "PERCENT-COMPLETE:101", "3.8.1.8",
           "not from 0 to 100"),
    broken("an event's STATUS", "STATUS:COMPLETED", "STATUS:CONFIRMED", "3.8.1.11", "not one of"),
    broken("a tenth PRIORITY", "PRIORITY:5", "PRIORITY:10", "3.8.1.9", "not from 0 to 9"),
    broken("a length without a start", "DTSTART;VALUE=DATE:20270307\nDUE;VALUE=DATE:20270309",
           "DURATION:P2D", "3.6.2", "DURATION without DTSTART"),
    broken("TRANSP in a to-do", "PRIORITY:5", "TRANSP:OPAQUE", "3.6.2", "no property of VTODO"),
]  # fmt: skip
