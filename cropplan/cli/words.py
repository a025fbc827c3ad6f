"""Commands and their families: loaded when asked for, forgiving of slips, plain in their help."""

from __future__ import annotations

import importlib
import re
from collections.abc import Mapping, Sequence
from typing import Any

import click

from cropplan.problems import Misuse, did_you_mean

_NEGATIVE = re.compile(r"-\d[\w.,]*")


class Command(click.Command):
    """A command whose arguments may be negative numbers, and which names the option meant."""

    def format_help_text(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The help, with click's mark for lines left as they are, which a raw docstring lacks."""
        self.help = (self.help or "").replace("\\b", "\b")
        super().format_help_text(ctx, formatter)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words of the command. Raises Misuse for an option it has not."""
        ctx.ignore_unknown_options = True
        self._refuse_unknown_options(ctx, args)
        return super().parse_args(ctx, args)

    def _refuse_unknown_options(self, ctx: click.Context, args: Sequence[str]) -> None:
        options = [p for p in self.get_params(ctx) if isinstance(p, click.Option)]
        takes_value = {
            name: not option.is_flag
            for option in options
            for name in (*option.opts, *option.secondary_opts)
        }
        waiting = iter(args)
        for word in waiting:
            if word == "--":
                return
            name, equals, _ = word.partition("=")
            if not name.startswith("-") or name == "-" or _NEGATIVE.fullmatch(word):
                continue
            if name not in takes_value:
                near = (
                    did_you_mean(name, takes_value) or f"; '{ctx.command_path} --help' lists them"
                )
                raise Misuse(f"'{ctx.command_path}' has no option '{name}'{near}")
            if takes_value[name] and not equals:
                next(waiting, None)


class Family(click.Group):
    """A group of commands that names the one meant when a word is mistyped."""

    command_class = Command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the first word names. Raises Misuse."""
        word = args[0]
        if self.get_command(ctx, word) is None and not ctx.resilient_parsing:
            if word.startswith("-"):
                raise Misuse(f"'{ctx.command_path}' has no option '{word}'; put it after a command")
            near = did_you_mean(word, self.list_commands(ctx))
            near = near or f"; '{ctx.command_path} --help' lists them all"
            raise Misuse(f"there is no command '{ctx.command_path} {word}'{near}")
        return super().resolve_command(ctx, args)


class LazyFamily(Family):
    """A family whose commands' files are loaded only when one of theirs is asked for.

    sections : heads, and under each the commands as name -> (file of `cropplan.cli`, its name
        there, one line of help).
    """

    def __init__(
        self, *args: Any, sections: Mapping[str, Mapping[str, tuple[str, str, str]]], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self._sections = sections
        self._where = {
            name: where for commands in sections.values() for name, where in commands.items()
        }

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's own
        """The commands in the order of their sections."""
        return list(self._where)

    def get_command(
        self,
        ctx: click.Context,  # noqa: ARG002 - click's own
        cmd_name: str,
    ) -> click.Command | None:
        """The command of that name, loaded now."""
        if cmd_name not in self._where:
            return None
        file, name, _ = self._where[cmd_name]
        command = getattr(importlib.import_module(f"cropplan.cli.{file}"), name)
        assert isinstance(command, click.Command)  # noqa: S101 - the table names commands
        return command

    def format_commands(
        self,
        ctx: click.Context,  # noqa: ARG002 - click's own
        formatter: click.HelpFormatter,
    ) -> None:
        """The commands by section, without loading any."""
        for head, commands in self._sections.items():
            with formatter.section(head):
                formatter.write_dl([(name, line) for name, (_, _, line) in commands.items()])
