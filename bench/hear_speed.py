"""Speed and memory of hearing: a take, and a file of an hour read in blocks.

    OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 python bench/hear_speed.py [--minutes 60]

The sound is a melody of recorded notes played over and over. The hour is a FLAC file on disk, so that the
peak of memory is that of hearing and not of the sound.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from hear_phrases import melody, players
from reedpath.signal import Samples, concatenated, encode


def peak_mb() -> float:
    status = Path("/proc/self/status").read_text()  # the one measure that starts anew in a child process
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def timed(work) -> float:
    began = time.process_time()
    work()
    return time.process_time() - began


def take() -> None:
    from reedpath.hear import Tracker, hear_notes, track_pitch

    sound = concatenated([melody(players(held_back=True)[0], seconds=12, seed=9).samples] * 5)
    hear_notes(sound.span(0, 2), chords=True)
    for name, work in (
        ("pitch curve", lambda: track_pitch(sound)),
        ("notes", lambda: hear_notes(sound)),
        ("notes and double stops", lambda: hear_notes(sound, chords=True)),
    ):
        print(f"{name}: {sound.duration_seconds / timed(work):.0f} times faster than real time")

    def live() -> None:
        tracker = Tracker(sound.rate)
        for start in range(0, sound.frames, 512):
            tracker.feed(sound.array[start : start + 512, 0])

    print(f"live, blocks of 512 frames: {sound.duration_seconds / timed(live):.0f} times faster than real time")


def long_file(path: Path) -> None:
    from reedpath.hear import curve_of, notes_of, observe
    from reedpath.signal import open_blocks

    began, before = time.process_time(), peak_mb()
    with open_blocks(path) as blocks:
        seen = observe(blocks)
    notes = notes_of(seen, curve_of(seen))
    spent = time.process_time() - began
    print(
        f"{seen.duration_seconds / 60:.0f} minutes from {path.stat().st_size / 1e6:.0f} MB: {len(notes)} notes, "
        f"{seen.duration_seconds / spent:.0f} times faster than real time, memory {before:.0f} to {peak_mb():.0f} MB"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--file", type=Path, help="hear this file only")
    asked = parser.parse_args()
    if asked.file:
        long_file(asked.file)
        return
    take()
    with tempfile.TemporaryDirectory() as folder:
        one = melody(players(held_back=True)[0], seconds=60, seed=3).samples
        for minutes in (asked.minutes / 6, asked.minutes):
            path = Path(folder) / f"{minutes:.0f}.flac"
            whole = concatenated([one] * round(minutes))
            path.write_bytes(encode(Samples(whole.array, whole.rate), format="flac", bits=16))
            del whole
            subprocess.run([sys.executable, __file__, "--file", path], check=True)


if __name__ == "__main__":
    main()
