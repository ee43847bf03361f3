"""Convention: what players usually choose, beside what is easiest.

The easiest harp for a blues is often one on which its blue notes are plain notes; but players bend them on purpose,
and take the harp for it. A survey therefore adds, per event, a few points for positions that are seldom chosen for a
phrase of that colour, for octaves moved, and for tunings that have to be owned first; and in a blues, a blue note
that is no bend there counts as much as one. All numbers are common practice, in weights.toml, and a line
of a survey says how many points it got for what.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from reedpath.arrange.player import Player, Weights, load_player
from reedpath.harp import Harp, Tuning, load_tuning, position_between
from reedpath.phrase import Phrase

__all__ = ["CUSTOMS", "colour_of", "convention_terms"]

Points: TypeAlias = NDArray[np.float64]

# what holds a line of a survey back, by its name in data and catalogues
CUSTOMS = ("position", "octave", "tuning", "blue_notes")
# semitones above the tonic of the notes that a blues bends: the flat third and the flat fifth (common practice)
BLUE_NOTES = (3, 6)
# semitones above the tonic of the notes that a minor key has and the minor pentatonic and blues scales have not
NOT_BLUES = (2, 8, 9, 11)
# semitones above the key note from which on a phrase lies in the upper octave, where the blown notes bend: hole 7
UPPER_OCTAVE_SEMITONES = 23
# semitones above and below the key note that any harp may have
WIDEST_REACH = 128


def colour_of(phrase: Phrase) -> str | None:
    """
    Colour of a phrase in a key: "blues", "major" or "minor"; None where the key is unknown.

    A phrase is blues where, in a major key, the minor third sounds longer than the major one, or the minor seventh
    is there and the major one is not; or where, in a minor key, it keeps to the minor pentatonic or blues scale:
    with the minor third, and no second, sixth or major seventh (common practice, no source).
    """
    if phrase.key is None:
        return None
    beats = [0.0] * 12
    for event in phrase.events:
        for midi in event.midi:
            beats[(midi - phrase.key.tonic) % 12] += float(event.duration)
    if phrase.key.third == "minor":
        outside = any(beats[interval] for interval in NOT_BLUES)
        return "blues" if beats[3] and not outside else "minor"
    return "blues" if beats[3] > beats[4] or (beats[10] and not beats[11]) else "major"


@lru_cache(maxsize=64)
def _is_plain(tuning: Tuning) -> Points:
    """1 for each pitch that is a natural note of a tuning, from ``-WIDEST_REACH`` semitones above the key note on."""
    plain = np.zeros(2 * WIDEST_REACH)
    for pitch in (*tuning.blow, *tuning.draw):
        plain[WIDEST_REACH + pitch] = 1.0
    return plain


@lru_cache(maxsize=4)
def _blue_notes(phrase: Phrase) -> NDArray[np.intp]:
    """MIDI numbers of the single blue notes of a phrase in a key."""
    tonic = phrase.key.tonic if phrase.key else 0
    tops = [event.midi[0] for event in phrase.events if len(event.midi) == 1]
    return np.array([midi for midi in tops if (midi - tonic) % 12 in BLUE_NOTES], dtype=np.intp)


def convention_terms(
    phrase: Phrase,
    harp: Harp,
    shift_semitones: int,
    weights: Weights,
    *,
    player: Player | None = None,
    colour: str | None = None,
) -> Mapping[str, float]:
    """Points for playing a performed phrase on a harp, moved so far, as far as convention goes, by `CUSTOMS`.

    player : whose bends they are, the default level for None.
    colour : of the phrase, where it is known already (see `colour_of`).
    """
    table, count = weights.custom, len(phrase.events)
    octaves = abs(shift_semitones) // 12
    colour = colour or colour_of(phrase) or "major"
    down = table.blues_down * octaves if colour == "blues" and shift_semitones < 0 else 0.0
    terms = {"octave": (table.octave_shift * octaves * octaves + down) * count}
    if harp.tuning != load_tuning("standard"):
        terms["tuning"] = table.other_tuning * count
    if phrase.key is not None:
        position = position_between(harp.key_midi, phrase.key.moved(shift_semitones).tonic)
        by_position = getattr(table, _habit(phrase, harp, shift_semitones, colour))
        terms["position"] = by_position.get(str(position), by_position["other"]) * count
        if colour == "blues":
            plain = _is_plain(harp.tuning)
            at = _blue_notes(phrase) + (shift_semitones - harp.key_midi + WIDEST_REACH)
            unbent = float(plain[np.clip(at, 0, len(plain) - 1)].sum())
            terms["blue_notes"] = unbent * table.blue_note * (player or load_player()).move_factor
    return terms


def _habit(phrase: Phrase, harp: Harp, shift_semitones: int, colour: str) -> str:
    """Which table of positions holds for a phrase of a colour there."""
    if _is_minor(harp.tuning):
        return "minor_tuning"
    if colour != "blues":
        return colour
    above = _middle(phrase) + shift_semitones - harp.key_midi
    return "blues_above" if above >= UPPER_OCTAVE_SEMITONES else "blues"


@lru_cache(maxsize=4)
def _middle(phrase: Phrase) -> float:
    """MIDI number in the middle of a phrase's notes."""
    return float(np.median([event.midi[-1] for event in phrase.events]))


@lru_cache(maxsize=64)
def _is_minor(tuning: Tuning) -> bool:
    """Whether the blown notes have the minor third of the key note and not the major one."""
    blown = {pitch % 12 for pitch in tuning.blow}
    return 3 in blown and 4 not in blown
