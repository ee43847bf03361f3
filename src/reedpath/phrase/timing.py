"""Timing: beats of a performed phrase to seconds and back, tempo changes and swing included.

Swing is written straight and played long and short: the first half of a beat takes ``swing`` times as long
as the second. A beat that holds a triplet is played as it is written, for its notes already say where they
fall (common practice, no source).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from reedpath.errors import PhraseError
from reedpath.phrase.events import Phrase, Tempo
from reedpath.phrase.swing import straightened, swung

__all__ = ["Timing", "timing_of"]

# quarter notes a minute, where a source says nothing; common practice, no source
DEFAULT_BPM = 100.0


@dataclass(frozen=True, slots=True)
class Timing:
    """Turns beats of a performed phrase into seconds.

    tempos : changes in order, the first at beat 0.
    starts : seconds at each change.
    swing : ratio of the two halves of a beat.
    phase : where in a beat, 0 to 1, the phrase's beat 0 would stand as a beat begins: a pickup of half a
        beat puts the beats at 0.5, 1.5 and so on.
    straight_beats : beats, counted from the phase, that are not swung.
    """

    tempos: tuple[Tempo, ...]
    starts: tuple[float, ...]
    swing: Fraction = Fraction(1)
    phase: Fraction = Fraction(0)
    straight_beats: frozenset[int] = frozenset()

    def _index(self, beats: Fraction | float) -> int:
        return max(0, bisect_right(self.tempos, beats, key=lambda tempo: tempo.onset) - 1)

    def _swung(self, beats: Fraction | float) -> float:
        if self.swing == 1:
            return float(beats)
        whole, part = divmod(float(beats) - float(self.phase), 1.0)
        if int(whole) in self.straight_beats:
            return float(beats)
        return whole + swung(part, float(self.swing)) + float(self.phase)

    def _straightened(self, beats: float) -> float:
        if self.swing == 1:
            return beats
        whole, part = divmod(beats - float(self.phase), 1.0)
        if int(whole) in self.straight_beats:
            return beats
        return whole + straightened(part, float(self.swing)) + float(self.phase)

    def bpm_at(self, beats: Fraction | float) -> float:
        """Quarter notes a minute at a beat."""
        return self.tempos[self._index(beats)].bpm

    def seconds_at(self, beats: Fraction | float) -> float:
        """Seconds from beat 0 to a beat, swung halves included."""
        index = self._index(beats)
        tempo = self.tempos[index]
        return self.starts[index] + (self._swung(beats) - self._swung(tempo.onset)) * 60.0 / tempo.bpm

    def beats_at(self, seconds: float) -> float:
        """The beat, written straight, that sounds so many seconds after beat 0."""
        index = max(0, bisect_right(self.starts, seconds) - 1)
        tempo = self.tempos[index]
        beats = self._swung(tempo.onset) + (seconds - self.starts[index]) * tempo.bpm / 60.0
        return self._straightened(beats)

    def scaled(self, factor: float) -> Timing:
        """The same timing at ``factor`` times the speed."""
        tempos = tuple(Tempo(tempo.onset, tempo.bpm * factor) for tempo in self.tempos)
        starts = tuple(start / factor for start in self.starts)
        return Timing(tempos, starts, self.swing, self.phase, self.straight_beats)


def tempos_of(phrase: Phrase) -> tuple[Tempo, ...]:
    """The tempos of a phrase in order from beat 0, 100 quarter notes a minute where it gives none."""
    last_at = {tempo.onset: tempo for tempo in phrase.tempos}
    tempos = [last_at[onset] for onset in sorted(last_at)]
    for tempo in tempos:
        if not 0 < tempo.bpm < float("inf"):
            raise PhraseError(f"a tempo of {tempo.bpm} quarter notes a minute: it is over 0 and finite")
    if not tempos or tempos[0].onset > 0:
        tempos.insert(0, Tempo(Fraction(0), tempos[0].bpm if tempos else DEFAULT_BPM))
    return tuple(tempos)


def _triplet_beats(phrase: Phrase, phase: Fraction) -> Iterator[int]:
    after_grace = False
    for event in phrase.events:
        if not event.grace and not after_grace:
            place = event.onset - phase
            if place.denominator % 3 == 0:
                yield place.__floor__()
        place = event.end - phase
        if not event.grace and place.denominator % 3 == 0:
            yield place.__floor__()
        after_grace = event.grace


def timing_of(phrase: Phrase) -> Timing:
    """
    The timing of a phrase, from its tempos, swing, pickup and triplets.

    >>> from reedpath.phrase import Phrase
    >>> timing = timing_of(Phrase((), tempos=(Tempo(Fraction(0), 60.0),), swing=Fraction(2)))
    >>> [round(timing.seconds_at(half / 2), 3) for half in range(5)]
    [0.0, 0.667, 1.0, 1.667, 2.0]

    Raises
    ------
    PhraseError
        For a tempo or swing that cannot be.
    """
    if phrase.swing <= 0:
        raise PhraseError(f"a swing of {phrase.swing}: the ratio of two halves of a beat is over 0")
    phase = phrase.pickup % 1
    straight = frozenset(_triplet_beats(phrase, phase)) if phrase.swing != 1 else frozenset()
    tempos = tempos_of(phrase)
    starts = [0.0]
    timing = Timing(tempos, tuple(starts), phrase.swing, phase, straight)
    for before, after in pairwise(tempos):
        stretch = timing._swung(after.onset) - timing._swung(before.onset)
        starts.append(starts[-1] + stretch * 60.0 / before.bpm)
    return Timing(tempos, tuple(starts), phrase.swing, phase, straight)
