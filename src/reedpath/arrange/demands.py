"""Demands: what each event of a performed phrase asks of an instrument, the seconds it has, and where it stands.

Two events that ask alike have the same choices on the same harp, so choices are made once for each `Ask`.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from reedpath.arrange.terms import SHORTEST_SECONDS
from reedpath.harp import Move
from reedpath.phrase import Event, Phrase, bars, timing_of

Seconds: TypeAlias = NDArray[np.float64]


class Ask(NamedTuple):
    """What one event wants; a tuple, since surveys look up tens of thousands of them.

    pitches : MIDI numbers, or semitones above a harp's key note once `moved`; ascending.
    approach : where the sound is to start, in semitones relative to the highest pitch; 0 for a plain attack.
    leave : where it is to end, likewise.
    slide : whether the approach is a slide, which may run over the notes between.
    joined : whether the note before already sounds where the slide starts.
    also : moves to be offered beside those that the level and the fitting offer.
    """

    pitches: tuple[int, ...]
    approach: float = 0.0
    leave: float = 0.0
    slide: bool = False
    joined: bool = False
    also: tuple[Move, ...] = ()

    def moved(self, semitones: int) -> Ask:
        """The same ask so many semitones higher."""
        return self._replace(pitches=tuple(pitch + semitones for pitch in self.pitches))


def _ask(event: Event, before: Event | None, after: Event | None) -> Ask:
    ornaments, top = event.ornaments, event.midi[-1]
    approach, leave, slide, joined = -float(ornaments.bend_in), -float(ornaments.release), False, False
    if not approach and ornaments.slide_from is not None:
        approach, slide = float(ornaments.slide_from - top), True
        joined = before is not None and before.end >= event.onset and ornaments.slide_from in before.midi
    if not leave and ornaments.slide_to is not None:
        follows = after is not None and after.onset <= event.end and ornaments.slide_to in after.midi
        leave = 0.0 if follows else float(ornaments.slide_to - top)
    return Ask(event.midi, approach, leave, slide, joined)


def asks_of(events: tuple[Event, ...]) -> tuple[Ask, ...]:
    """The ask of each event of a performed phrase."""
    before: tuple[Event | None, ...] = (None, *events[:-1])
    after: tuple[Event | None, ...] = (*events[1:], None)
    return tuple(map(_ask, events, before, after)) if events else ()


class Pace(Struct, frozen=True):
    """Times of n events, each an array of shape (n,) in seconds.

    have : from the onset before to this one; infinite for the first.
    gap : silence between the event before and this one; infinite for the first.
    duration : how long the event sounds, cut short where the next one starts.
    seam : what lies before the event, as numbers: a rest, a bar line, a beat, or none of them (see `SEAMS`).
    """

    have: Seconds
    gap: Seconds
    duration: Seconds
    seam: NDArray[np.intp]

    def scaled(self, factor: float) -> Pace:
        """The same events at ``factor`` times the speed."""
        return Pace(self.have / factor, self.gap / factor, self.duration / factor, self.seam)


class Standing(Struct, frozen=True):
    """What makes n events weigh more than others, each an array of shape (n,) of 0 and 1.

    ending : whether silence follows that is long enough for a breath, or nothing at all.
    shaken : whether the note has vibrato.
    home : whether it is the tonic of the phrase's key.
    """

    ending: Seconds
    shaken: Seconds
    home: Seconds


# seconds of silence that end a phrase: the time of a calm breath, from memory
PHRASE_END_SECONDS = 0.35


def standing_of(phrase: Phrase, pace: Pace) -> Standing:
    """Where each event of a performed phrase stands."""
    tonic = None if phrase.key is None else phrase.key.tonic
    silence = np.append(pace.gap[1:], np.inf)[: len(phrase.events)]
    return Standing(
        (silence >= PHRASE_END_SECONDS).astype(np.float64),
        np.array([one.ornaments.vibrato for one in phrase.events], dtype=np.float64),
        np.array([one.midi[-1] % 12 == tonic for one in phrase.events], dtype=np.float64),
    )


# what may lie before an event, by number: where a breath is taken gladly, less gladly, and least of all
SEAMS = ("rest", "bar", "beat", "within")
# seconds of silence that are heard as a rest; common practice, no source
REST_SECONDS = 0.15


def _seams(phrase: Phrase, gap: Seconds) -> NDArray[np.intp]:
    """The number in `SEAMS` of what lies before each event."""
    if not phrase.events:
        return np.zeros(0, dtype=np.intp)
    measures = bars(phrase)
    lines = {bar.onset for bar in measures}
    beats = {beat for bar in measures for beat in bar.beats}
    seams = [1 if one.onset in lines else 2 if one.onset in beats else 3 for one in phrase.events]
    return np.where(gap >= REST_SECONDS, 0, np.array(seams, dtype=np.intp))


def pace_of(phrase: Phrase) -> Pace:
    """Pace of a performed phrase."""
    timing = timing_of(phrase)
    starts = np.array([timing.seconds_at(event.onset) for event in phrase.events], dtype=np.float64)
    ends = np.array([timing.seconds_at(event.end) for event in phrase.events], dtype=np.float64)
    ends[:-1] = np.minimum(ends[:-1], np.maximum(starts[1:], starts[:-1] + SHORTEST_SECONDS))
    have = np.maximum(np.diff(starts, prepend=-np.inf), SHORTEST_SECONDS)
    gap = np.maximum(starts - np.concatenate(([-np.inf], ends[:-1])), 0.0)
    return Pace(have, gap, np.maximum(ends - starts, SHORTEST_SECONDS), _seams(phrase, gap))
