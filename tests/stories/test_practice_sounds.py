"""Sounds to practise with, from a lesson folder to files that a player plays."""

from __future__ import annotations

import pytest

from reedpath.cli import main
from reedpath.jobs.folder_plans import LIST
from reedpath.signal import decode

pytestmark = pytest.mark.story


def status_of(*arguments) -> int:
    with pytest.raises(SystemExit) as ended:
        main([str(argument) for argument in arguments])
    return ended.value.code


def test_a_band_a_ladder_in_one_file_and_looped_spots(lesson_folder, tmp_path, capsys):
    assert (
        status_of("play-along", lesson_folder, "--band", "--turns", "call", "--tempos", "full", "--out", tmp_path)
        == 0
    )
    band = decode((tmp_path / "with-band-88-call.wav").read_bytes())
    alone = decode((lesson_folder / "play-along-88.wav").read_bytes())
    assert band.duration_seconds > 1.8 * alone.duration_seconds
    assert status_of("play-along", lesson_folder, "--as-one", "--spots", "--format", "flac", "--out", tmp_path) == 0
    ladder = decode((tmp_path / "ladder.flac").read_bytes())
    assert ladder.duration_seconds > 4 * alone.duration_seconds
    assert (tmp_path / "spot-1.flac").stat().st_size > 10_000
    assert "spot-1.flac" in capsys.readouterr().out


def test_slowing_a_take_keeps_what_it_is(lesson_folder, tmp_path):
    take = lesson_folder / "play-along-88.wav"
    assert status_of("slow", take, "--to", 0.5, "--out", tmp_path / "half.wav") == 0
    before, after = decode(take.read_bytes()), decode((tmp_path / "half.wav").read_bytes())
    assert after.duration_seconds == pytest.approx(2 * before.duration_seconds, rel=1e-3)


def test_a_part_of_a_source_is_slowed_to_a_third(lesson_folder, tmp_path):
    take = lesson_folder / "play-along-88.wav"
    assert status_of("slow", take, "--from", "0:02.5", "--until", 4, "--to", "1/3", "--out", tmp_path / "a.mp3") == 0
    assert decode((tmp_path / "a.mp3").read_bytes()).duration_seconds == pytest.approx(4.5, abs=0.06)


def test_your_turn_and_the_harmonicas_lie_side_by_side(lesson_folder, tmp_path):
    for more in ([], ["--muted"]):
        assert status_of("play-along", lesson_folder, "--tempos", "full", "--spots", "--out", tmp_path, *more) == 0
    assert {path.name for path in tmp_path.iterdir() if "spot" not in path.name} == {
        LIST,
        "play-along-88.wav",
        "play-along-88-yours.wav",
    }
    assert (tmp_path / "spot-1-yours.wav").is_file()
    heard, yours = (decode((tmp_path / f"play-along-88{end}.wav").read_bytes()) for end in ("", "-yours"))
    assert heard.frames == yours.frames
    lessons_own = decode((lesson_folder / "play-along-88.wav").read_bytes())
    assert (heard.array == lessons_own.array).all()


def test_accents_are_slapped_where_that_is_asked(tmp_path):
    source = tmp_path / "hits.abc"
    source.write_text("X:1\nT:Hits (invented)\nM:4/4\nL:1/4\nQ:1/4=120\nK:C\n!>!G c !accent!e c|\n")
    assert status_of("lesson", source, "--harp", "C", "--out", tmp_path / "hits") == 0
    for more in ([], ["--slaps"]):
        out = tmp_path / f"out{len(more)}"
        assert status_of("play-along", tmp_path / "hits", "--tempos", "full", "--out", out, *more) == 0
    plain, slapped = (decode((tmp_path / f"out{n}" / "play-along-120.wav").read_bytes()) for n in (0, 1))
    assert plain.frames == slapped.frames
    assert (plain.array != slapped.array).any()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["play-along", "{tmp}"], "there is no lesson in this folder"),
        (["play-along", "{lesson}", "--band", "--form", "nobody"], "there is no form named 'nobody'"),
        (["play-along", "{lesson}", "--turns", "nobody"], "there are no turns named 'nobody'"),
        (["play-along", "{lesson}", "--tempos", "nobody"], "no tempo 'nobody'"),
        (["play-along", "{lesson}", "--tempos", "full", "--format", "tape", "--out", "{tmp}"], "tape"),
        (["play-along", "{lesson}", "--band", "--without", "tuba"], "there is no player 'tuba'"),
        (["slow", "{lesson}/play-along-88.wav", "--to", "0.1", "--out", "{tmp}/x.wav"], "0.1"),
        (["play-along", "{lesson}", "--form", "eight-bar"], "--form is for the band"),
        (["play-along", "{lesson}", "--turns", "call"], "say --band, or --spots"),
        (["slow", "{lesson}/play-along-88.wav", "--to", "fast", "--out", "{tmp}/x.wav"], "'fast' is not a share"),
        (["slow", "{lesson}/play-along-88.wav", "--from", "noon", "--out", "{tmp}/x.wav"], "'noon' is not a time"),
        (["slow", "{lesson}/play-along-88.wav", "--from", "9:00", "--out", "{tmp}/x.wav"], "no sound after 540 s"),
        (
            ["slow", "{lesson}/play-along-88.wav", "--from", "3", "--until", "2", "--out", "{tmp}/x.wav"],
            "the end after",
        ),
        (["slow", "{lesson}/tab.txt", "--out", "{tmp}/x.wav"], "tab.txt"),
        (["slow", "{lesson}/play-along-88.wav", "--out", "{tmp}/x.tape"], "tape"),
    ],
)
def test_wrong_wishes_are_one_sentence_and_status_2(lesson_folder, tmp_path, capsys, arguments, says):
    assert status_of(*(one.format(tmp=tmp_path, lesson=lesson_folder) for one in arguments)) == 2
    assert says in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
