"""What the stories share: a way to run a command, and a lesson folder made once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from reedpath.cli import main, making


@pytest.fixture
def few_pictures(monkeypatch) -> None:
    """Films of lessons have ten pictures a second, where a test looks at nothing that moves."""
    asked = making.lesson_wishes

    def with_few(*arguments, **named):
        return replace(asked(*arguments, **named), frames_per_second=10)

    monkeypatch.setattr(making, "lesson_wishes", with_few)


@pytest.fixture
def run(capsys):
    """Run a command in this process: exit status, standard output, standard error."""

    def run_it(*arguments: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return int(ended.value.code or 0), out, err

    return run_it


@pytest.fixture(scope="session")
def lesson_folder(tmp_path_factory) -> Path:
    """The demo's lesson, to be read and not changed."""
    folder = tmp_path_factory.mktemp("stories") / "lesson"
    with pytest.raises(SystemExit) as ended:
        main(["demo", "--out", str(folder)])
    assert ended.value.code == 0
    return folder
