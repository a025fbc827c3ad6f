"""The command `cropplan`: its families of commands, and the border where faults become one line."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path

import click

from cropplan.cli.face import Face
from cropplan.cli.options import on_record
from cropplan.cli.show import write_lines
from cropplan.cli.words import LazyFamily
from cropplan.problems import CropplanError

#: Every command, by section: name -> (file, name there, one line of help).
SECTIONS: Mapping[str, Mapping[str, tuple[str, str, str]]] = {
    "Each morning": {
        "rounds": ("rounds", "rounds", "What is late, what today needs, what is coming."),
        "done": ("answers", "done", "Tick lines of the rounds."),
        "skip": ("answers", "skip", "Answer lines that were not done, with the reason."),
        "later": ("answers", "later", "Put lines off to a later day."),
    },
    "Plants": {
        "strike": ("begin", "strike", "Begin plants from a plant of the house."),
        "sow": ("begin", "sow", "Begin plants from seed."),
        "bring-in": ("begin", "bring_in", "Put in plants bought, given, or there already."),
        "seen": ("plantings", "seen", "A stage was seen: rooted, flowering, fruiting…"),
        "set-out": ("plantings", "set_out", "Set plants out in their places."),
        "move": ("plantings", "move", "Move a planting to another place."),
        "lost": ("plantings", "lost", "Plants died, failed, or were given away."),
        "pull": ("plantings", "pull", "Clear a planting from its place."),
        "pick": ("plantings", "pick", "A harvest, weighed or not."),
        "planting": ("plantings", "planting", "What stands in the house; one planting's life."),
        "name": ("plantings", "name", "Put right what kind a planting is."),
        "mark": ("plantings", "mark", "Choose or bar a mother; leave flowers to insects."),
    },
    "Water, media, warmth": {
        "feed": ("upkeep", "feed", "The fish were fed."),
        "weigh": ("water", "weigh", "Some fish were weighed."),
        "drain": ("water", "drain", "Solids were drained."),
        "test": ("water", "test", "The water was tested."),
        "top-up": ("water", "top_up", "Water was added."),
        "renew": ("upkeep", "renew", "Media were changed, topped up or disinfected."),
        "temp": ("upkeep", "temp", "The night's low and the day's high."),
        "set-back": ("upkeep", "set_back", "Plants stood still: heater out, a check, dull days."),
    },
    "When something fails": {
        "emergency": ("emergency", "emergency", "First things: the power or the heat is out."),
    },
    "Looking ahead": {
        "goal": ("goals", "goal", "How much of a crop is wanted each week."),
        "season": ("season", "season", "Plan the cuttings; count back from a pick."),
        "learnt": ("learnt", "learnt", "What the record has taught of this house."),
    },
    "The house": {
        "house": ("house", "house", "Houses: put in, show, change."),
        "place": ("places", "place", "Places where plants stand."),
        "loop": ("loops", "loop", "Water loops and their fish."),
        "duty": ("duties", "duty", "Your own duties and intervals."),
        "away": ("away", "away", "A time away: before, meanwhile, after; a sheet to leave."),
        "crops": ("crops", "crops", "The catalogue, its sources, and your own figures."),
        "calendar": ("calendar", "calendar", "The calendar for the phone."),
    },
    "Keeping it safe": {
        "undo": ("keeping", "undo", "Put right what was written last, or one entry."),
        "journal": ("keeping", "journal", "Read back what was written."),
        "check": ("keeping", "check", "Check the record against itself."),
        "backup": ("keeping", "backup", "Copy the record to a file."),
        "restore": ("keeping", "restore", "Put a backup in the record's place."),
        "export": ("keeping", "export", "Write the record as CSV and JSON lines."),
        "import": ("bringing", "bring", "Read an export, or a thermometer's log."),
        "demo": ("demo", "demo", "An example house to try."),
    },
}


@click.group(
    cls=LazyFamily,
    sections=SECTIONS,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 88},
    invoke_without_command=True,
)
@on_record
@click.option("--version", is_flag=True, help="Print the version and leave.")
@click.pass_context
def root(ctx: click.Context, version: bool) -> None:
    """The work of a small heated glasshouse on fish water: what today needs, what comes.

    Begin with 'cropplan demo' to look at an example house, or 'cropplan house new' for your
    own. Then, each morning, 'cropplan rounds'.
    """
    if version:
        from importlib.metadata import version as version_of

        write_lines([f"cropplan {version_of('cropplan')}"])
    elif ctx.invoked_subcommand is None:
        write_lines([ctx.get_help()])


def now() -> datetime:
    """The moment now, with its time zone."""
    return datetime.now(UTC)


def run(words: Sequence[str] | None = None, clock: Callable[[], datetime] = now) -> int:
    """Run one command; returns its exit code: 0 done, 1 refused, 2 misuse.

    words : as typed after `cropplan`; None for the process's own.
    Every fault ends here as one line on standard error; no traceback leaves.
    """
    face = Face(clock=clock)
    try:
        with closing(face):
            args = list(sys.argv[1:] if words is None else words)
            code = root.main(args, prog_name="cropplan", standalone_mode=False, obj=face)
        sys.stdout.flush()
        return code if isinstance(code, int) else 0
    except CropplanError as fault:
        return _refuse(str(fault), fault.exit_code)
    except click.UsageError as fault:
        return _refuse(_usage(fault), 2)
    except click.ClickException as fault:
        return _refuse(fault.format_message(), 1)
    except (KeyboardInterrupt, click.Abort):
        return _refuse("stopped; what was not yet confirmed is not written", 1)
    except BrokenPipeError:
        # Whoever read the list has seen enough; what is left must not fail once more at exit.
        with suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except OSError as fault:
        return _refuse(_of_system(fault), 1)
    except Exception as fault:
        return _refuse(_of_database(fault) or _of_ours(fault), 1)


def _refuse(message: str, code: int) -> int:
    """Print one line to standard error, without signs that could steer a terminal."""
    line = " ".join(message.split())
    line = "".join(sign if sign.isprintable() else "?" for sign in line)
    with suppress(OSError):
        write_lines([f"cropplan: {line}"], sys.stderr)
    return code


def _usage(fault: click.UsageError) -> str:
    """What click found wrong, in one line, with where to read on."""
    message = fault.format_message().rstrip(".")
    message = message[:1].lower() + message[1:]
    path = fault.ctx.command_path if fault.ctx is not None else "cropplan"
    return f"{message}; '{path} --help' shows how"


def _of_system(fault: OSError) -> str:
    name = f"'{fault.filename}': " if fault.filename else ""
    return f"{name}{fault.strerror or fault}; nothing more was written"


def _of_database(fault: Exception) -> str | None:
    """A fault of SQLite that no file could be named for; None when it is another's."""
    sqlite = sys.modules.get("sqlite3")
    if sqlite is None or not isinstance(fault, sqlite.Error):
        return None
    return f"the record could not be used ({fault}); 'cropplan check' tells what is wrong with it"


def _of_ours(fault: Exception) -> str:
    """A fault nobody foresaw: its story goes to a file that can be sent, not to the screen."""
    import tempfile
    import traceback

    what = f"{type(fault).__name__}: {fault}"
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="cropplan-fault-", suffix=".txt", encoding="utf-8", delete=False
        ) as file:
            traceback.print_exception(fault, file=file)
        kept = f"; its story is in {Path(file.name)}"
    except OSError:
        kept = ""
    return (
        f"a fault of cropplan's own, not of yours ({what}){kept}; 'cropplan check' looks for harm"
    )
