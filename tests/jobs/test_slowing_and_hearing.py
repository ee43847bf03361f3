"""Recordings in, a part of them slowed or written down; what cannot be is told once, with the file's name."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from reedpath.errors import ReedpathError, SettingsError, SoundError
from reedpath.hear.frames import RATE as HEARD_RATE
from reedpath.jobs import HearingChoice, ProgressStep, line_up_take, slow_recording, write_down_recording
from reedpath.listen import NOT_READ_AGAIN
from reedpath.signal import Samples, decode, encode
from support.built_routes import built_lesson, built_route

RATE = 8_000


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """Half a second of a tone."""
    tone = 0.3 * np.sin(2 * np.pi * 440.0 * np.arange(RATE // 2) / RATE)
    path = tmp_path / "take.wav"
    path.write_bytes(encode(Samples(tone[:, None].astype(np.float32), RATE)))
    return path


def test_a_part_is_slowed_and_its_steps_are_told(recording, tmp_path):
    told: list[ProgressStep] = []
    out = tmp_path / "slow.wav"
    slow_recording(recording, 0.5, out, start_seconds=0.1, end_seconds=0.3, progress=told.append)
    assert decode(out.read_bytes()).duration_seconds == pytest.approx(0.4, abs=0.01)
    assert [(one.name, one.done, one.total) for one in told if one.name == "slowing"] == [
        ("slowing", 0, 2),
        ("slowing", 1, 2),
    ]
    assert told[0].name == "hearing"


def test_a_file_that_is_there_is_written_over_only_when_asked(recording, tmp_path):
    out = tmp_path / "slow.wav"
    out.write_bytes(b"hers")
    with pytest.raises(SettingsError, match="there is a file of that name"):
        slow_recording(recording, 0.5, out)
    assert out.read_bytes() == b"hers"
    slow_recording(recording, 0.5, out, replace=True)
    assert decode(out.read_bytes()).duration_seconds == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"start_seconds": -1.0}, "the start is at least 0, the end after it"),
        ({"start_seconds": 0.2, "end_seconds": 0.2}, "from 0.2 to 0.2 s"),
        ({"start_seconds": 9.0}, "take.wav: there is no sound after 9 s"),
    ],
)
def test_a_part_that_is_none(recording, tmp_path, asked, says):
    with pytest.raises(SettingsError) as told:
        slow_recording(recording, 0.5, tmp_path / "slow.wav", **asked)
    assert says in str(told.value)
    assert [one.name for one in tmp_path.iterdir()] == ["take.wav"]


def test_more_than_can_be_slowed_at_once(recording, tmp_path, monkeypatch):
    monkeypatch.setattr("reedpath.jobs.practising.MOST_SLOWED_SECONDS", 0.3)
    with pytest.raises(SettingsError, match=r"take\.wav: more than 0\.005 minutes are not slowed at once"):
        slow_recording(recording, 0.5, tmp_path / "slow.wav")
    slow_recording(recording, 0.5, tmp_path / "slow.wav", end_seconds=0.25)
    with pytest.raises(SettingsError, match="sound cannot be written as 'tape'"):
        slow_recording(recording, 0.5, tmp_path / "slow.tape")


def test_what_cannot_be_heard_is_told_with_its_file_once(recording, tmp_path):
    words = tmp_path / "words.wav"
    words.write_text("no sound at all", encoding="utf-8")
    asked = [(words, HearingChoice()), (recording, HearingChoice(2.0, 1.0)), (recording, HearingChoice(bpm=5.0))]
    for file, choice in asked:
        with pytest.raises(ReedpathError) as told:
            write_down_recording(file, choice)
        assert str(told.value).startswith(f"{file}: ")
        assert str(told.value).count(file.name) == 1
    with pytest.raises(SoundError):
        write_down_recording(words, HearingChoice())


def test_a_listing_of_play_throughs_is_read_again_as_an_answer_is(recording, monkeypatch):
    read = []

    def again(lined_up, opened):
        with opened() as blocks:
            read.append(sum(block.frames for block in blocks))
        return replace(lined_up, play_throughs=("what is left",)), NOT_READ_AGAIN

    monkeypatch.setattr("reedpath.jobs.hearing.lined_up_again", again)
    lined_up = line_up_take(recording, built_lesson(built_route("4d 4b 5d", key="A", bpm=100)))
    assert lined_up.play_throughs == ("what is left",)
    assert read == [HEARD_RATE // 2]
