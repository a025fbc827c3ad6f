"""Commands and their families: loaded when asked for, forgiving of slips, plain in their help."""

from __future__ import annotations

import importlib
import re
from collections.abc import Mapping, Sequence
from typing import Any

import click

from cropplan.cli.show import write_lines
from cropplan.problems import Misuse, did_you_mean

_NEGATIVE = re.compile(r"-\d[\w.,]*")
#: Options that commands have and families have not.
_OF_COMMANDS = frozenset({"--json", "--on", "--by", "--who", "--note"})


class _Plain(click.Command):
    """What commands and families share: help as it was written, options as they were meant."""

    def format_help_text(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The help, with click's mark for lines left as they are, which a raw docstring lacks."""
        self.help = (self.help or "").replace("\\b", "\b")
        super().format_help_text(ctx, formatter)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words. Raises click.UsageError that knows the command it is about."""
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as fault:
            fault.ctx = fault.ctx or ctx
            raise

    def unknown_option(
        self, ctx: click.Context, args: Sequence[str], *, leading: bool = False
    ) -> tuple[str, str] | None:
        """The first word that looks like an option and is none, with the one meant, if near.

        leading : look only as far as the first word that is no option.
        """
        options = [p for p in self.get_params(ctx) if isinstance(p, click.Option)]
        takes_value = {
            name: not option.is_flag
            for option in options
            for name in (*option.opts, *option.secondary_opts)
        }
        waiting = iter(args)
        for word in waiting:
            name, equals, _ = word.partition("=")
            if not name.startswith("-") or name == "-" or _NEGATIVE.fullmatch(word):
                if leading:
                    return None
                continue
            if word == "--":
                return None
            if name not in takes_value:
                return name, did_you_mean(name, takes_value)
            if takes_value[name] and not equals:
                next(waiting, None)
        return None


class Command(_Plain):
    """A command whose arguments may be negative numbers, and which names the option meant."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words of the command. Raises Misuse for an option it has not."""
        # What click takes for an unknown option may be a temperature below zero.
        ctx.ignore_unknown_options = True
        unknown = self.unknown_option(ctx, args)
        if unknown is not None:
            name, near = unknown
            near = near or f"; '{ctx.command_path} --help' lists them"
            raise Misuse(f"'{ctx.command_path}' has no option '{name}'{near}")
        return super().parse_args(ctx, args)


class Family(_Plain, click.Group):
    """A group of commands that names the one meant when a word is mistyped."""

    command_class = Command

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words before the command; without any, show what there is."""
        if not args and not self.invoke_without_command:
            write_lines([ctx.get_help()])
            ctx.exit()
        unknown = self.unknown_option(ctx, args, leading=True)
        if unknown is not None:
            name, near = unknown
            if name in _OF_COMMANDS or not near:
                near = f"; an option of a command goes after it: {ctx.command_path} … {name}"
            raise Misuse(f"'{ctx.command_path}' has no option '{name}'{near}")
        return super().parse_args(ctx, args)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the first word names. Raises Misuse."""
        word = args[0]
        if self.get_command(ctx, word) is None and not ctx.resilient_parsing:
            near = did_you_mean(word, self.list_commands(ctx))
            near = near or f"; '{ctx.command_path} --help' lists them all"
            raise Misuse(f"there is no command '{ctx.command_path} {word}'{near}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The commands, each with its whole first sentence."""
        names = self.list_commands(ctx)
        commands = {name: self.get_command(ctx, name) for name in names}
        with formatter.section("Commands"):
            formatter.write_dl(
                [(n, c.get_short_help_str(limit=200)) for n, c in commands.items() if c is not None]
            )


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
        command: click.Command = getattr(importlib.import_module(f"cropplan.cli.{file}"), name)
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
