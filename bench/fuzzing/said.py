"""What is said after a command: its options and their values, through the command line itself.

An input is a command line, one word on each line. The words SOURCE, TAKE and LESSON stand for files; what would write
files does so into a folder of its own.
"""

from __future__ import annotations

import io
import os
import shutil
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from functools import cache
from pathlib import Path

from fuzzing import media, seeds
from fuzzing.kinds import Target
from fuzzing.mutation import Change, Changer, flip
from reedpath.cli.entry import CANNOT, _run
from reedpath.errors import ReedpathError
from reedpath.signal import encode

# commands that write nothing, and those that write where they are told
READING, WRITING = ("survey", "arrange", "harp", "transcribe", "align", "list"), ("slow", "lesson")
LINES = (
    "survey SOURCE --owned A,C --bars 1-2 --tempo 100 --key E --top 3 --level easy",
    "survey SOURCE --owned C --tuning standard --choose tune=1 --format abc --shift 12",
    "survey SOURCE --owned C --draw-bends 2 --blow-bends 0 --no-splits --json",
    "arrange SOURCE --harp A --notation sign --language fr --why",
    "arrange SOURCE --harp C --shift -12 --tuning natural-minor-first",
    "arrange SOURCE --owned C --choose tune=1 --lead --bars 2 --position 2",
    "harp C --positions --temperament equal --a4 440 --stretch 2 --notation arrow --language en",
    "harp Low\xa0F --tuning circular --temperament 7-limit-second --json",
    "transcribe TAKE --from 0 --until 0.2 --tempo 90 --key Am --chords",
    "transcribe TAKE --harp A --tuning standard --temperament equal --a4 442",
    "slow TAKE --to 0.5 --from 0 --until 0.1",
    "slow TAKE --to 1/3 --from 0:00 --until 0:00.2",
)
VALUES = (
    "-1",
    "0",
    "1",
    "13",
    "999",
    "1e9",
    "1e400",
    "nan",
    "inf",
    "9" * 4_301,
    "1/0",
    "0/0",
    "100%",
    "1:99:99.9",
    "5-8",
    "8-5",
    "0-0",
    "99999-99999",
    "part=2",
    "tune=²",
    "voice=",
    "=1",
    "track=" + "9" * 4_301,
    "x" * 5_000,
    "\ud800",
    "\udcff",
    "\x1b[31m",
    "\x00",
    "AC\\DC",
    "Low F",
    "High High G",
    "la grave",
    "sol majeur",
    "E## major",
    "Cbbbbb",
    "C" + "#" * 500,
    "A,,,",
    ",",
    "",
    " ",
    "-",
    "--",
    "*",
    ".",
    "..",
    "/",
    "/dev/null",
    "~",
    "all",
    "auto",
    "none",
    "en",
    "fr,en",
    "٣",
    "½",
    "0x10",
    "1_0",
    "+5",
    "-0.0",
    "5,5",
    "sign",
    "own.toml",
    "midi",
    "phrase-json",
    "A, C, Low F",
    "Low Low",
    "first-months",
    "advanced",
    "1.5",
    "-24",
    "36",
    "37",
)


def a_value(data: bytes, at: Changer) -> bytes:
    """Another value in the place of one."""
    words = data.split(b"\n")
    place = at.draw.randrange(1, len(words)) if len(words) > 1 else 0
    new = at.draw.choice(VALUES).encode("utf-8", "surrogatepass") if at.draw.random() < 0.7 else at.text()
    words[place] = new.replace(b"\n", b" ")
    return b"\n".join(words)


def an_option(data: bytes, at: Changer) -> bytes:
    """An option of another line, with its value; or one away."""
    words = data.split(b"\n")
    other = at.draw.choice(at.others).split(b"\n")
    start = at.draw.randrange(len(other))
    if at.draw.random() < 0.3 and len(words) > 2:
        del words[at.draw.randrange(1, len(words))]
        return b"\n".join(words)
    return b"\n".join((*words, *other[start : start + 2]))


CHANGES: tuple[Change, ...] = (a_value, a_value, a_value, an_option, flip)


@cache
def folder() -> Path:
    """What the words for files stand for."""
    made = Path(tempfile.mkdtemp(prefix="reedpath-fuzz-"))
    (made / "tune.abc").write_bytes(seeds.example("orchard-gate.abc"))
    (made / "take.wav").write_bytes(encode(media.tone(), bits=16))
    (made / "lesson.json").write_bytes(seeds.lessons()[0])
    (made / "user").mkdir()
    return made


def run_line(data: bytes) -> str:
    """The answer of a command line; an error of ours where it says why not."""
    words = [os.fsdecode(word.replace(b"\0", b"")) for word in data.split(b"\n")]
    if words[0] not in (*READING, *WRITING):
        words[0] = "survey"
    words = [word for word in words if not word.startswith(("--out", "--install", "--replace"))]
    where = folder()
    stands = {"SOURCE": "tune.abc", "TAKE": "take.wav", "LESSON": "lesson.json"}
    words = [str(where / stands[word]) if word in stands else word for word in words]
    if words[0] in WRITING:
        words += ["--out", str(where / "out" / "out.wav")]
    here = Path.cwd()
    os.environ["REEDPATH_FOLDER"] = str(where / "user")
    told = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    said = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="backslashreplace")
    try:
        os.chdir(where)
        with redirect_stdout(told), redirect_stderr(said):
            status = _run(words)
            told.flush()
            said.flush()
    finally:
        os.chdir(here)
        shutil.rmtree(where / "out", ignore_errors=True)
    if status == CANNOT:
        raise ReedpathError("readers.empty")
    return str(status)


SAID = Target(
    "options of commands",
    lambda: tuple("\n".join(line.split(" ")).encode() for line in LINES),
    CHANGES,
    run_line,
    lambda *_: None,
    slow=True,
)
