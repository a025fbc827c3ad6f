"""The calendar file: the days to come as notices, told once and revised in place."""

from __future__ import annotations

import os
import tempfile
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from cropplan.catalogue.model import Caution
from cropplan.desk.desk import Desk
from cropplan.desk.look import scene_today
from cropplan.holding.notice import Notice
from cropplan.holding.span import Basis
from cropplan.problems import Refusal
from cropplan.schedule.outlook import lead_key, outlook
from cropplan.schedule.rounds import Line
from cropplan.schedule.wording import list_text, span_text

#: Days ahead that a calendar shows. A season's cuttings fit; a phone still loads it at once.
DAYS_AHEAD = 120

#: Words to sort by, for the duties a calendar shows. Own duties are filed under their own word.
KINDS = {
    "pollinate": "pollinating",
    "strike": "cuttings",
    "set-out": "setting out",
    "first-fruit": "first picks",
    "first-cut": "first picks",
    "top": "training",
    "pull": "clearing",
    "drain": "solids",
    "renew-medium": "media",
    "disinfect": "media",
}
OTHER_KIND = "house and water"


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A calendar as bytes, with what changed since it was last told."""

    content: bytes
    events: int
    changed: int
    gone: int
    revised: datetime


def notices(desk: Desk, *, days: int = DAYS_AHEAD, on: date | None = None) -> list[Notice]:
    """What a calendar shows of the coming days."""
    _, scene = scene_today(desk, on=on)
    until = scene.today + timedelta(days=days)
    return [notice_of(line, scene.catalogue.cautions) for line in outlook(scene, until)]


def notice_of(line: Line, cautions: Mapping[str, Caution]) -> Notice:
    """One line of the outlook as a calendar shows it."""
    summary = line.job
    if line.places:
        summary = f"{summary}: {list_text(line.places, most=6)}"
    text = []
    if len(line.places) > 1:
        text.append(f"Where: {', '.join(line.places)}")
    tags = [s.code for s in line.subjects if s.kind.value == "planting"]
    if tags:
        text.append(f"Plants: {', '.join(tags)}")
    text.append(f"Why: {line.why}")
    predicted = line.basis is Basis.PREDICTED
    if predicted:
        span = span_text(line.earliest, line.latest)
        text.append(f"Expected, not yet sure: {span} (eight times in ten)")
    text.append(f"Answer: cropplan done {line.handle}")
    text += [f"Caution: {cautions[id_].text}" for id_ in line.cautions if id_ in cautions]
    return Notice(
        key=lead_key(line),
        day=line.due,
        summary=summary,
        text="\n".join(text),
        kinds=(KINDS.get(line.duty, OTHER_KIND),),
        tentative=predicted,
    )


def build(desk: Desk, *, days: int = DAYS_AHEAD, on: date | None = None) -> Written:
    """The calendar of the coming days, and the record of what it told."""
    from cropplan.ics.ical import render
    from cropplan.ics.published import compare, feed_revised

    now = desk.clock()
    known = desk.record.published()
    publishing = compare(
        notices(desk, days=days, on=on),
        known,
        now,
        desk.record.namespace,
        made=desk.record.made,
    )
    desk.record.publish(publishing.changed, publishing.gone)
    told = {**known, **{row.key: row for row in publishing.changed}}
    revised = feed_revised(told.values(), made=desk.record.made)
    names = list(desk.record.snapshot(living_only=True).houses)
    content = render(
        publishing.live,
        name=list_text(names),
        calendar_uid=uuid.uuid5(desk.record.namespace, "calendar"),
        revised=revised,
        about="The work of the house, as the record knows it. The morning list comes first.",
    )
    return Written(
        content=content,
        events=len(publishing.live),
        changed=len(publishing.changed) - len(publishing.gone),
        gone=len(publishing.gone),
        revised=revised,
    )


def write_file(
    desk: Desk, file: Path, *, days: int = DAYS_AHEAD, on: date | None = None
) -> Written:
    """Write the calendar to a file, whole or not at all.

    Raises Refusal when the file cannot be written; the old file then stays as it was.
    """
    try:
        handle, beside = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
    except OSError as fault:
        raise Refusal(f"cannot write '{file}': {fault.strerror}; choose another folder") from fault
    temporary = Path(beside)
    try:
        with os.fdopen(handle, "wb") as out:
            # Not before the file can be written is the record told what calendars know.
            built = build(desk, days=days, on=on)
            out.write(built.content)
            out.flush()
            os.fsync(out.fileno())
        temporary.chmod(0o644)
        temporary.replace(file)
    except OSError as fault:
        raise Refusal(f"cannot write '{file}': {fault.strerror}; the old one stays") from fault
    finally:
        temporary.unlink(missing_ok=True)
    return built
