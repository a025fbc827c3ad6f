"""Keeping it safe: undo, journal, check, backup, restore, export."""

from __future__ import annotations

from pathlib import Path

import click

from cropplan.cli.entries import entry_told, plain_entry
from cropplan.cli.face import Face
from cropplan.cli.options import acts, looks, tag_option, whole
from cropplan.cli.show import Shown, plain, table
from cropplan.cli.words import Command
from cropplan.desk import keeping, look
from cropplan.problems import Misuse, Refusal

_replace = click.option("--replace", is_flag=True, help="Replace what is there.")


@click.command(cls=Command)
@click.argument("entry", metavar="[ENTRY]", required=False, callback=whole)
@acts
def undo(face: Face, entry: int | None) -> None:
    """Put right what was written last, or the entry of that number.

    The journal keeps both; all that follows is as if the entry had not been written. One that
    later entries build on is refused, with what to undo first.
    """
    face.tell(keeping.undo(face.desk, entry))


@click.command(cls=Command)
@tag_option
@click.option(
    "--last", default="20", show_default=True, metavar="N", callback=whole, help="So many entries."
)
@looks
def journal(face: Face, tag: str | None, last: int) -> None:
    """Read back what was written, oldest first: number, day, what, by whom.

    Undone entries stay, marked as such. An entry written later than it happened says when.
    """
    if last < 1:
        raise Misuse(f"--last is 1 or more, got '{last}'")
    listed = look.journal(face.desk, tag=tag, last=last)
    face.show(
        Shown(
            words=lambda: (
                table([entry_told(one) for one in listed], ("entry", "day", "what", "by"))
                or ["Nothing was written yet."]
            ),
            plain=lambda: [plain_entry(one) for one in listed],
        )
    )


@click.command(cls=Command)
@looks
def check(face: Face) -> None:
    """Check the record against itself: the file, its rules, and that the journal adds up.

    Leaves with 1 when anything is wrong, after saying what.
    """
    faults = keeping.check(face.desk)
    entries = face.desk.record.revision
    face.show(
        Shown(
            words=lambda: [str(fault) for fault in faults] or [f"all well: {entries} entries"],
            plain=lambda: {"entries": entries, "faults": [plain(fault) for fault in faults]},
        )
    )
    if faults:
        raise Refusal(
            f"{face.place}: {len(faults)} faults; put back a backup with 'cropplan restore'"
        )


@click.command(cls=Command)
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@_replace
@looks
def backup(face: Face, file: Path, replace: bool) -> None:
    """Copy the record to a file, whole, even while it is in use."""
    face.tell(keeping.backup(face.desk, file, overwrite=replace))


@click.command(cls=Command)
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@looks
def restore(face: Face, file: Path) -> None:
    """Put a backup in the record's place. What was there is kept beside it."""
    face.tell(keeping.restore(file, face.place))


@click.command(cls=Command)
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@_replace
@looks
def export(face: Face, folder: Path, replace: bool) -> None:
    """Write the record into a folder: each table as CSV, and all of it as JSON lines.

    'cropplan import journal.jsonl' makes an equal record of the JSON lines.
    """
    face.tell(keeping.export(face.desk, folder, overwrite=replace))
