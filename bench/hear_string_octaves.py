"""Octaves struck on two strings: how often they are told from one string alone, and the weights.

    python bench/hear_string_octaves.py              told and false, of each voice kept back, by the weights that ship
    python bench/hear_string_octaves.py --left-out   the same of the others, each source left out of a fit in turn
    python bench/hear_string_octaves.py --double-stops   of hear_accuracy.py's double stops, and of plucked melodies
    python bench/hear_string_octaves.py --fit > src/reedpath/hear/string_octaves.toml

Single notes and octaves of 0.25 to 0.8 s, glued as in hear_phrases.py: the upper note up to 12 ms later, 6 dB softer
to 4 dB louder; in half of the sounds each note is out of tune by itself (standard deviation 4 cents, ours). "Told":
of the octaves of which hearing finds the lower note, alone or with its octave, those that are written as two; "or
marked": those too that are marked as perhaps one; "--octaves": what is written where the person says that octaves are
played. "False": the same of single notes.

Banks are named in hear_sound.py and hear_record_sounds.py. `KEPT_BACK` shares no voice with `VOICES`, and its last
four no bank.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from hear_accuracy import STRUNG, note_scores
from hear_phrases import CONDITIONS as PHRASE_CONDITIONS
from hear_phrases import Plan, Player, double_stops, glue, melody, players, under
from hear_record_sounds import lead_notes
from hear_sound import Recording, bank_notes, open_strings, patch_notes, played_notes
from reedpath.hear import hear_notes, observe
from reedpath.hear.double_stops import OCTAVE, OCTAVE_DOUBTFUL_ODDS, OCTAVE_EVEN_ODDS, OCTAVE_ODDS, pitches_between
from reedpath.hear.harmonic import partials_between
from reedpath.hear.string_octaves import STRING_CLUES, StringOctaveWeights, string_clues
from reedpath.hear.weights import read_weights

SECONDS, SOUNDS = 12.0, 5
# seconds of a note, and from its end to the next; share of octaves in a sound
LENGTHS, BETWEEN, SHARES = (0.25, 0.35, 0.5, 0.5, 0.8), 0.1, (0.15, 0.4, 0.8)
# each sound is heard clean, and so
CONDITIONS = ("room", "phone", "backing", "hum", "room")
# semitones by which a note is out of tune, and a pitch that was found may miss the note's
OUT_OF_TUNE, SAME = 0.04, 0.7


@dataclass(frozen=True)
class StringVoice:
    """A plucked voice: its source, its notes, lowest and highest MIDI number."""

    source: str
    name: str
    notes: Callable[[], tuple[Recording, ...]]
    low: int = 43
    high: int = 76


def _program(bank: str, program: int) -> StringVoice:
    if bank == "patch":
        return StringVoice(bank, f"patch {program}", lambda: patch_notes(program))
    return StringVoice(bank, f"{bank} {program}", lambda: lead_notes(bank, program))


def _played(name: str) -> StringVoice:
    return StringVoice("played", name, lambda: played_notes(name), 42)


VOICES = (
    StringVoice("fluid", "fluid steel", lambda: bank_notes("Steel String Guitar"), 40),
    StringVoice("wood", "wood", lambda: open_strings("Wood"), 40, 69),
    StringVoice("fluid", "fluid jazz", lambda: bank_notes("Jazz Guitar"), 45),
    StringVoice("fluid", "fluid dist", lambda: bank_notes("Distortion Guitar"), 45),
    *(_played(name) for name in ("guitar-acoustic", "guitar-electric", "guitar-nylon")),
    *(_program("patch", program) for program in (24, 25, 26, 27, 29, 30)),
    *(_program("general", program) for program in (24, 25, 26, 27, 29, 30)),
    *(_program("tim", program) for program in (24, 25, 26, 27, 29)),
)
KEPT_BACK = (
    StringVoice("kept", "carbon", lambda: open_strings("Carbon"), 40, 69),
    StringVoice("kept", "fluid nylon", lambda: bank_notes("Nylon Guitar"), 40),
    StringVoice("kept", "fluid clean", lambda: bank_notes("Clean Guitar"), 45),
    StringVoice("kept", "fluid over", lambda: bank_notes("Overdrive Guitar"), 45),
    *(_program("csound", program) for program in (24, 25, 27, 29)),
)


@dataclass(frozen=True)
class OctaveRow:
    """A strike as it was heard: its voice, whether it is an octave, its clues."""

    voice: StringVoice
    octave: bool
    clues: np.ndarray


def _strikes(voice: StringVoice, seed: int) -> tuple[list[Plan], list[tuple[float, float, int, bool]]]:
    rng = np.random.default_rng([seed, 31, *voice.name.encode()])
    in_tune, share = rng.random() < 0.5, rng.choice(SHARES)

    def tuned() -> list[tuple[float, float]]:
        semitones = 0.0 if in_tune else float(rng.normal(0, OUT_OF_TUNE))
        return [(0.0, semitones), (3.0, semitones)]

    plans, truth, at = [], [], 0.25
    while at < SECONDS - 0.8:
        length, octave = float(rng.choice(LENGTHS)), bool(rng.random() < share)
        low = int(rng.integers(voice.low, voice.high + 1 - (OCTAVE if octave else 0)))
        plans.append(Plan(at, length, low, offsets=tuned(), decibels=rng.uniform(-6, 0)))
        if octave:
            decibels = plans[-1].decibels
            late = rng.uniform(0, 0.012)
            upper = Plan(at + late, length, low + OCTAVE, offsets=tuned(), decibels=decibels + rng.uniform(-6, 4))
            plans.append(upper)
        truth.append((at, at + length, low, octave))
        at += length + BETWEEN
    return plans, truth


def _rows_of(voice: StringVoice) -> Iterator[OctaveRow]:
    player = Player(voice.name, voice.notes(), voice.low, voice.high, release_seconds=0.04, ring_seconds=0.04)
    for seed in range(SOUNDS):
        plans, truth = _strikes(voice, seed)
        plain = glue(player, plans, SECONDS, voice.name)
        for condition in ("clean", CONDITIONS[seed]):
            seen = observe(under(plain, condition, seed=seed).samples, chords=True)
            for start, end, low, octave in truth:
                pitches = [midi for midi, _ in pitches_between(seen, start, end)]
                lower = bool(pitches) and abs(pitches[0] - low) < SAME
                pair = len(pitches) == 2 and abs(pitches[1] - low - OCTAVE) < SAME
                if lower and (len(pitches) == 1 or pair):
                    partials = partials_between(seen, start, end)
                    yield OctaveRow(voice, octave, string_clues(*partials, pitches[0], found=pair))


def _rows(voices: tuple[StringVoice, ...]) -> list[OctaveRow]:
    rows = []
    for voice in voices:
        rows += _rows_of(voice)
        print(f"{voice.name}: {len(rows)} strikes", file=sys.stderr)
    return rows


def _fitted(rows: list[OctaveRow]) -> np.ndarray:
    """Weights of a logistic regression in which octaves and single notes count alike."""
    x, y = np.array([row.clues for row in rows]), np.array([float(row.octave) for row in rows])
    share = np.where(y > 0, 0.5 / y.mean(), 0.5 / (1 - y.mean()))

    def loss(weights):
        odds = x @ weights
        return np.mean(share * (np.logaddexp(0, odds) - y * odds)) + 1e-3 * np.square(weights[1:]).sum()

    return minimize(loss, np.zeros(x.shape[1]), method="BFGS").x


def _cells(odds: np.ndarray, octave: np.ndarray) -> str:
    least = (OCTAVE_ODDS, OCTAVE_DOUBTFUL_ODDS, OCTAVE_EVEN_ODDS)
    told = [f"{(odds[octave] > one).mean():.0%}" for one in least]
    false = [f"{(odds[~octave] > one).mean():.1%}" for one in least]
    return " | ".join([*told, *false, str(octave.sum()), str((~octave).sum())])


def table(rows: list[OctaveRow], odds: np.ndarray) -> None:
    print("| | told | or marked | --octaves | false | or marked | --octaves | octaves | single notes |")
    print("|---|---|---|---|---|---|---|---|---|")
    octave, names = np.array([row.octave for row in rows]), np.array([row.voice.name for row in rows])
    for name in dict.fromkeys(names):
        of = names == name
        print(f"| {name} | {_cells(odds[of], octave[of])} |")
    print(f"| all | {_cells(odds, octave)} |")


def _pitches_at(onsets: list[tuple[float, int]]) -> dict[float, set[int]]:
    """MIDI numbers of what begins together, within 30 ms, by when it begins."""
    found: dict[float, set[int]] = {}
    for start, midi in sorted(onsets):
        last = max(found, default=-1.0)
        found.setdefault(last if start - last < 0.03 else start, set()).add(midi)
    return found


def count_double_stops() -> None:
    """Octaves and single notes among double stops."""
    count: Counter[str] = Counter()
    for player in (player for player in players(held_back=True) if player.name in STRUNG):
        for seed in (101, 102):
            stops = double_stops(player, seconds=12.0, seed=seed)
            for condition in PHRASE_CONDITIONS:
                specimen = under(stops, condition, seed=seed)
                notes = hear_notes(specimen.samples, chords=True)
                for at, true in _pitches_at([(note.start, round(note.midi)) for note in specimen.notes]).items():
                    near = {note.midi for note in notes if abs(note.start_seconds - at) < 0.05}
                    told, low = {min(true), min(true) + OCTAVE} <= near, min(true)
                    if len(true) == 1:
                        count.update({"single notes": 1, "of them given their octave": int(told)})
                    elif true == {low, low + OCTAVE}:
                        count.update({"octaves": 1, "of them told": int(told)})
    for name, number in count.items():
        print(f"{name}: {number}")


def count_melodies() -> None:
    """F of plucked melodies in which notes may sound together, and how often some are heard to."""
    print("| melodies, several at once allowed | F | notes | heard as several |")
    print("|---|---|---|---|")
    scores: dict[str, Counter[str]] = defaultdict(Counter)
    for player in players(held_back=True):
        if "strings" not in player.name and "guitar" not in player.name:
            continue
        for seed in (101, 102):
            line = melody(player, seconds=15.0, seed=seed)
            for condition in ("clean", "room", "phone"):
                specimen = under(line, condition, seed=seed)
                notes = hear_notes(specimen.samples, chords=True)
                spans = [[note.start_seconds, note.end_seconds, note.pitch_midi] for note in notes]
                score = note_scores(specimen, spans)
                several = sum(number > 1 for number in Counter(note.start_seconds for note in notes).values())
                for name in (player.name, "all"):
                    scores[name].update({key: score[key] for key in ("true", "found", "right")}, several=several)
    for name in (*(name for name in scores if name != "all"), "all"):
        of = scores[name]
        print(f"| {name} | {2 * of['right'] / (of['true'] + of['found']):.3f} | {of['true']} | {of['several']} |")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument(
        "--fit", action="store_true", help="print weights fitted on all voices that are not kept back"
    )
    parser.add_argument("--left-out", action="store_true", help="leave each source of these out of a fit in turn")
    parser.add_argument("--double-stops", action="store_true", help="count octaves among double stops")
    asked = parser.parse_args()
    if asked.double_stops:
        count_double_stops()
        count_melodies()
        return
    rows = _rows(VOICES if asked.fit or asked.left_out else KEPT_BACK)
    if asked.fit:
        print("# Log odds that the octave of a plucked note sounds with it, for each clue (see string_octaves.py).")
        print("# Fitted by bench/hear_string_octaves.py; do not edit by hand.\n")
        for clue, weight in zip(STRING_CLUES, _fitted(rows), strict=True):
            print(f"{clue} = {weight:.4f}")
        return
    clues = np.array([row.clues for row in rows])
    if not asked.left_out:
        table(rows, clues @ read_weights("string_octaves.toml", StringOctaveWeights))
        return
    odds = np.zeros(len(rows))
    for source in dict.fromkeys(voice.source for voice in VOICES):
        out = np.array([row.voice.source == source for row in rows])
        odds[out] = clues[out] @ _fitted([row for row, is_out in zip(rows, out, strict=True) if not is_out])
    table(rows, odds)


if __name__ == "__main__":
    main()
