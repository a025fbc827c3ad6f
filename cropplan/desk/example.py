"""The example house: a record that somebody could have kept, built fresh from its journal."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from shutil import copyfile
from tempfile import TemporaryDirectory
from zoneinfo import ZoneInfo

from cropplan.desk.calendar import write_file
from cropplan.desk.desk import Desk, learn_all
from cropplan.desk.goals import set_goal
from cropplan.desk.proposal import proposal_of
from cropplan.problems import BadData, Refusal
from cropplan.record.exchange import JOURNAL_FILE, import_journal
from cropplan.record.store import open_record

#: The example's own today. Its record ends the evening before.
EXAMPLE_DAY = date(2026, 11, 25)
#: The example's own now, before the morning walk. Its calendar is stamped with it, so that the
#: same bytes are written on any day.
EXAMPLE_MOMENT = datetime(2026, 11, 25, 6, 30, tzinfo=ZoneInfo("America/Los_Angeles"))

_NAME = "heron-street"
_RECORD = "house.cropplan"
_FACTS = "house.toml"
_PROPOSAL = "season.json"
_CALENDAR = "house.ics"


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """The example as built.

    record, calendar : the files made. on : the day to look at it. entries : of the journal.
    events : of the calendar.
    """

    record: Path
    calendar: Path
    on: date
    entries: int
    events: int


def example_dir() -> Path:
    """The folder of the example's story and data: beside the package in a checkout, else inside.

    Raises BadData when there is neither.
    """
    package = Path(__file__).resolve().parents[1]
    folders = (package / "_data" / "examples", package.parent / "examples")
    for folder in folders:
        if (folder / _NAME / JOURNAL_FILE).is_file():
            return folder / _NAME
    raise BadData(
        f"the example house is not in {folders[0]} nor in {folders[1]}; install cropplan again"
    )


def _aim(desk: Desk) -> None:
    """Set the goals that the kitchen named on the evening before, for the year to come."""
    facts = tomllib.loads((example_dir() / _FACTS).read_text(encoding="utf-8"))
    for goal in facts.get("goals", ()):
        set_goal(
            desk,
            goal["crop"],
            goal["amount"],
            first=goal["first"],
            last=goal["last"],
            priority=goal["priority"],
        )


def build_example(folder: Path) -> Example:
    """Make the example's record and calendar in a folder, which is made if it is not there.

    Raises Refusal when the folder holds one of the two files already, or cannot be written.
    """
    journal = example_dir() / JOURNAL_FILE
    record, calendar = folder / _RECORD, folder / _CALENDAR
    for file in (record, calendar):
        if file.exists():
            raise Refusal(
                f"{file}: is there already and is left alone; name another folder, or remove it"
            )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(prefix=".example.", dir=folder) as room:
            made = Path(room)
            entries = import_journal(journal, made / _RECORD)
            with open_record(made / _RECORD) as opened:
                _aim(Desk(record=opened, clock=lambda: EXAMPLE_MOMENT - timedelta(hours=12)))
                desk = Desk(record=opened, clock=lambda: EXAMPLE_MOMENT)
                learn_all(desk)
                written = write_file(desk, made / _CALENDAR)
            (made / _CALENDAR).rename(calendar)
            proposal = example_dir() / _PROPOSAL
            if proposal.is_file():
                copyfile(proposal, proposal_of(record))
            (made / _RECORD).rename(record)
    except OSError as fault:
        raise Refusal(
            f"cannot build the example in '{folder}': {fault.strerror}; name another folder"
        ) from fault
    return Example(
        record=record, calendar=calendar, on=EXAMPLE_DAY, entries=entries, events=written.events
    )
