"""Every command of the contract is there, says what it does, and is loaded only when asked for."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest
from at_the_terminal import Terminal, spoken

from cropplan.cli.root import SECTIONS, root, run

#: The commands that commands.md promises and this part brings; the season's, the learnt figures
#: and the served calendar come with the parts that answer them.
CONTRACT = (
    "demo",
    "house new",
    "house show",
    "house set",
    "place add",
    "place list",
    "place retire",
    "loop add",
    "loop show",
    "strike",
    "sow",
    "bring-in",
    "seen",
    "set-out",
    "move",
    "lost",
    "pull",
    "pick",
    "renew",
    "feed",
    "drain",
    "test",
    "temp",
    "import temps",
    "rounds",
    "done",
    "skip",
    "later",
    "duty add",
    "duty list",
    "duty set",
    "duty stop",
    "undo",
    "journal",
    "away",
    "calendar write",
    "crops list",
    "crops show",
    "crops check",
    "crops set",
    "check",
    "backup",
    "restore",
    "export",
    "import",
    "planting list",
    "planting show",
    "name",
    "mark",
)

#: Commands that write what was done or seen, and so take who did it.
ACTS = (
    *("house new", "house set", "place add", "place set", "place retire", "loop add", "loop set"),
    *("strike", "sow", "bring-in", "seen", "set-out", "move", "lost", "pull", "pick", "name"),
    *("mark", "renew", "feed", "drain", "test", "temp", "set-back", "import temps", "done"),
    *("skip", "later", "duty add", "duty set", "duty stop", "undo", "away", "weigh", "top-up"),
    *("loop treat", "emergency"),
)
#: The one command that prints no answer but goes on until it is stopped.
SERVING = "calendar serve"


def command_called(path: str) -> click.Command:
    """The command at the end of a path of words."""
    command: click.Command = root
    for word in path.split():
        assert isinstance(command, click.Group)
        found = command.get_command(click.Context(command), word)
        assert found is not None, path
        command = found
    return command


def all_commands() -> list[str]:
    """Every command there is, by its words, families left out."""
    return [path for names in SECTIONS.values() for name in names for path in _under(name)]


def _under(path: str) -> list[str]:
    command = command_called(path)
    if not isinstance(command, click.Group):
        return [path]
    names = command.list_commands(click.Context(command))
    return [below for name in names for below in _under(f"{path} {name}")]


@pytest.mark.parametrize("path", CONTRACT)
def test_a_command_of_the_contract_is_there_and_has_help(path: str) -> None:
    """commands.md: the table of commands."""
    said = spoken(lambda: run([*path.split(), "--help"]))
    assert said.code == 0
    assert said.err == ""
    assert said.out.startswith(f"Usage: cropplan {path}")


@pytest.mark.parametrize("path", all_commands())
def test_the_help_of_a_command_reads_well(path: str) -> None:
    """A sentence first, every option with its words, and no line wider than the terminal."""
    command = command_called(path)
    first = (command.help or "").splitlines()[0]
    assert first.endswith((".", ":")), first
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help, (path, option.name)
    said = spoken(lambda: run([*path.split(), "--help"]))
    assert "\\b" not in said.out
    wide = [line for line in said.out.splitlines() if len(line) > 88]
    assert all(line.strip().startswith("cropplan ") for line in wide), wide


@pytest.mark.parametrize("path", all_commands())
def test_every_command_takes_the_record_and_shows_json(path: str) -> None:
    """commands.md: --record everywhere, --json on whatever shows something."""
    options = {name for param in command_called(path).params for name in param.opts}
    assert "--record" in options
    assert "--json" in options or path == SERVING


@pytest.mark.parametrize("path", ACTS)
def test_every_act_may_say_who_did_it(path: str) -> None:
    """commands.md: --by WHO; on `strike`, where --by is the way, it is --who alone."""
    options = {name for param in command_called(path).params for name in param.opts}
    assert {"--who", "--by"} <= options


def test_the_list_of_commands_says_the_same_as_the_commands() -> None:
    """The lines of `cropplan --help` are kept by hand so that nothing is loaded for them."""
    for name in (name for names in SECTIONS.values() for name in names):
        assert command_called(name).name == name


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("roundz", "'rounds'"),
        ("strik tomato 4", "'strike'"),
        ("hous new", "'house'"),
        ("place ad B1", "'add'"),
        ("calendar wirte x", "'write'"),
        ("done fi-main --onli B1", "'--only'"),
        ("seen tom1 rooted --onn yesterday", "'--on'"),
    ],
)
def test_a_mistyped_word_is_answered_with_the_one_meant(
    typed: str, meant: str, tmp_path: Path
) -> None:
    """Commands and options both; exit 2, one line."""
    said = Terminal(record=tmp_path / "r.db").type(typed)
    assert said.code == 2
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert re.search(rf"did you mean {meant}\?", said.err), said.err


def test_a_number_below_zero_is_an_amount_and_not_an_option(tmp_path: Path) -> None:
    """A night of −2 °C is typed as it is read."""
    terminal = Terminal(record=tmp_path / "r.db")
    terminal.done("house new Lean-to --at 53.3,-6.2 --zone Europe/Dublin")
    assert "-2.0 to 12.5 °C" in terminal.done("temp -2 12.5")
    said = terminal.type("lost tom1 -2")
    assert said.code == 1
    assert "tom1" in said.err


def test_the_record_may_be_named_before_or_after_the_command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """--record anywhere, or CROPPLAN_RECORD; what is typed wins."""
    one, other = tmp_path / "one.db", tmp_path / "other.db"
    Terminal(record=one).done("house new One --at 53.3,-6.2 --zone Europe/Dublin")
    Terminal(record=other).done("house new Other --at 53.3,-6.2 --zone Europe/Dublin")
    monkeypatch.setenv("CROPPLAN_RECORD", str(other))
    assert spoken(lambda: run(["house", "show"])).out.startswith("Other")
    assert spoken(lambda: run(["--record", str(one), "house", "show"])).out.startswith("One")
    assert spoken(lambda: run(["house", "show", "--record", str(one)])).out.startswith("One")


def test_the_usual_place_is_the_users_data_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """XDG Base Directory Specification 0.8: data under XDG_DATA_HOME, on Linux."""
    monkeypatch.delenv("CROPPLAN_RECORD", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr("sys.platform", "linux")
    words = ["house", "new", "Mine", "--at", "53.3,-6.2", "--zone", "Europe/Dublin"]
    assert spoken(lambda: run(words)).code == 0
    assert (tmp_path / "cropplan" / "record.db").is_file()
