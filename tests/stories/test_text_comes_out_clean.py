"""Titles and names come out as they went in, less what a terminal would obey, whatever the system's encoding."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import av
import mido
import pytest

pytestmark = pytest.mark.story

# what no terminal and no tag is to get: controls but for ends of lines and tabs, and what turns writing around
OBEYED = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
SCORE = """<score-partwise version="4.0"><work><work-title>Red&#x9b;31m title&#x202e;, &#x9;été</work-title></work>
<part-list><score-part id="P1"><part-name>Lead</part-name></score-part></part-list><part id="P1">{bars}</part>
</score-partwise>"""
BAR = """<measure number="{number}"><attributes><divisions>1</divisions></attributes><direction><direction-type>
<rehearsal>Part&#x9b;2J</rehearsal></direction-type></direction><note><pitch><step>G</step><octave>4</octave></pitch>
<duration>4</duration></note></measure>"""
TUNE = "X:1\nT:Été à Nîmes (invented)\nM:4/4\nL:1/4\nQ:1/4=240\nK:G\nGBdB|G4|\n"
TAB = "title: Red\x9b31m title\n\n[Riff\x9b2J]\n" + "".join(
    f"{name}|{'-5-7-' if name == 'G' else '-----'}|\n" for name in "eBGDAE"
)  # fmt: skip


@pytest.fixture
def hostile(tmp_path) -> dict[str, Path]:
    """Sources whose titles and names hold codes that terminals obey."""
    score = SCORE.format(bars="".join(BAR.format(number=number) for number in (1, 2)))
    (tmp_path / "score.musicxml").write_text(score, encoding="utf-8")
    (tmp_path / "tab.txt").write_text(TAB, encoding="utf-8")
    file, track = mido.MidiFile(type=1, ticks_per_beat=480), mido.MidiTrack()
    track.append(mido.MetaMessage("track_name", name="Red \x1b[31mtitle"))
    track.append(mido.MetaMessage("marker", text="Part\x1b[2J\x07A"))
    for pitch in (64, 67, 69, 71):
        track.append(mido.Message("note_on", note=pitch, velocity=80, time=0))
        track.append(mido.Message("note_off", note=pitch, time=480))
    file.tracks.append(track)
    file.save(str(tmp_path / "file.mid"))
    return {path.suffix: path for path in tmp_path.iterdir()}


@pytest.mark.parametrize("suffix", [".musicxml", ".txt", ".mid"])
def test_escape_codes_reach_no_terminal_and_no_file(hostile, tmp_path, run, suffix):
    for words in (["arrange"], ["arrange", "--why"], ["arrange", "--json"], ["survey", "--top", 2]):
        status, out, err = run(words[0], hostile[suffix], *words[1:])
        assert (status, err) == (0, "")
        assert not OBEYED.search(out)
    status, out, _ = run("lesson", hostile[suffix], "--out", tmp_path / "lesson", "--languages", "en")
    assert status == 0
    assert not OBEYED.search(out)
    title = json.loads((tmp_path / "lesson" / "lesson.json").read_text(encoding="utf-8"))["title"]
    assert title.startswith("Red title")
    for path in (tmp_path / "lesson").iterdir():
        if path.suffix in {".txt", ".md", ".json", ".svg", ".musicxml"}:
            assert not OBEYED.search(path.read_text(encoding="utf-8")), path.name


def test_a_title_asked_for_is_cleaned_on_entry(tmp_path, run):
    (tmp_path / "tune.abc").write_text(TUNE, encoding="utf-8")
    said = "A\x1b]0;gone\x07 red\x1b[31m \ud800title \u202eof été"
    status, out, err = run("lesson", tmp_path / "tune.abc", "--out", tmp_path / "lesson", "--title", said)
    assert (status, err) == (0, "")
    assert not OBEYED.search(out)
    data = json.loads((tmp_path / "lesson" / "lesson.json").read_text(encoding="utf-8"))
    assert data["title"] == "A red title of été"
    assert run("play-along", tmp_path / "lesson", "--format", "mp3", "--tempos", "slow")[0] == 0
    (sound,) = (tmp_path / "lesson").glob("*.mp3")
    with av.open(str(sound)) as container:
        assert "A red title of été" in container.metadata["title"]


def test_a_system_that_knows_ascii_only_gets_accents_into_files_and_no_fault(tmp_path):
    (tmp_path / "été.abc").write_text(TUNE, encoding="utf-8")
    ascii_only = {**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}

    def run_there(*words: str) -> subprocess.CompletedProcess[bytes]:
        command = [sys.executable, "-c", "from reedpath.cli import main; main()", *words]
        return subprocess.run(command, cwd=tmp_path, env=ascii_only, capture_output=True, check=False)

    for words in (
        ("arrange", "été.abc"),
        ("arrange", "été.abc", "--language", "fr", "--why"),
        ("survey", "été.abc", "--json"),
        ("lesson", "été.abc", "--out", "leçon", "--title", "Très à propos", "--languages", "fr"),
        ("film", "leçon", "--out", "fé.mp4", "--tempos", "full", "--no-steps"),
        ("play-along", "leçon", "--out", "à-part", "--format", "mp3", "--tempos", "slow", "--language", "fr"),
    ):
        done = run_there(*words)
        assert (done.returncode, done.stderr) == (0, b""), words
    data = json.loads((tmp_path / "leçon" / "lesson.json").read_text(encoding="utf-8"))
    assert data["title"] == "Très à propos"
    assert "Très à propos" in (tmp_path / "leçon" / "tab.txt").read_text(encoding="utf-8")
    wrong = run_there("arrange", "nöne.abc", "--language", "fr")
    assert wrong.returncode == 2
    assert b"n'existe" in wrong.stderr.replace(b"\\u2019", b"'")
