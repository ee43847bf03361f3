"""Commands as they are asked and shown: words that ask nothing are refused, options stand under titles."""

from __future__ import annotations

import click

from reedpath.cli.options import TitledOption
from reedpath.errors import SettingsError


class OneCommand(click.Command):
    """A command whose help shows its options under titles."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the command's words; SettingsError for words that nothing is asked by."""
        ctx.allow_extra_args = True
        if not ctx.resilient_parsing:
            self._refuse_said_twice(ctx, args)
        left = super().parse_args(ctx, args)
        if left and not ctx.resilient_parsing:
            raise SettingsError("cli.words_left", command=self.name or "", words=left)
        return left

    def _refuse_said_twice(self, ctx: click.Context, args: list[str]) -> None:
        """A SettingsError for an option said twice that takes one value: the first would be passed over unsaid."""
        _, _, said = self.make_parser(ctx).parse_args(list(args))
        for param in said:
            once = isinstance(param, click.Option) and not (param.multiple or param.count or param.is_flag)
            if once and said.count(param) > 1:
                raise SettingsError("cli.said_twice", option=param.opts[0])

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the options, those with a title first."""
        titled: dict[str, list[tuple[str, str]]] = {}
        for param in self.get_params(ctx):
            record = param.get_help_record(ctx)
            if record is not None and isinstance(param, click.Option):
                title = param.title if isinstance(param, TitledOption) else ""
                titled.setdefault(title or "Options", []).append(record)
        for title in sorted(titled, key="Options".__eq__):
            with formatter.section(title):
                formatter.write_dl(titled[title])


class AllCommands(click.Group):
    """The commands, listed in the order in which a lesson comes about."""

    command_class = OneCommand

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of the commands as they stand in this module."""
        return list(self.commands)
