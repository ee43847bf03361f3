"""Every command that the help, the README and the docs print is run as it stands there, on invented files."""

from __future__ import annotations

import glob
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import av
import click
import mido
import numpy as np
import pytest
import soundfile

from reedpath.cli import main
from reedpath.cli.commands import app
from reedpath.data import encode_json
from reedpath.jobs import (
    StudentSaid,
    add_take,
    add_to_shelf,
    answer_recording,
    export_to_zip,
    put_student,
    read_lesson,
    read_source_file,
)
from reedpath.jobs.answering import answered_file
from reedpath.phrase import encode_phrase
from reedpath.shelf import Shelf
from reedpath.studio.serving import StudioServer
from support.teacher_films import teacher_film

pytestmark = pytest.mark.story

ROOT = Path(__file__).parents[2]
# what adding.md prints is followed by a test of its own, with the files that it tells to write
PAGES = sorted(page for page in (ROOT / "docs").glob("*.md") if page.name != "adding.md")
# the commands that make or read sound and pictures
SLOW = ("demo", "lesson", "play-along", "slow", "transcribe", "align", "film", "listen")

# invented for this test
SOLO = """title: Three Steps
tempo: 400
key: E

   q    q    q    q
e|-------------------|
B|-------------------|
G|-9----------9------|
D|------9---------9--|
A|-------------------|
E|-------------------|
"""
PLAN = """[[piece]]
source = "solo.txt"

[[piece]]
source = "tune.abc"
choose = "tune=2"
bars = "1-2"
"""
TUNES = "".join(
    f"X:{number}\nT:Tune {number} (invented for this test)\nM:4/4\nL:1/4\nQ:1/4=200\nK:A\n" + "ABce|" * 8 + "\n\n"
    for number in (1, 2, 3)
)


def of_help() -> list[str]:
    lines = [line.strip() for command in every_command(app) for line in (command.help or "").splitlines()]
    return [line for line in lines if line.startswith("reedpath ")]


def every_command(group: click.Group) -> Iterator[click.Command]:
    """The commands of a group, and those of the groups in it."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        yield command
        if isinstance(command, click.Group):
            yield from every_command(command)


def of_pages() -> list[str]:
    texts = [page.read_text(encoding="utf-8") for page in (ROOT / "README.md", *PAGES)]
    blocks = [block for text in texts for block in re.findall(r"```\w*\n(.*?)```", text, flags=re.DOTALL)]
    return [line for block in blocks for line in block.splitlines() if line.startswith("reedpath ")]


def sound(path: Path, samples: np.ndarray, rate: int, codec: str) -> None:
    """Write a row of samples with a codec, in the container that the name asks for."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate, layout="mono")
        for start in range(0, len(samples), rate):
            block = (samples[start : start + rate] * 32767).astype(np.int16)[np.newaxis]
            frame = av.AudioFrame.from_ndarray(block, format="s16", layout="mono")
            frame.sample_rate = rate
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def midi(path: Path) -> None:
    """Two tracks, the second of which plays."""
    file = mido.MidiFile(type=1, ticks_per_beat=480)
    file.tracks.append(mido.MidiTrack([mido.MetaMessage("track_name", name="Lead (invented)")]))
    for pitch in (64, 67, 69, 71):
        file.tracks[0].append(mido.Message("note_on", note=pitch, velocity=80, time=0))
        file.tracks[0].append(mido.Message("note_off", note=pitch, time=480))
    file.save(str(path))


@pytest.fixture(scope="session")
def invented(tmp_path_factory) -> Path:
    """A folder with every file that the examples name, to be copied."""
    folder = tmp_path_factory.mktemp("examples")
    (folder / "solo.txt").write_text(SOLO, encoding="utf-8")
    (folder / "tune.abc").write_text(TUNES, encoding="utf-8")
    (folder / "plan.toml").write_text(PLAN, encoding="utf-8")
    (folder / "tunes").mkdir()
    for name in ("solo.txt", "tune.abc"):
        shutil.copy(folder / name, folder / "tunes")
    midi(folder / "phrase.mid")
    phrase = read_source_file(folder / "solo.txt").phrase
    (folder / "solo.json").write_bytes(encode_phrase(phrase))
    with pytest.raises(SystemExit) as ended:
        main(["lesson", str(folder / "solo.txt"), "--out", str(folder / "lessons" / "solo"), "--harp", "A"])
    assert ended.value.code == 0
    (folder / "phrase.musicxml").write_bytes((folder / "lessons" / "solo" / "score.musicxml").read_bytes())
    shutil.copy(min((folder / "lessons" / "solo").glob("play-along*.wav")), folder / "take.wav")
    (folder / "takes").mkdir()
    row, rate = soundfile.read(folder / "take.wav", dtype="float32")
    sound(folder / "takes" / "ada week 2.m4a", row.mean(axis=1) if row.ndim > 1 else row, rate, "aac")
    with Shelf(folder / "shelf.sqlite", make=True) as shelf:
        add_to_shelf(shelf, [folder / "lessons"], tags=["blues"])
        put_student(shelf, "Bo (invented)", StudentSaid())
        put_student(shelf, "Ada", StudentSaid(level="easy", harps=("A",)))
        answered = answer_recording(folder / "take.wav", read_lesson(folder / "lessons" / "solo"))
        (folder / "heard.json").write_bytes(encode_json(answered_file(answered)))
        for name in ("Bo (invented)", "Ada"):
            add_take(shelf, folder / "take.wav", student=name, lesson="Three Steps", answer=folder / "heard.json")
        export_to_zip(shelf, folder / "kept.zip")
    return folder


@pytest.fixture(scope="session")
def with_sounds(invented) -> Path:
    """The same folder with recordings and films in it too."""
    lesson = read_lesson(invented / "lessons" / "solo")
    row, rate = soundfile.read(invented / "take.wav", dtype="float32", always_2d=True)
    row = row.mean(axis=1) / np.abs(row).max()
    for name, codec, seconds in (
        ("take.wav", "pcm_s16le", 0), ("take.m4a", "aac", 0), ("solo.mp3", "mp3", 25), ("record.mp3", "mp3", 25),
        ("evening.mp4", "aac", 85),
    ):  # fmt: skip
        sound(invented / name, np.resize(row, max(row.size, seconds * rate)), rate, codec)
    shutil.copy(invented / "take.m4a", invented / "Anna 2026-11-25.m4a")
    for name in ("film.mp4", "me-playing.mp4", "raw.mp4"):
        teacher_film(invented / name, lesson, fps=10)
    with pytest.raises(SystemExit) as ended:
        main(
            ["film", str(invented / "lessons" / "solo"), "--over", str(invented / "raw.mp4"), "--cut", "--out",
             str(invented / "cut" / "solo.mp4")]
        )  # fmt: skip
    assert ended.value.code == 0
    shutil.copy(invented / "cut" / "solo.cut.json", invented)
    return invented


def follow(line: str, folder: Path, tmp_path: Path, monkeypatch, run) -> None:
    at = tmp_path / "teacher"
    shutil.copytree(folder, at)
    monkeypatch.chdir(at)
    monkeypatch.setenv("REEDPATH_FOLDER", str(at))
    words = [
        name  # as a shell expands them
        for word in shlex.split(line, comments=True)[1:]
        for name in (sorted(glob.glob(word)) if "*" in word else [word])
    ]
    if words[0] == "lesson":
        shutil.rmtree(at / words[words.index("--out") + 1], ignore_errors=True)
    if words[0] == "studio":
        # it is open until it is interrupted: here as soon as it answers
        monkeypatch.setattr("webbrowser.open", lambda address: True)
        began = StudioServer.startup

        async def begin_and_end(server, sockets=None) -> None:
            await began(server, sockets)
            server.should_exit = True

        monkeypatch.setattr(StudioServer, "startup", begin_and_end)
    if "--cut" in words:
        (at / "solo.cut.json").unlink()
    if words[0] == "transcribe":
        (at / "solo.json").unlink()
    status, out, err = run(*words)
    assert (status, err) == (0, ""), line
    assert out


LINES = list(dict.fromkeys([*of_help(), *of_pages()]))


def test_every_command_and_the_readme_print_examples():
    assert {line.split()[1] for line in of_help()} == set(app.commands)
    assert len(of_pages()) >= 8
    of_shelf = {line.split()[2] for line in of_help() if line.split()[1] == "shelf"}
    assert of_shelf == set(app.commands["shelf"].list_commands(click.Context(app)))


@pytest.mark.parametrize("line", [line for line in LINES if line.split()[1] not in SLOW])
def test_an_example_does_what_it_says(invented, tmp_path, monkeypatch, run, line):
    follow(line, invented, tmp_path, monkeypatch, run)


@pytest.mark.slow
@pytest.mark.usefixtures("few_pictures")
@pytest.mark.parametrize("line", [line for line in LINES if line.split()[1] in SLOW])
def test_an_example_of_lessons_sounds_and_films_does_what_it_says(with_sounds, tmp_path, monkeypatch, run, line):
    follow(line, with_sounds, tmp_path, monkeypatch, run)
