"""All that the commands print, to the letter: each file of `printed` holds commands and what they print.

A line that begins with "$" is run, in a folder of invented files and with stand-ins for the jobs that take long,
which tell what they are asked ("asked:"). Data are printed closer than the command does, in lines that hold as much
as fits. Lines of the error output have "!" before them, an exit status other than 0 stands in brackets.
``KEEP_TEXTS=1`` writes anew what follows the commands, so that a new case is one line.
"""

from __future__ import annotations

import json
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from reedpath.cli import main
from reedpath.cli.commands import app
from support.kept_texts import assert_kept, close_json
from support.stood_in_jobs import put_files, put_shelf, stand_in

PRINTED = Path(__file__).parent / "printed"
# files whose commands take more than a fifth of a second
SLOW = {"arrange", "shelf", "sounds", "students", "survey"}


@pytest.fixture(scope="module")
def invented(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The files, and a shelf on which they were put once."""
    folder = tmp_path_factory.mktemp("invented") / "at"
    folder.mkdir()
    put_files(folder)
    with pytest.MonkeyPatch.context() as monkeypatch:
        stand_in(monkeypatch, first=1)
        put_shelf(folder / "shelf.sqlite", folder)
    return folder


def printed(line: str, capsys: pytest.CaptureFixture[str]) -> list[str]:
    """What a command prints."""
    with pytest.raises(SystemExit) as ended:
        main(shlex.split(line))
    out, err = capsys.readouterr()
    status = [f"[{ended.value.code}]"] if ended.value.code else []
    data = re.search(r"^[\[{]$.*", out, re.MULTILINE | re.DOTALL) if "--json" in line else None
    if data:
        out = out[: data.start()] + close_json(json.loads(data[0]))
    return [*out.splitlines(), *(f"! {one}" for one in err.splitlines()), *status]


def of_group(group: click.Group, name: str = "") -> Iterator[tuple[str, click.Command]]:
    """The commands of a group and of those in it, by their names."""
    context = click.Context(group)
    for one in group.list_commands(context):
        command = group.get_command(context, one)
        if isinstance(command, click.Group):
            yield from of_group(command, f"{name}{one} ")
        elif command is not None:
            yield f"{name}{one}", command


def test_every_command_and_every_option_is_printed_once() -> None:
    lines = [line for path in PRINTED.glob("*.txt") for line in path.read_text(encoding="utf-8").splitlines()]
    said = [shlex.split(line) for line in lines if line.startswith("$ ")]
    words = {word.partition("=")[0] for line in said for word in line}
    for name, command in of_group(app):
        assert any(" ".join(line).partition("reedpath ")[2].startswith(name) for line in said), name
        for option in (one for one in command.params if isinstance(one, click.Option)):
            assert words & {*option.opts, *option.secondary_opts}, f"{name} {option.opts[0]}"


@pytest.mark.parametrize(
    "path",
    [
        pytest.param(path, id=path.stem, marks=[pytest.mark.slow] if path.stem in SLOW else [])
        for path in sorted(PRINTED.glob("*.txt"))
    ],
)
def test_a_command_prints_what_was_kept(path: Path, invented: Path, tmp_path: Path, monkeypatch, capsys) -> None:
    at = tmp_path / "at"
    shutil.copytree(invented, at)
    monkeypatch.chdir(at)
    for name, value in (("REEDPATH_FOLDER", "own"), ("LANG", "en_GB.UTF-8"), ("COLUMNS", "100")):
        monkeypatch.setenv(name, value)
    for name in ("LC_ALL", "LC_MESSAGES"):
        monkeypatch.delenv(name, raising=False)
    stand_in(monkeypatch, first=1000)
    told = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("$ "):
            setting, _, command = line.removeprefix("$ ").rpartition("reedpath ")
            with monkeypatch.context() as with_setting:
                for name, _, value in (one.partition("=") for one in setting.split()):
                    with_setting.setenv(name, value)
                told += [line, *(one.rstrip() for one in printed(command, capsys)), ""]
        elif line.startswith("# "):
            told += [line]
    assert_kept(path, "\n".join(told).rstrip("\n") + "\n")
