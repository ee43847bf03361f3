"""Measure the recorded harmonica notes of FluidR3_GM.sf2, and how near the voice comes to them.

    python bench/harmonica_spectrum.py            the table of docs/sound.md
    python bench/harmonica_spectrum.py --levels   the [[note]] tables of src/reedpath/sound/voice.toml
    python bench/harmonica_spectrum.py --sampled  the voice and the plain sampled harmonicas of two banks

The bank is read where it is installed (Debian: fluid-soundfont-gm); no sound of it is kept.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import parselmouth
from msgspec.structs import replace
from scipy.interpolate import CubicSpline

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from reedpath.harp import Breath
from reedpath.pitch import midi_to_hz
from reedpath.sound import Attack, Contour, Tone, render_tones
from reedpath.sound.band.sampler import sample_note
from reedpath.sound.band.soundfont import open_bank
from reedpath.sound.voice_data import NoteLevels, VoiceData, load_voice
from support.sample_bank import FLUID_BANK, Recorded, harmonic_levels_db, read_harmonica, steady_part

RATE = 44_100
WHEEL_BANK = Path(importlib.util.find_spec("pretty_midi").submodule_search_locations[0]) / "TimGM6mb.sf2"
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


# --------------------------------------------------------------------------- against plain sampled harmonicas

# General MIDI program of the harmonica, counted from 0
HARMONICA = 22
# how hard a sampled note is played (MIDI velocity) for the voice's forces, from soft to hard
FORCES = ((0.3, 45), (0.7, 85), (1.0, 120))
SAMPLED_SECONDS = 1.0


def banked(bank: Path, midi: float, velocity: int = 85) -> np.ndarray:
    """A note as a bank's harmonica plays it; between keys it is played faster or slower, as a pitch wheel does."""
    key = round(midi)
    made = sample_note(
        open_bank(bank),
        HARMONICA,
        key,
        velocity,
        round(1000 * SAMPLED_SECONDS),
        a4_hz=440.0 * 2 ** ((midi - key) / 12),
    )
    return np.asarray(made.sound.mean(axis=1), dtype=np.float64)


def transposed(note: Recorded, midi: float) -> np.ndarray:
    """A recording played faster or slower until it has another pitch, as a bank does between its samples."""
    ratio = 2.0 ** ((midi - note.midi) / 12) * note.rate / RATE
    places = np.arange(0.0, len(note.samples) - 1, ratio)
    return np.asarray(CubicSpline(np.arange(len(note.samples)), note.samples)(places))


def spectrum_of(sound: np.ndarray, rate: int, hz: float) -> np.ndarray:
    return harmonic_levels_db(steady_part(sound), rate, hz, count=COMPARED)


def apart_db(have: np.ndarray, want: np.ndarray, hz: float) -> float:
    known = np.isfinite(want) & np.isfinite(have) & (np.arange(1, COMPARED + 1) * hz < HIGHEST_HZ)
    apart = (have - want)[known]
    return float(np.abs(apart - apart.mean()).mean())


def tilt_db(levels: np.ndarray) -> float:
    """Decibels an octave by which the harmonics climb or fall."""
    known = np.isfinite(levels)
    return float(np.polyfit(np.log2(np.arange(1, COMPARED + 1))[known], levels[known], 1)[0])


def pitch_course(sound: np.ndarray, rate: int, hz: float) -> tuple[float, float, float]:
    """Cents by which a note starts flat (in its first 20 ms), wanders when held, and is out of tune."""
    pitch = parselmouth.Sound(sound, rate).to_pitch_ac(time_step=0.002, pitch_floor=0.6 * hz, pitch_ceiling=1.7 * hz)
    found = pitch.selected_array["frequency"]
    heard = np.flatnonzero(found > 0)
    level = np.abs(sound)
    begins = np.argmax(level > 0.3 * level.max()) / rate
    cents = 1200 * np.log2(found[heard] / hz)
    times = pitch.xs()[heard]
    held = cents[(times > begins + 0.15) & (times < begins + 0.6)]
    start = cents[(times >= begins) & (times < begins + 0.02)]
    middle = float(np.median(held))
    return middle - float(start.min()) if len(start) else float("nan"), float(held.std()), abs(middle)


def sampled_rows(notes: list[Recorded]) -> dict[str, list[float]]:
    """What is measured of the recordings, the voice, their neighbours transposed, and the other bank's harmonica."""
    data = load_voice()
    table: dict[str, list[float]] = {}
    for place, note in enumerate(notes):
        hz = midi_to_hz(note.midi)
        near = min(
            (one for other, one in enumerate(notes) if other != place), key=lambda one: abs(one.midi - note.midi)
        )
        others = replace(data, notes=tuple(one for one in data.notes if one.midi != note.midi))
        sounds = {
            "recorded": (note.samples, note.rate),
            "voice": (voiced(note.midi, Breath.DRAW, data, SAMPLED_SECONDS), RATE),
            "sampled, FluidR3": (transposed(near, note.midi), RATE),
            "sampled, TimGM6mb": (banked(WHEEL_BANK, note.midi), RATE),
        }
        want = spectrum_of(note.samples, note.rate, hz)
        for name, (sound, rate) in sounds.items():
            told = voiced(note.midi, Breath.DRAW, others, SAMPLED_SECONDS) if name == "voice" else sound
            row = [
                apart_db(spectrum_of(told, rate, hz), want, hz),
                rise_ms(sound, rate, hz),
                noise_db(steady_part(sound), rate, hz),
                *pitch_course(sound, rate, hz),
            ]
            table.setdefault(name, []).append(row)
    return {name: list(np.nanmean(rows, axis=0)) for name, rows in table.items()}


def change_rows(notes: list[Recorded]) -> dict[str, tuple[float, float]]:
    """Decibels an octave by which a hard note is brighter than a soft one, and a bent one than its reed."""
    found: dict[str, list[tuple[float, float]]] = {}
    for note in notes:
        hz, bent = midi_to_hz(note.midi), midi_to_hz(note.midi - 2)

        def voice(force: float, sounding: float, hz: float = hz) -> np.ndarray:
            tone = Tone(0.1, 1.1, Contour((0.1,), (sounding,)), hz, Breath.DRAW, force=force, attack=Attack.TURNED)
            return render_tones([tone], seconds=1.3)[int(0.085 * RATE) :].astype(np.float64)

        soft, plain, hard = (voice(force, hz) for force, _ in FORCES)
        ways = {"voice": (soft, plain, hard, voice(0.7, bent))}
        for name, bank in (("sampled, FluidR3", FLUID_BANK), ("sampled, TimGM6mb", WHEEL_BANK)):
            played = [banked(bank, note.midi, velocity) for _, velocity in FORCES]
            # a bend is the pitch wheel: the same sample, slower
            wheel = transposed(Recorded(note.midi, played[1], RATE), note.midi - 2)
            ways[name] = (*played, wheel)
        for name, (a, b, c, d) in ways.items():
            force = tilt_db(spectrum_of(c, RATE, hz)) - tilt_db(spectrum_of(a, RATE, hz))
            bend = tilt_db(spectrum_of(d, RATE, bent)) - tilt_db(spectrum_of(b, RATE, hz))
            found.setdefault(name, []).append((force, bend))
    return {name: tuple(np.mean(rows, axis=0)) for name, rows in found.items()}


def print_sampled(notes: list[Recorded]) -> None:
    rows, changes = sampled_rows(notes), change_rows(notes)
    print("| | " + " | ".join(rows) + " |\n|---|" + "---|" * len(rows))
    names = ["spectrum, from the recorded one", "rise", "noise", "starts flat by", "wanders by", "out of tune by"]
    for place, (name, unit) in enumerate(zip(names, ["dB", "ms", "dB", "cents", "cents", "cents"], strict=True)):
        print(f"| {name} | " + " | ".join(f"{row[place]:.1f} {unit}" for row in rows.values()) + " |")
    for place, name in enumerate(["a hard note brighter than a soft one by", "a bend of two semitones brighter by"]):
        cells = (f"{changes[one][place]:+.1f} dB an octave" if one in changes else "" for one in rows)
        print(f"| {name} | " + " | ".join(cells) + " |")


def _cells(row: list[float]) -> list[str]:
    units = ["dB", "dB", "dB", "ms", "ms", "dB", "dB"]
    return [f" {value:.1f} {unit}" for value, unit in zip(row, units, strict=True)]


if __name__ == "__main__":
    recorded = read_harmonica()
    if "--levels" in sys.argv[1:]:
        print_levels(recorded)
    elif "--sampled" in sys.argv[1:]:
        print_sampled(recorded)
    else:
        print_table(recorded)
