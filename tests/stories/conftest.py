"""What the stories share: a way to run a command, and a lesson folder made once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from reedpath.cli import main, making
from reedpath.jobs import lessons, lessons_of_pieces, rung_sounds
from reedpath.jobs.processes import ShareReport
from reedpath.lesson import Lesson, Rung
from reedpath.signal import BytesPut


@pytest.fixture
def few_pictures(monkeypatch) -> None:
    """Films of lessons have ten pictures a second, coded in haste, where a test looks at nothing that moves."""
    asked = making.lesson_wishes

    def with_few(*arguments, **named):
        return replace(asked(*arguments, **named), frames_per_second=10)

    monkeypatch.setattr(making, "lesson_wishes", with_few)
    monkeypatch.setattr("reedpath.film.encode._DRAWN", (30, "ultrafast"))


@pytest.fixture(scope="module")
def sounded() -> dict[tuple[str, Rung], tuple[bytes, bytes]]:
    """What was sounded in a module of tests."""
    return {}


@pytest.fixture
def sounds_once(monkeypatch, sounded) -> None:
    """A lesson's route is sounded once at each tempo, where tests make the lesson again and again for its words.

    `tests/jobs/test_lesson_sounds.py` and the tests of processes look at the sounds themselves.
    """

    def sound_rung(lesson: Lesson, rung: Rung, *, put: BytesPut, report: ShareReport) -> bytes:
        key = (repr(lesson.route), rung)
        if key not in sounded:
            pieces: list[bytes] = []
            small = rung_sounds.sound_rung(lesson, rung, put=lambda data: pieces.append(bytes(data)), report=report)
            sounded[key] = small, b"".join(pieces)
        small, large = sounded[key]
        put(large)
        return small

    monkeypatch.setenv("REEDPATH_PROCESSES", "1")  # all is made here, where it is remembered
    for module in (lessons, lessons_of_pieces):
        monkeypatch.setattr(module, "sound_rung", sound_rung)


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
