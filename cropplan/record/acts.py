"""The acts of the journal as a kind and a JSON body, and back."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, cast

from cropplan.holding import entry as acts
from cropplan.holding import water_acts
from cropplan.holding.entry import Act
from cropplan.holding.season import GoalDropped, GoalSet, SeasonAccepted
from cropplan.holding.task import Subject, SubjectKind
from cropplan.record.plain import Unreadable, codec
from cropplan.record.rows import as_json

#: The word by which each act is kept. A word once used keeps its meaning for ever, whatever
#: becomes of the class's name.
KINDS: Mapping[str, type[Any]] = {
    "house": acts.HouseSet,
    "loop": acts.LoopSet,
    "loop-turned": acts.LoopTurned,
    "places": acts.PlacesAdded,
    "place": acts.PlaceSet,
    "place-retired": acts.PlaceRetired,
    "began": acts.Began,
    "seen": acts.Seen,
    "set-out": acts.SetOut,
    "moved": acts.Moved,
    "lost": acts.Lost,
    "pulled": acts.Pulled,
    "picked": acts.Picked,
    "named": acts.Named,
    "marked": acts.Marked,
    "tended": acts.Tended,
    "fed": acts.Fed,
    "drained": acts.Drained,
    "tested": acts.Tested,
    "weighed": water_acts.Weighed,
    "topped-up": water_acts.ToppedUp,
    "treated": water_acts.Treated,
    "went-without": water_acts.WentWithout,
    "temperatures": acts.TemperaturesRead,
    "done": acts.Done,
    "skipped": acts.Skipped,
    "put-off": acts.PutOff,
    "duty-added": acts.DutyAdded,
    "duty-set": acts.DutySet,
    "duty-stopped": acts.DutyStopped,
    "away": acts.WentAway,
    "set-back": acts.SetBack,
    "goal": GoalSet,
    "goal-dropped": GoalDropped,
    "season-accepted": SeasonAccepted,
    "voided": acts.Voided,
}
_KIND_OF = {act: kind for kind, act in KINDS.items()}


def kind_of(act: Act) -> str:
    """The word by which an act is kept."""
    return _KIND_OF[type(act)]


def body_of(act: Act) -> dict[str, Any]:
    """The fields of an act, plainly. Raises Refusal for a value that no record can hold."""
    return cast("dict[str, Any]", codec(type(act)).write(act))


def act_of(kind: str, body: Any) -> Act:
    """The act kept under `kind` with that plain body. Raises Unreadable."""
    if kind not in KINDS:
        raise Unreadable(f"no act is called '{kind}'; a newer cropplan may know it")
    return cast("Act", codec(KINDS[kind]).read(body))


def to_text(act: Act) -> str:
    """The body of an act as JSON text."""
    return as_json(body_of(act))


def from_text(kind: str, body: str) -> Act:
    """The act kept under `kind` with that JSON text. Raises Unreadable."""
    try:
        plain = json.loads(body)
    except json.JSONDecodeError as fault:
        raise Unreadable(f"the body is not JSON: {fault}") from None
    return act_of(kind, plain)


def tags_in(act: Act) -> tuple[str, ...]:
    """The tags of every planting that an act is about or takes from, each once."""
    found: list[str | None] = []
    match act:
        case acts.Began(tag=tag, parent=parent):
            found += [tag, parent]
        case acts.SetOut(tag=tag, parts=parts):
            found += [tag, *(part.tag for part in parts)]
        case acts.Named(tags=tags):
            found += tags
        case acts.Done(subjects=about) | acts.Skipped(subjects=about) | acts.PutOff(subjects=about):
            found += [_tag(one) for one in about]
        case acts.DutyAdded(duty=duty):
            found.append(_tag(duty.subject))
        case _:
            found.append(getattr(act, "tag", None))
    return tuple(dict.fromkeys(tag for tag in found if tag is not None))


def _tag(about: Subject) -> str | None:
    return about.code if about.kind_value == SubjectKind.PLANTING.value else None


def told(act: Act) -> str:
    """An act in a few words, to name its entry by: "set out tom7"."""
    things = tags_in(act) or _things(body_of(act))
    return " ".join([kind_of(act).replace("-", " "), *things[:1]])


def _things(body: Mapping[str, Any]) -> tuple[str, ...]:
    for name in ("codes", "places", "place", "duty", "loop", "house"):
        match body.get(name):
            case str(thing) | [str(thing), *_] | {"name": thing} | {"id": thing}:
                return (thing,)
    return ()
