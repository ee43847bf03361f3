"""Convention: what players usually choose, beside what is easiest.

The easiest harp for a blues is often one on which its blue notes are plain notes; but players bend them on purpose,
and take the harp for it. A survey therefore adds, per event, a few points for positions that are seldom chosen for a
phrase of that colour, for octaves moved, and for tunings that have to be owned first. All numbers are common
practice, in weights.toml, and a line of a survey says how many points it got.
"""

from __future__ import annotations

from reedpath.arrange.player import Weights
from reedpath.harp import Harp, Tuning, load_tuning, position_between
from reedpath.phrase import Phrase

__all__ = ["colour_of", "convention_points"]


def colour_of(phrase: Phrase) -> str | None:
    """
    Colour of a phrase in a key: "blues", "major" or "minor"; None where the key is unknown.

    A phrase is blues where, in a major key, the minor third sounds longer than the major one, or the minor seventh
    is there and the major one is not; or where, in a minor key, the flat and the natural fifth are there, and
    neither the second nor the minor sixth (the blues scale; common practice, no source).
    """
    if phrase.key is None:
        return None
    beats = [0.0] * 12
    for event in phrase.events:
        for midi in event.midi:
            beats[(midi - phrase.key.tonic) % 12] += float(event.duration)
    if phrase.key.mode == "minor":
        return "blues" if beats[6] and beats[7] and not beats[2] and not beats[8] else "minor"
    return "blues" if beats[3] > beats[4] or (beats[10] and not beats[11]) else "major"


def convention_points(
    phrase: Phrase, harp: Harp, shift_semitones: int, weights: Weights, *, colour: str | None = None
) -> float:
    """Points for playing a performed phrase on a harp, moved so far, as far as convention goes.

    colour : of the phrase, where it is known already (see `colour_of`).
    """
    table = weights.custom
    octaves = abs(shift_semitones) // 12
    each = table.octave_shift * octaves * octaves
    if harp.tuning != load_tuning("standard"):
        each += table.other_tuning
    if phrase.key is not None:
        position = position_between(harp.key_midi, phrase.key.moved(shift_semitones).tonic)
        by_position = getattr(
            table, "minor_tuning" if _is_minor(harp.tuning) else colour or colour_of(phrase) or "major"
        )
        each += by_position.get(str(position), by_position["other"])
    return each * len(phrase.events)


def _is_minor(tuning: Tuning) -> bool:
    """Whether the blown notes have the minor third of the key note and not the major one."""
    blown = {pitch % 12 for pitch in tuning.blow}
    return 3 in blown and 4 not in blown
