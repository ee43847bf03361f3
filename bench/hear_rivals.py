"""Off-the-shelf trackers on a folder of sounds, run outside the product.

    python bench/hear_rivals.py --install DIR     make an environment with them in a folder
    DIR/bin/python bench/hear_rivals.py SOUNDS    write SOUNDS/*.json beside each SOUNDS/*.wav

swift-f0 0.3 (its own notes), basic-pitch 0.4 (its own notes, from the model as an ONNX file), and pYIN of
librosa 0.11 (notes: its onset detection, and the median pitch from onset to onset where half is voiced).
Each is used with its defaults, but for the pitch range of pYIN (80 to 3000 Hz).
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from pathlib import Path

HEAVY = ("librosa==0.11.0", "onnxruntime", "mir_eval", "pretty_midi", "soundfile", "scipy")
ALONE = ("basic-pitch==0.4.0", "resampy", "swift-f0==0.3.0")  # what they ask for beside is not needed here


def install(folder: Path) -> None:
    subprocess.run([sys.executable, "-m", "venv", str(folder)], check=True)
    pip = [str(folder / "bin" / "python"), "-m", "pip", "install", "--quiet"]
    subprocess.run([*pip, *HEAVY], check=True)
    subprocess.run([*pip, "--no-deps", *ALONE], check=True)


def midi_of(hz):
    import numpy as np

    return 69 + 12 * np.log2(hz / 440)


def swift_f0(array, rate):
    import numpy as np
    from swift_f0 import SwiftF0, segment_notes

    result = SwiftF0(threads=1).detect(array, rate)
    voiced = result.confidence > 0.5
    curve = [
        [float(t), float(midi_of(hz)) if on else None]
        for t, hz, on in zip(result.timestamps, np.maximum(result.pitch_hz, 1), voiced, strict=True)
    ]
    return curve, [[n.start, n.end, float(midi_of(n.pitch_hz))] for n in segment_notes(result)]


def basic_pitch(array, rate, path):
    import contextlib
    import io

    from basic_pitch import ICASSP_2022_MODEL_PATH
    from basic_pitch.inference import Model, predict

    global MODEL  # noqa: PLW0603  loaded once, as a user would
    if MODEL is None:
        MODEL = Model(ICASSP_2022_MODEL_PATH)
    with contextlib.redirect_stdout(io.StringIO()):
        _, _, events = predict(str(path), MODEL)
    return None, sorted([float(start), float(end), float(midi)] for start, end, midi, *_ in events)


MODEL = None


def pyin(array, rate):
    import librosa
    import numpy as np

    low = librosa.resample(array, orig_sr=rate, target_sr=22_050)
    hz, voiced, _ = librosa.pyin(low, fmin=80, fmax=3000, sr=22_050, hop_length=256)
    times = librosa.times_like(hz, sr=22_050, hop_length=256)
    midi = midi_of(np.where(voiced, hz, np.nan))
    onsets = librosa.onset.onset_detect(y=low, sr=22_050, units="time", backtrack=False)
    notes = []
    for start, end in zip(onsets, [*onsets[1:], len(low) / 22_050], strict=True):
        inside = midi[(times >= start) & (times < end)]
        good = inside[~np.isnan(inside)]
        if len(good) and len(good) >= min(len(inside), 20) / 2:
            notes.append([float(start), float(end), float(np.median(good))])
    curve = [[float(t), None if np.isnan(m) else float(m)] for t, m in zip(times, midi, strict=True)]
    return curve, notes


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--install", action="store_true")
    parser.add_argument("--only", action="append", help="one of the trackers; pYIN takes most of the time")
    asked = parser.parse_args()
    if asked.install:
        install(asked.folder)
        return
    import soundfile

    trackers = {
        "swift-f0": lambda array, rate, path: swift_f0(array, rate),
        "basic-pitch": basic_pitch,
        "pYIN": lambda array, rate, path: pyin(array, rate),
    }
    for path in sorted(asked.folder.glob("*.wav")):
        array, rate = soundfile.read(path, dtype="float32")
        found = {}
        for name, track in trackers.items():
            if asked.only and name not in asked.only:
                continue
            began = time.process_time()
            curve, notes = track(array, rate, path)
            found[name] = {"curve": curve, "notes": notes, "seconds": time.process_time() - began}
        path.with_suffix(".json").write_text(json.dumps(found))
        print(path.name, flush=True)


if __name__ == "__main__":
    main()
