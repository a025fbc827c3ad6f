"""Octets to content lines to components, noting every fault on the way and stopping at none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

BYTE_ORDER_MARK = b"\xef\xbb\xbf"
LONGEST_LINE = 75
BREAK = re.compile(rb"\r\n|\n|\r")
CONTROL = re.compile(rb"[\x00-\x08\x0a-\x1f\x7f]")

NAME = r"[A-Za-z0-9-]+"
QUOTED = r'"[^"\x00-\x08\x0a-\x1f\x7f]*"'
BARE = r'[^";:,\x00-\x08\x0a-\x1f\x7f]*'
PARAMETER = re.compile(rf";({NAME})=((?:{QUOTED}|{BARE})(?:,(?:{QUOTED}|{BARE}))*)")
PARAMETER_VALUE = re.compile(rf"{QUOTED}|{BARE}")
CONTENT_LINE = re.compile(rf"({NAME})((?:{PARAMETER.pattern})*):(.*)", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One broken rule: the physical line it is on, counted from 1, and the rule's place."""

    line: int
    section: str
    message: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.message} ({self.section})"


@dataclass(frozen=True, slots=True, kw_only=True)
class ContentLine:
    """One unfolded line: name and parameter names in capitals, value as it stands."""

    line: int
    name: str
    parameters: tuple[tuple[str, tuple[str, ...]], ...]
    value: str

    def parameter(self, name: str) -> str | None:
        """The first value of that parameter; None when it is not there."""
        return next((values[0] for known, values in self.parameters if known == name), None)


@dataclass(slots=True, kw_only=True)
class Component:
    """One BEGIN … END block."""

    name: str
    line: int
    properties: list[ContentLine] = field(default_factory=list)
    children: list[Component] = field(default_factory=list)

    def all_of(self, name: str) -> list[ContentLine]:
        """Every property of that name, in the order written."""
        return [content for content in self.properties if content.name == name]

    def first(self, name: str) -> ContentLine | None:
        """The first property of that name; None when it is not there."""
        return next(iter(self.all_of(name)), None)

    def walk(self) -> Iterator[Component]:
        """This component and all inside it, outermost first."""
        yield self
        for child in self.children:
            yield from child.walk()


@dataclass(slots=True)
class Reading:
    """What a file holds, with the faults met while reading it."""

    calendars: list[Component]
    findings: list[Finding]


def read(octets: bytes) -> Reading:
    """The components of a file and the faults of its lines and its nesting."""
    findings: list[Finding] = []
    physical = _physical_lines(octets, findings)
    contents = list(_content_lines(_unfolded(physical, findings), findings))
    return Reading(_components(contents, findings), findings)


def _physical_lines(octets: bytes, findings: list[Finding]) -> list[tuple[int, bytes]]:
    if octets.startswith(BYTE_ORDER_MARK):
        findings.append(_line_fault(1, "starts with a byte order mark", "3.1"))
        octets = octets.removeprefix(BYTE_ORDER_MARK)
    lines: list[tuple[int, bytes]] = []
    start = 0
    for number, ending in enumerate(BREAK.finditer(octets), start=1):
        if ending.group() != b"\r\n":
            which = "LF" if ending.group() == b"\n" else "CR"
            findings.append(_line_fault(number, f"ends with {which} alone, not CRLF", "3.1"))
        lines.append((number, octets[start : ending.start()]))
        start = ending.end()
    if start < len(octets) or not octets:
        lines.append((len(lines) + 1, octets[start:]))
        findings.append(_line_fault(len(lines), "the last line has no CRLF", "3.1"))
    for number, line in lines:
        findings.extend(_octet_faults(number, line))
    return lines


def _octet_faults(number: int, line: bytes) -> Iterator[Finding]:
    if not line:
        yield _line_fault(number, "is empty", "3.1")
    if len(line) > LONGEST_LINE:
        yield _line_fault(number, f"holds {len(line)} octets, more than 75", "3.1")
    for control in CONTROL.finditer(line):
        yield _line_fault(number, f"holds the control octet {control.group()[0]:02X}", "3.1")
    try:
        line.decode("utf-8")
    except UnicodeDecodeError as fault:
        yield _line_fault(number, f"is not UTF-8 by itself at octet {fault.start + 1}", "3.1 and 6")


def _unfolded(
    physical: list[tuple[int, bytes]], findings: list[Finding]
) -> Iterator[tuple[int, bytes]]:
    started = 0
    gathered = b""
    for number, line in physical:
        if line[:1] in {b" ", b"\t"}:
            if not started:
                findings.append(_line_fault(number, "continues a line that is not there", "3.1"))
            gathered += line[1:]
            started = started or number
            continue
        if started:
            yield started, gathered
        started, gathered = number, line
    if started:
        yield started, gathered


def _content_lines(
    unfolded: Iterator[tuple[int, bytes]], findings: list[Finding]
) -> Iterator[ContentLine]:
    for number, octets in unfolded:
        text = octets.decode("utf-8", errors="replace")
        if not text:
            continue
        matched = CONTENT_LINE.fullmatch(text)
        if matched is None:
            findings.append(_line_fault(number, f"is no content line: {text[:40]!r}", "3.1"))
            continue
        yield ContentLine(
            line=number,
            name=matched.group(1).upper(),
            parameters=_parameters(number, matched.group(2), findings),
            value=matched.group(matched.lastindex or 0),
        )


def _parameters(
    number: int, text: str, findings: list[Finding]
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    read: dict[str, tuple[str, ...]] = {}
    for matched in PARAMETER.finditer(text):
        name = matched.group(1).upper()
        if name in read:
            findings.append(_line_fault(number, f"gives the parameter {name} twice", "3.2"))
        values = [value.strip('"') for value in PARAMETER_VALUE.findall(matched.group(2))]
        read[name] = tuple(values)
    return tuple(read.items())


def _components(contents: list[ContentLine], findings: list[Finding]) -> list[Component]:
    calendars: list[Component] = []
    opened: list[Component] = []
    for content in contents:
        if content.name == "BEGIN":
            begun = Component(name=content.value.upper(), line=content.line)
            (opened[-1].children if opened else calendars).append(begun)
            opened.append(begun)
        elif content.name == "END":
            _close(content, opened, findings)
        elif not opened:
            findings.append(_line_fault(content.line, "stands outside any component", "3.4"))
        else:
            _add_property(content, opened[-1], findings)
    findings.extend(
        _line_fault(left.line, f"BEGIN:{left.name} is never ended", "3.4") for left in opened
    )
    return calendars


def _close(content: ContentLine, opened: list[Component], findings: list[Finding]) -> None:
    name = content.value.upper()
    if not opened or opened[-1].name != name:
        expected = opened[-1].name if opened else "nothing"
        findings.append(_line_fault(content.line, f"END:{name} where {expected} is open", "3.4"))
        if name not in {component.name for component in opened}:
            return
        while opened[-1].name != name:
            opened.pop()
    opened.pop()


def _add_property(content: ContentLine, owner: Component, findings: list[Finding]) -> None:
    owner.properties.append(content)
    if owner.children:
        section = "3.6" if owner.name == "VCALENDAR" else "3.6.1 and 3.6.2"
        findings.append(
            _line_fault(
                content.line, f"{content.name} comes after a component inside {owner.name}", section
            )
        )


def _line_fault(line: int, message: str, section: str) -> Finding:
    return Finding(line=line, section=f"RFC 5545 §{section}", message=message)
