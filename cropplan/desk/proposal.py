"""The proposal of a season plan, kept beside the record until it is accepted."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from cropplan.desk.desk import Desk
from cropplan.holding.season import SeasonAccepted, SeasonPlan
from cropplan.problems import BadData, Refusal


def proposal_of(record: Path) -> Path:
    """Where the proposal of a record is kept until it is accepted: beside it."""
    return record.with_suffix(".season.json")


def keep(desk: Desk, plan: SeasonPlan) -> None:
    """Keep a proposal in the place of the one before. Raises Refusal where it cannot be kept."""
    from cropplan.record.acts import to_text

    file = proposal_of(desk.record.path)
    try:
        handle, beside = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(to_text(SeasonAccepted(plan=plan)))
        Path(beside).replace(file)
    except OSError as fault:
        raise Refusal(f"cannot keep the proposal in '{file}': {fault.strerror}") from fault


def kept(desk: Desk) -> SeasonPlan:
    """The proposal that waits. Raises Refusal when there is none, BadData when it is damaged."""
    from cropplan.record.acts import from_text

    file = proposal_of(desk.record.path)
    try:
        act = from_text("season-accepted", file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise Refusal("there is no season plan yet; make one with 'cropplan season plan'") from None
    except ValueError as fault:
        raise BadData(f"{file}: is no season plan ({fault}); make a new one") from fault
    if not isinstance(act, SeasonAccepted):
        raise BadData(f"{file}: is no season plan; make a new one")
    return act.plan
