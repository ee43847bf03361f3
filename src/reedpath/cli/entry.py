"""The entry: runs a command and turns every error into one sentence and an exit status.

Exit status 0: done; 2: something asked for cannot be, with a sentence that says why; 70: a fault in the program;
130: interrupted.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, NoReturn

from reedpath.cli import came_to_nothing, no_more_interruptions
from reedpath.errors import ReedpathError, SettingsError

if TYPE_CHECKING:
    import click

    from reedpath.wording import Catalogue

# exit statuses; 2 as click has it for wrong usage, 70 of BSD's sysexits.h, 130 is 128 + SIGINT as in POSIX shells
CANNOT, FAULT, INTERRUPTED = 2, 70, 130


def _catalogue(arguments: Sequence[str]) -> Catalogue:
    from reedpath.cli.printing import catalogue_of_words

    return catalogue_of_words(arguments)


def _tell(error: ReedpathError, arguments: Sequence[str]) -> None:
    """Say an error, and what to do about it, in the user's language."""
    from reedpath.cli.printing import print_errors
    from reedpath.wording import error_hint

    catalogue = _catalogue(arguments)
    print_errors([error], catalogue)
    hint = error_hint(error, catalogue)
    if hint:
        sys.stderr.write(f"  {hint}\n")


def _of_usage(error: click.ClickException, arguments: Sequence[str]) -> SettingsError:
    """What the library of commands says of wrong usage, as an error of ours; in its own words where it has others."""
    import click

    context: click.Context | None = getattr(error, "ctx", None)
    named = next((word for word in arguments if not word.startswith("-")), "COMMAND")
    command = context.command_path if context else f"reedpath {named}"
    if isinstance(error, click.MissingParameter) and error.param is not None and context is not None:
        if isinstance(error.param, click.Option):
            return SettingsError("cli.missing_option", command=command, option=error.param.opts[0])
        return SettingsError("cli.missing_argument", command=command, name=error.param.make_metavar(context))
    if isinstance(error, click.NoSuchOption):
        if error.possibilities:
            return SettingsError("cli.unknown_option_like", option=error.option_name, names=error.possibilities)
        return SettingsError("cli.unknown_option", command=command, option=error.option_name)
    if isinstance(error, click.NoSuchCommand):
        if error.possibilities:
            return SettingsError("cli.unknown_command_like", name=error.command_name, names=error.possibilities)
        return SettingsError("cli.unknown_command", name=error.command_name)
    if isinstance(error, click.BadOptionUsage):
        return SettingsError("cli.option_value", command=command, option=error.option_name)
    return SettingsError("cli.usage", command=command, text=error.format_message())


def _run(arguments: Sequence[str]) -> int:
    import click

    from reedpath.cli.commands import app
    from reedpath.cli.options import PLAIN_B, SAID

    asked_by_shell = os.environ.get("_REEDPATH_COMPLETE")  # its name is the custom of the library of commands
    if asked_by_shell:
        from reedpath.cli.completion import answer_shell

        return answer_shell(app, asked_by_shell)
    try:
        with app.make_context("reedpath", list(arguments)) as context:
            context.meta[SAID] = arguments
            app.invoke(context)
            if context.meta.get(PLAIN_B):
                sys.stderr.write(f"{_catalogue(arguments).say('cli.plain_b')}\n")
    except click.exceptions.Exit as ended:
        return ended.exit_code
    except click.exceptions.NoArgsIsHelpError as error:
        sys.stdout.write(error.format_message() + "\n")
        return CANNOT
    except click.ClickException as error:
        _tell(_of_usage(error, arguments), arguments)
        return CANNOT
    except ReedpathError as error:
        _tell(error, arguments)
        return CANNOT
    return 0


def _said(arguments: Sequence[str] | None) -> Sequence[str]:
    return sys.argv[1:] if arguments is None else [str(one) for one in arguments]


def end_interrupted(arguments: Sequence[str] | None = None) -> NoReturn:
    """Say that the command was interrupted, and exit."""
    with no_more_interruptions():
        sys.stderr.write(f"reedpath: {_catalogue(_said(arguments)).say('cli.interrupted')}\n")
    raise SystemExit(INTERRUPTED)


def run(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line with the process's arguments, or those given, and exit."""
    said = _said(arguments)
    try:
        status = _run(said)
        sys.stdout.flush()
        if came_to_nothing():
            status = INTERRUPTED
    except KeyboardInterrupt:
        status = INTERRUPTED
    except BrokenPipeError:
        # the reader of a pipe has gone: what it wanted, it has; let nothing be flushed into it at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        status = 0
    except Exception as error:
        if "REEDPATH_TRACE" in os.environ:
            raise
        _tell(SettingsError("cli.fault", kind=type(error).__name__, text=str(error)), said)
        status = FAULT
    if status == INTERRUPTED:
        end_interrupted(said)
    raise SystemExit(status)
