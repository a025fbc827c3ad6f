"""Makes the season plan that the example house proposes: python -m tests.story.make_season.

It searches for a minute, so that what it writes to examples/heron-street/season.json is a plan
that a grower would get; another run may find another as good.
"""

from __future__ import annotations

from pathlib import Path
from shutil import copyfile
from tempfile import TemporaryDirectory

from cropplan.desk.desk import Desk
from cropplan.desk.example import EXAMPLE_MOMENT, build_example, example_dir
from cropplan.desk.proposal import proposal_of
from cropplan.desk.season import propose
from cropplan.record.store import open_record

if __name__ == "__main__":
    with TemporaryDirectory() as room:
        made = build_example(Path(room))
        with open_record(made.record) as record:
            told = propose(Desk(record=record, clock=lambda: EXAMPLE_MOMENT), seconds=60)
        copyfile(proposal_of(made.record), example_dir() / "season.json")
        print(f"{told.status}: {1 - told.shortfall:.0%} of what is wanted, gap {told.gap:.2%}")
