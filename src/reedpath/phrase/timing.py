"""Timing: beats of a performed phrase to seconds and back, tempo changes and swing included.

Swing is written straight and played long and short: the first half of a beat takes ``swing`` times as long
as the second; inside each half, time runs evenly. A beat that holds a triplet is played as it is written, for its
notes already say where they fall (common practice, no source).

`Timing` says where beats lie by tempos and swing, slowed down (`Timing.scaled`) and put somewhere in a sound
(`Timing.delayed`) as wanted; `BeatTimes` where they lay in a performance that was heard, or that goes round. Both
have ``seconds_at`` and ``beats_at``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import accumulate, pairwise
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from reedpath.errors import PhraseError
from reedpath.phrase.events import Phrase, Tempo

Number = TypeVar("Number", float, Fraction)

# quarter notes a minute, where a source says nothing; common practice, no source
DEFAULT_BPM = 100.0


def swung(place: Number, swing: Number) -> Number:
    """
    Where in a beat, 0 to 1, a written place sounds; exact for fractions.

    >>> round(swung(0.5, 2.0), 4), swung(Fraction(1, 2), Fraction(2))
    (0.6667, Fraction(2, 3))
    """
    first = swing / (1 + swing)
    half = place * 2 - 1
    return place * 2 * first if half < 0 else first + half * (1 - first)


def straightened(place: float, swing: float) -> float:
    """
    Where in a beat, 0 to 1, a sounding place is written.

    >>> round(straightened(2 / 3, 2.0), 4)
    0.5
    """
    first = swing / (1.0 + swing)
    return place / (2 * first) if place < first else 0.5 + (place - first) / (2 * (1 - first))


class Timing(Struct, frozen=True):
    """Turns beats of a performed phrase into seconds.

    tempos : changes in order, the first at beat 0.
    starts : seconds at each change; the first is where beat 0 lies.
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
        if len(self.tempos) == 1:
            return 0
        return max(0, bisect_right(self.tempos, beats, key=lambda tempo: tempo.onset) - 1)

    def _swung(self, beats: Number) -> Number:
        if self.swing == 1:
            return beats
        # a phase is a float among floats, so that sounds come out the same to the last bit
        kind = type(beats)
        phase, swing = kind(self.phase), kind(self.swing)
        whole, part = divmod(beats - phase, 1)
        if int(whole) in self.straight_beats:
            return beats
        return whole + swung(part, swing) + phase

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
        swung_beats = self._swung(float(beats)) - self._swung(float(tempo.onset))
        return self.starts[index] + swung_beats * 60.0 / tempo.bpm

    def beats_at(self, seconds: float) -> float:
        """The beat, written straight, that sounds at a moment."""
        return self._straightened(self.played_beats_at(seconds))

    def played_beats(self, beats: Fraction) -> Fraction:
        """
        Where a written beat sounds, in beats of the same tempo: swung notes late, exactly.

        >>> timing_of(Phrase((), swing=Fraction(2))).played_beats(Fraction(3, 2))
        Fraction(5, 3)
        """
        return self._swung(beats)

    def played_beats_at(self, seconds: float) -> float:
        """The beat that sounds at a moment, counted evenly: `beats_at` before it is written straight."""
        index = max(0, bisect_right(self.starts, seconds) - 1)
        tempo = self.tempos[index]
        return self._swung(float(tempo.onset)) + (seconds - self.starts[index]) * tempo.bpm / 60.0

    def scaled(self, factor: float) -> Timing:
        """The same timing at ``factor`` times the speed."""
        tempos = tuple(Tempo(tempo.onset, tempo.bpm * factor) for tempo in self.tempos)
        return replace(self, tempos=tempos, starts=tuple(start / factor for start in self.starts))

    def delayed(self, seconds: float) -> Timing:
        """The same timing so many seconds later."""
        return replace(self, starts=tuple(start + seconds for start in self.starts))


class BeatTimes(Struct, frozen=True):
    """Where some beats lie in seconds; evenly between them, and beyond them as between the nearest two.

    beats, seconds : as many of each, at least two; beats ascend, seconds never descend.
    """

    beats: tuple[float, ...]
    seconds: tuple[float, ...]

    def seconds_at(self, beats: Fraction | float) -> float:
        """
        When a beat falls.

        >>> BeatTimes((0.0, 1.0, 2.0), (0.0, 0.5, 0.5)).seconds_at(0.5)
        0.25
        """
        return _on_line(self.beats, self.seconds, float(beats))

    def beats_at(self, seconds: float) -> float:
        """The beat that falls at a moment; where several do, the last."""
        return _on_line(self.seconds, self.beats, seconds)


def _on_line(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    index = min(max(bisect_right(xs, x) - 1, 0), len(xs) - 2)
    while index > 0 and xs[index + 1] == xs[index]:
        index -= 1
    run = xs[index + 1] - xs[index]
    return ys[index] if run == 0 else ys[index] + (x - xs[index]) * (ys[index + 1] - ys[index]) / run


def beat_times(points: Iterable[tuple[Fraction | float, float]]) -> BeatTimes:
    """
    Beats and seconds by pairs in any order, at least one.

    Of several moments of one beat the last given counts; a moment before that of an earlier beat is moved to it. One
    pair alone is taken at a beat a second.

    >>> beat_times([(1, 5.0), (0, 0.0), (2, 4.0)]).seconds
    (0.0, 5.0, 5.0)
    """
    by_beat = {float(beat): float(seconds) for beat, seconds in points}
    beats = sorted(by_beat)
    seconds = list(accumulate((by_beat[beat] for beat in beats), max))
    if len(beats) == 1:
        beats, seconds = [beats[0], beats[0] + 1.0], [seconds[0], seconds[0] + 1.0]
    return BeatTimes(tuple(beats), tuple(seconds))


def tempos_of(phrase: Phrase) -> tuple[Tempo, ...]:
    """The tempos of a phrase in order from beat 0, 100 quarter notes a minute where it gives none."""
    last_at = {tempo.onset: tempo for tempo in phrase.tempos}
    tempos = [last_at[onset] for onset in sorted(last_at)]
    for tempo in tempos:
        if not 0 < tempo.bpm < float("inf"):
            raise PhraseError("phrase.tempo", bpm=tempo.bpm)
    if not tempos or tempos[0].onset > 0:
        tempos.insert(0, Tempo(Fraction(0), tempos[0].bpm if tempos else DEFAULT_BPM))
    return tuple(tempos)


def _straight_beats(phrase: Phrase, phase: Fraction) -> Iterator[int]:
    """Beats, counted from the phase, that hold triplets or are said to be straight."""
    for onset in phrase.straight:
        yield (onset - phase).__floor__()
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

    >>> timing = timing_of(Phrase((), tempos=(Tempo(Fraction(0), 60.0),), swing=Fraction(2)))
    >>> [round(timing.seconds_at(half / 2), 3) for half in range(5)]
    [0.0, 0.667, 1.0, 1.667, 2.0]

    Raises `PhraseError` for a tempo or swing that cannot be.
    """
    if phrase.swing <= 0:
        raise PhraseError("phrase.swing", swing=phrase.swing)
    phase = phrase.pickup % 1
    straight = frozenset(_straight_beats(phrase, phase)) if phrase.swing != 1 else frozenset()
    tempos = tempos_of(phrase)
    starts = [0.0]
    timing = Timing(tempos, tuple(starts), phrase.swing, phase, straight)
    for before, after in pairwise(tempos):
        stretch = timing._swung(float(after.onset)) - timing._swung(float(before.onset))
        starts.append(starts[-1] + stretch * 60.0 / before.bpm)
    return Timing(tempos, tuple(starts), phrase.swing, phase, straight)
