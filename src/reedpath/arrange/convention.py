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

import numpy as np
from msgspec import Struct

from reedpath.arrange.player import ConventionWeights, Player, Weights
from reedpath.harp import Harp, Tuning, load_tuning, position_between
from reedpath.phrase import Phrase
from reedpath.pitch import Key

# what holds a line of a survey back, by its name in data and catalogues
CUSTOMS = ("position", "octave", "tuning", "blue_notes")
# semitones above the tonic of the notes that a blues bends: the flat third and the flat fifth (common practice)
BLUE_NOTES = (3, 6)
# semitones above the tonic of the notes that a minor key has and the minor pentatonic and blues scales have not
NOT_BLUES = (2, 8, 9, 11)
# semitones above the key note from which on a phrase lies in the upper octave, where the blown notes bend: hole 7
UPPER_OCTAVE_SEMITONES = 23


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
def _plain_notes(tuning: Tuning) -> frozenset[int]:
    """The natural notes of a tuning, semitones above the key note."""
    return frozenset((*tuning.blow, *tuning.draw))


@lru_cache(maxsize=64)
def _is_minor(tuning: Tuning) -> bool:
    """Whether the blown notes have the minor third of the key note and not the major one."""
    blown = {pitch % 12 for pitch in tuning.blow}
    return 3 in blown and 4 not in blown


class Convention(Struct, frozen=True):
    """What convention looks at in a performed phrase, whatever the harp.

    key : the phrase's, None where it is unknown.
    count : events.
    colour : see `colour_of`; "major" where the key is unknown.
    blue_notes : MIDI numbers of the single blue notes.
    middle : MIDI number in the middle of the notes.
    weights : points of each custom.
    blue_note : points of a blue note that is no bend, for this player.
    """

    key: Key | None
    count: int
    colour: str
    blue_notes: tuple[int, ...]
    middle: float
    weights: ConventionWeights
    blue_note: float

    def terms(self, harp: Harp, shift_semitones: int) -> Mapping[str, float]:
        """Points for playing the phrase on a harp, moved so far, by `CUSTOMS`."""
        table, octaves = self.weights, abs(shift_semitones) // 12
        down = table.blues_down * octaves if self.colour == "blues" and shift_semitones < 0 else 0.0
        terms = {"octave": (table.octave_shift * octaves * octaves + down) * self.count}
        if harp.tuning != load_tuning("standard"):
            terms["tuning"] = table.other_tuning * self.count
        if self.key is not None:
            position = position_between(harp.key_midi, self.key.moved(shift_semitones).tonic)
            by_position = getattr(table, self._habit(harp, shift_semitones))
            terms["position"] = by_position.get(str(position), by_position["other"]) * self.count
            if self.colour == "blues":
                plain, up = _plain_notes(harp.tuning), shift_semitones - harp.key_midi
                terms["blue_notes"] = float(sum(midi + up in plain for midi in self.blue_notes)) * self.blue_note
        return terms

    def _habit(self, harp: Harp, shift_semitones: int) -> str:
        """Which table of positions holds for the phrase there."""
        if _is_minor(harp.tuning):
            return "minor_tuning"
        if self.colour != "blues":
            return self.colour
        above = self.middle + shift_semitones - harp.key_midi
        return "blues_above" if above >= UPPER_OCTAVE_SEMITONES else "blues"


def convention_of(phrase: Phrase, player: Player, weights: Weights) -> Convention:
    """What convention looks at in a performed phrase with events, for a player."""
    tonic = phrase.key.tonic if phrase.key else 0
    tops = [event.midi[0] for event in phrase.events if len(event.midi) == 1]
    return Convention(
        key=phrase.key,
        count=len(phrase.events),
        colour=colour_of(phrase) or "major",
        blue_notes=tuple(midi for midi in tops if (midi - tonic) % 12 in BLUE_NOTES),
        middle=float(np.median([event.midi[-1] for event in phrase.events])),
        weights=weights.custom,
        blue_note=weights.custom.blue_note * player.move_factor,
    )
