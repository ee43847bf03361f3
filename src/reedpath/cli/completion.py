"""Completion: what a shell is taught, so that the tab key completes commands, options and files."""

from __future__ import annotations

import os
from pathlib import Path

import click
from click.shell_completion import (
    CompletionItem,
    ShellComplete,
    add_completion_class,
    get_completion_class,
    shell_complete,
    split_arg_string,
)

from reedpath.errors import Place, SettingsError, system_words

NAME, VARIABLE = "reedpath", "_REEDPATH_COMPLETE"

# what a shell reads when it starts, and how it is made to read a script there; customs of the shells themselves
_STARTED_BY = {"bash": ".bashrc", "zsh": ".zshrc"}


@add_completion_class
class PowerShellComplete(ShellComplete):
    """Completion for PowerShell, by its ``Register-ArgumentCompleter``."""

    name = "powershell"
    source_template = """\
Register-ArgumentCompleter -Native -CommandName %(prog_name)s -ScriptBlock {
    param($word, $line, $position)
    $env:%(complete_var)s = "powershell_complete"
    $env:COMP_WORDS = $line.ToString()
    $env:COMP_LAST = $word
    %(prog_name)s | ForEach-Object {
        [System.Management.Automation.CompletionResult]::new($_, $_, "ParameterValue", $_)
    }
    $env:%(complete_var)s = $null
}
"""

    def get_completion_args(self) -> tuple[list[str], str]:
        """The words before the one that is completed, and that one."""
        words = split_arg_string(os.environ.get("COMP_WORDS", ""))[1:]
        last = os.environ.get("COMP_LAST", "")
        return (words[:-1] if last and words else words), last

    def format_completion(self, item: CompletionItem) -> str:
        """One completion, as the script takes it."""
        return str(item.value)


def _shell(name: str) -> str:
    """The shell asked for, else the user's; SettingsError for one that cannot be taught."""
    wanted = name or Path(os.environ.get("SHELL", "")).name or ("powershell" if os.name == "nt" else "")
    wanted = {"pwsh": "powershell"}.get(wanted, wanted)
    if get_completion_class(wanted) is None:
        raise SettingsError("cli.unknown_shell", name=wanted, names=("bash", "zsh", "fish", "powershell"))
    return wanted


def completion_script(commands: click.Command, shell: str) -> str:
    """What a shell is taught, in its own language; the user's shell for ""."""
    maker = get_completion_class(_shell(shell))
    assert maker is not None
    return maker(commands, {}, NAME, VARIABLE).source()


def answer_shell(commands: click.Command, instruction: str) -> int:
    """What a shell asks for when the tab key is pressed; the instruction is the value of `VARIABLE`."""
    return shell_complete(commands, {}, NAME, VARIABLE, instruction)


def install_completion(commands: click.Command, shell: str) -> str:
    """Teach a shell the commands for good; returns the file that was written."""
    shell = _shell(shell)
    script = completion_script(commands, shell)
    home = Path("~")
    try:
        home = Path.home()
        return str(_installed(script, shell, home))
    except (OSError, RuntimeError) as error:  # the latter where the system knows of no home
        raise SettingsError("jobs.folder_unwritable", where=Place(file=str(home)), why=system_words(error)) from error


def _installed(script: str, shell: str, home: Path) -> Path:
    """Write a script where a shell finds it."""
    if shell == "fish":
        path = home / ".config" / "fish" / "completions" / f"{NAME}.fish"
        start = None
    elif shell == "powershell":
        path = home / ".config" / NAME / f"{NAME}.ps1"
        start = home / ".config" / "powershell" / "profile.ps1"
    else:
        path = home / ".config" / NAME / f"complete.{shell}"
        start = home / _STARTED_BY[shell]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(script, encoding="utf-8")
    line = f'. "{path}"\n'
    if start is not None and (not start.exists() or line not in start.read_text(encoding="utf-8")):
        start.parent.mkdir(parents=True, exist_ok=True)
        with start.open("a", encoding="utf-8") as file:
            file.write(line)
    return path
