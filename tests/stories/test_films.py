"""Films made from the command line, with a band, and interrupted."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time

import av
import numpy as np
import pytest

from reedpath.jobs import read_lesson
from support.teacher_films import FilmMade, playing, quiet, write_film

pytestmark = pytest.mark.story


@pytest.mark.usefixtures("few_pictures")
def test_a_film_with_a_band_has_a_chapter_for_each_round(lesson_folder, tmp_path, run) -> None:
    out = tmp_path / "jam.mp4"
    status, printed, _ = run(
        "film", lesson_folder, "--out", out, "--band", "--turns", "call", "--tempos", "full", "--no-steps",
        "--screen", "upright",
    )  # fmt: skip
    assert status == 0
    assert "jam.mp4" in printed
    with av.open(str(out)) as film:
        titles = [one["metadata"]["title"] for one in film.chapters()]
        seconds = film.duration / 1e6
    assert len(titles) == 2
    assert "1" in titles[0]
    assert "your turn" in titles[1]
    assert "round 2 of 2 · your turn" in (tmp_path / "jam.en.chapters.vtt").read_text(encoding="utf-8")
    captions = (tmp_path / "jam.en.vtt").read_text(encoding="utf-8")
    first, *others = captions.split("\n\n")[2:]
    assert "harp" in first  # the card with which it begins says on what it is played
    announced = [text for text in others if "Your turn next" in text]
    assert announced
    assert "\nYour turn\n" in f"{captions.partition(announced[-1])[2]}\n"
    with av.open(str(lesson_folder / "play-along-88.wav")) as alone:
        assert seconds > 1.5 * alone.duration / 1e6


@pytest.mark.parametrize(
    ("options", "why"),
    [
        (("--band", "--form", "sonata"), "there is no form named 'sonata'"),
        (("--band", "--rounds", "99"), "99 rounds: 1 to 24"),
        (("--band", "--turns", "mine"), "there are no turns named 'mine'"),
        (("--form", "twelve-bar"), "say --band too"),
        (("--turns", "call"), "say --band"),
        (("--over", "mine.mp4", "--band"), "the teacher's film keeps its own sound"),
        (("--over", "mine.mp4", "--tempos", "slow"), "the teacher's film has its own tempos"),
        (("--cut",), "only a teacher's own film is cut"),
        (("--over", "mine.mp4", "--cut", "--strip", "vp9"), "leave out --strip, or --cut"),
        (("--over", "mine.mp4", "--cut"), "mine.mp4"),
        (("--over", "mine.mp4", "--cut-as", "no.cut.json"), "no.cut.json"),
    ],
)
def test_what_a_band_cannot_do_is_told(lesson_folder, tmp_path, run, options, why) -> None:
    status, _, told = run("film", lesson_folder, "--out", tmp_path / "jam.mp4", "--no-steps", *options)
    assert status == 2
    assert why in told
    assert list(tmp_path.iterdir()) == []


def test_a_metre_that_the_band_cannot_play_is_told(tmp_path, run) -> None:
    tune = tmp_path / "waltz.abc"
    tune.write_text("X:1\nT:A waltz of our own\nM:3/4\nL:1/4\nK:G\nGAB|cBA|GAB|d3|\n")
    assert run("lesson", tune, "--out", tmp_path / "waltz", "--harp", "C")[0] == 0
    status, _, told = run("film", tmp_path / "waltz", "--out", tmp_path / "out" / "waltz.mp4", "--band")
    assert status == 2
    assert "the band plays in 4/4, 2/2 and 12/8, not in 3/4" in told
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("seconds", [1.0, 4.0])
def test_interrupted_nothing_is_left(lesson_folder, tmp_path, seconds: float) -> None:
    """As Ctrl-C does it, early and while pictures are written."""
    command = [
        sys.executable,
        "-c",
        "from reedpath.cli import main; main()",
        "film",
        lesson_folder,
        "--out",
        tmp_path / "new" / "film.mp4",
    ]
    with subprocess.Popen(
        command,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    ) as process:
        time.sleep(seconds)
        process.send_signal(signal.SIGINT)
        _, told = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "nothing half-made is left" in told
    assert list(tmp_path.iterdir()) == []


def test_raw_footage_is_cut_and_the_cut_corrected(lesson_folder, tmp_path, run) -> None:
    """What is played twice is shown once; then all of it, since the teacher says so."""
    lesson = read_lesson(lesson_folder)
    sound = [quiet(1.0), playing(lesson, -1), quiet(2.0), playing(lesson, -1), quiet(2.0)]
    raw = tmp_path / "raw.mp4"
    length = write_film(raw, np.concatenate(sound), FilmMade(size=(320, 180), fps=15))
    out = tmp_path / "out" / "solo.mp4"
    status, printed, _ = run("film", lesson_folder, "--over", raw, "--cut", "--out", out, "--language", "en")
    assert status == 0
    assert "stretches were cut out" in printed
    with av.open(str(out)) as film:
        assert film.duration / 1e6 < 0.7 * length
    cut = out.with_name("solo.cut.json")
    said = json.loads(cut.read_text(encoding="utf-8"))
    for piece in said["pieces"]:
        piece["keep"] = True
    (tmp_path / "mine.json").write_text(json.dumps(said), encoding="utf-8")
    again = ("film", lesson_folder, "--over", raw, "--cut-as", tmp_path / "mine.json", "--out", out, "--replace")
    status, printed, _ = run(*again, "--language", "fr")
    assert status == 0
    assert "Rien n’a été coupé" in printed
    with av.open(str(out)) as film:
        assert abs(film.duration / 1e6 - length) < 0.3
