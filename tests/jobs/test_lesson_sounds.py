"""A lesson's sounds are made once each, nothing is left whatever goes wrong, and each step says how far it is."""

from __future__ import annotations

import pickle
import subprocess
import sys

import pytest
from msgspec.structs import replace

from reedpath.errors import SoundError
from reedpath.jobs import ProgressStep, write_lesson
from reedpath.lesson import Lesson, Rung
from reedpath.signal import encode
from reedpath.sound import lay_out, play_along, play_along_name, sound_blocks
from support.built_routes import built_lesson, built_route

pytestmark = pytest.mark.slow

LADDER = (Rung("slow", 0.5, 60.0), Rung("nearly", 0.75, 90.0), Rung("full", 1.0, 120.0))


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    return replace(built_lesson(built_route("2d:1 3d' 4b 4d:1", bpm=120.0)), ladder=LADDER)


def test_each_sound_is_made_once_and_is_what_it_is_alone(lesson, tmp_path, monkeypatch):
    made = []

    def counted(layout):
        made.append(layout.seconds)
        return sound_blocks(layout)

    monkeypatch.setattr("reedpath.jobs.rung_sounds.sound_blocks", counted)
    write_lesson(lesson, tmp_path / "lesson")
    assert sorted(made) == sorted(lay_out(lesson, rung).seconds for rung in LADDER)
    for rung in LADDER:
        file = tmp_path / "lesson" / play_along_name(rung)
        assert file.read_bytes() == encode(play_along(lesson, rung), bits=16)


def test_a_process_that_sounds_enters_no_room_that_it_does_not_need(lesson):
    code = (
        "import pickle, sys; from reedpath.jobs.rung_sounds import sound_rung; "
        "lesson = pickle.load(sys.stdin.buffer); sound_rung(lesson, lesson.ladder[0]); print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], input=pickle.dumps(lesson), capture_output=True, check=True)
    entered = set(done.stdout.decode().split())
    assert "reedpath.sound.voice" in entered
    assert not entered & {"reedpath.page", "reedpath.sound.band", "reedpath.listen", "scipy", "av", "PIL"}


def test_what_is_wrong_with_one_sound_is_told_and_leaves_nothing(lesson, tmp_path, monkeypatch):
    wrong = lay_out(lesson, LADDER[1]).seconds

    def failing(layout):
        if layout.seconds == wrong:
            raise SoundError("sound.no_tempo")
        return sound_blocks(layout)

    monkeypatch.setattr("reedpath.jobs.rung_sounds.sound_blocks", failing)
    with pytest.raises(SoundError, match="tempo"):
        write_lesson(lesson, tmp_path / "lesson")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["tab", "sheet", "sound", "page"])
def test_an_interruption_leaves_nothing(lesson, tmp_path, name):
    def interrupted(step: ProgressStep) -> None:
        if step.name == name:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_lesson(lesson, tmp_path / "lesson", progress=interrupted)
    assert list(tmp_path.iterdir()) == []


def test_the_steps_say_what_share_of_the_time_lies_before_them(lesson, tmp_path):
    steps: list[ProgressStep] = []
    write_lesson(lesson, tmp_path / "lesson", progress=steps.append)
    shares = [step.share for step in steps]
    assert shares[0] == 0.0
    assert shares == sorted(shares)
    assert shares[-1] < 1.0
