"""Measure the recorded harmonica notes of FluidR3_GM.sf2, and how near the voice comes to them.

    python bench/harmonica_spectrum.py            the table of docs/sound.md
    python bench/harmonica_spectrum.py --levels   the [[note]] tables of src/reedpath/sound/voice.toml

The bank is read where it is installed (Debian: fluid-soundfont-gm); no sound of it is kept.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from msgspec.structs import replace

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from reedpath.harp import Breath
from reedpath.pitch import midi_to_hz
from reedpath.sound import Attack, Contour, Tone, render_tones
from reedpath.sound.voice_data import NoteLevels, VoiceData, load_voice
from support.sample_bank import Recorded, harmonic_levels_db, read_harmonica, steady_part

RATE = 44_100
# harmonics compared; the highest frequency at which the recordings hold something, hertz
COMPARED, HIGHEST_HZ = 12, 14_000.0
# decibels under the note at which a harmonic counts as absent
ABSENT_DB = -75.0


def voiced(midi: float, breath: Breath, data: VoiceData, seconds: float = 0.4) -> np.ndarray:
    hz = midi_to_hz(midi)
    tone = Tone(0.1, 0.1 + seconds, Contour((0.1,), (hz,)), hz, breath, attack=Attack.TURNED)
    return render_tones([tone], seconds=seconds + 0.2, data=data)[int(0.085 * RATE) :].astype(np.float64)


def distance_db(note: Recorded, data: VoiceData) -> float:
    """Mean distance over harmonics, blow and draw, both notes being equally loud."""
    hz = midi_to_hz(note.midi)
    want = harmonic_levels_db(steady_part(note.samples), note.rate, hz, count=COMPARED)
    found = []
    for breath in Breath:
        sound = voiced(note.midi, breath, data)[: int(0.4 * RATE)]
        have = harmonic_levels_db(steady_part(sound), RATE, hz, count=COMPARED)
        known = np.isfinite(want) & (np.arange(1, COMPARED + 1) * hz < HIGHEST_HZ)
        apart = (have - want)[known]
        found.append(np.abs(apart - apart.mean()).mean())
    return float(np.mean(found))


def rise_ms(sound: np.ndarray, rate: int, hz: float) -> float:
    width = max(int(2 * rate / hz), int(0.004 * rate))
    level = np.sqrt(np.convolve(sound**2, np.ones(width) / width, "same"))
    held = np.median(level[int(0.08 * rate) : int(0.15 * rate)])
    return float(1000 * (np.argmax(level > 0.9 * held) - np.argmax(level > 0.1 * held)) / rate)


def noise_db(sound: np.ndarray, rate: int, hz: float) -> float:
    size = 1 << 17
    power = np.abs(np.fft.rfft(sound * np.blackman(len(sound)), size)) ** 2
    axis = np.fft.rfftfreq(size, 1 / rate)
    away = np.abs((axis / hz + 0.5) % 1.0 - 0.5) * hz > 60.0
    return float(10 * np.log10(power[away & (axis > 60) & (axis < 8000)].sum() / power.sum()))


def levels_of(note: Recorded) -> np.ndarray:
    hz = midi_to_hz(note.midi)
    count = min(40, int(HIGHEST_HZ / hz))
    levels = harmonic_levels_db(steady_part(note.samples), note.rate, hz, count=count)
    return np.maximum(levels - 10 * np.log10(np.nansum(10 ** (levels / 10))), ABSENT_DB)


def print_levels(notes: list[Recorded]) -> None:
    for note in notes:
        row = ", ".join(f"{level:.1f}" for level in levels_of(note))
        print(f"[[note]]\nmidi = {note.midi}\nlevels_db = [{row}]\n")


def print_table(notes: list[Recorded]) -> None:
    data = load_voice()
    even = tuple(-6.0 * float(np.log2(number)) for number in range(1, 41))
    first_guess = replace(data, notes=tuple(NoteLevels(note.midi, even) for note in data.notes))
    heads = ["MIDI", "first guess", "fitted", "from its neighbours", "rise, recorded", "rise, ours"]
    heads += ["noise, recorded", "noise, ours"]
    print("| " + " | ".join(heads) + " |")
    print("|---|---|---|---|---|---|---|---|")
    columns = []
    for note in notes:
        hz = midi_to_hz(note.midi)
        others = replace(data, notes=tuple(one for one in data.notes if one.midi != note.midi))
        row = [distance_db(note, one) for one in (first_guess, data, others)]
        long = [voiced(note.midi, breath, data, 1.0) for breath in Breath]
        row += [rise_ms(note.samples, note.rate, hz), float(np.mean([rise_ms(x, RATE, hz) for x in long]))]
        row += [noise_db(steady_part(note.samples), note.rate, hz)]
        row += [float(np.mean([noise_db(x[9000:40_000], RATE, hz) for x in long]))]
        columns.append(row)
        print(f"| {note.midi} |" + " |".join(_cells(row)) + " |")
    print("| mean |" + " |".join(_cells(list(np.mean(columns, axis=0)))) + " |")


def _cells(row: list[float]) -> list[str]:
    units = ["dB", "dB", "dB", "ms", "ms", "dB", "dB"]
    return [f" {value:.1f} {unit}" for value, unit in zip(row, units, strict=True)]


if __name__ == "__main__":
    recorded = read_harmonica()
    if "--levels" in sys.argv[1:]:
        print_levels(recorded)
    else:
        print_table(recorded)
