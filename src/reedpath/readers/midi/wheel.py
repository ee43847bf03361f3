"""Pitch wheels: what a bent string does to its notes, as steps up and down.

A curve is reduced to the heights at which it turns (small wobble left out), in semitones; a curve that turns
often within a narrow band is a vibrato. The wheel's range is that of RPN 0, two semitones where a file sets none
(General MIDI 1, 1991).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from reedpath.readers.midi.chunks import MidiMessage

# semitones either way; General MIDI 1
_DEFAULT_RANGE = 2.0
# semitones; ours: turns nearer than this are wobble of the hand
_WOBBLE = 0.15
# semitones; ours: a shake of a string seldom goes wider
_WIDEST_VIBRATO = 1.5
# turns in a row; ours: a bend with its release turns twice
_VIBRATO_TURNS = 4
# shortest and longest span of a vibrato for one of the mean; ours
_ALIKE = (0.6, 1.6)
# changes of the wheel looked at in one note; ours: a bend sends some hundred, a file made to be slow any number
_MOST_CHANGES = 128
# turns of one note that are kept; ours: a bend with its release makes two
_MOST_TURNS = 16
# the finest step of bends kept, of a semitone; quarter tones are halves
_STEP = 2

_RPN_MSB, _RPN_LSB, _DATA_MSB, _DATA_LSB, _RESET = 101, 100, 6, 38, 121


@dataclass(frozen=True, slots=True)
class Wheel:
    """The pitch wheel of a channel: ticks of its changes, in order, and heights in semitones from each on."""

    ticks: tuple[int, ...]
    heights: tuple[float, ...]

    def at(self, tick: int) -> float:
        """Height at a tick, changes at that tick counted."""
        index = bisect_right(self.ticks, tick) - 1
        return self.heights[index] if index >= 0 else 0.0


@dataclass(frozen=True, slots=True)
class Bent:
    """What a wheel does to a note.

    start : semitones at which it begins; steps : up (over 0) and down (under 0), one after another.
    vibrato : whether it shakes.
    """

    start: Fraction = Fraction(0)
    steps: tuple[Fraction, ...] = ()
    vibrato: bool = False


def wheel_of(messages: Iterable[MidiMessage]) -> Wheel:
    """The wheel of one channel, from its messages in order."""
    ticks: list[int] = []
    heights: list[float] = []
    span = _DEFAULT_RANGE
    parameter = (127, 127)
    for message in messages:
        if message.command == 0xE:
            value = (message.data[1] << 7 | message.data[0]) - 8192
            ticks.append(message.tick)
            heights.append(value / 8192 * span)
        elif message.command == 0xB:
            number, value = message.data
            parameter, span = _obey(number, value, parameter, span)
            if number == _RESET:
                ticks.append(message.tick)
                heights.append(0.0)
    return Wheel(tuple(ticks), tuple(heights))


def _obey(number: int, value: int, parameter: tuple[int, int], span: float) -> tuple[tuple[int, int], float]:
    """Parameter chosen and range of the wheel after a control change (RPN 0: pitch bend sensitivity)."""
    if number == _RPN_MSB:
        return (value, parameter[1]), span
    if number == _RPN_LSB:
        return (parameter[0], value), span
    if parameter == (0, 0) and number == _DATA_MSB:
        return parameter, value + span % 1
    if parameter == (0, 0) and number == _DATA_LSB:
        return parameter, int(span) + min(value, 99) / 100
    return parameter, span


def _turns(heights: Sequence[float]) -> list[float]:
    """The first height, then those at which the curve turns by more than a wobble, then the last."""
    turns = [heights[0]]
    extreme = heights[0]
    rising: bool | None = None
    for height in heights[1:]:
        if rising is None:
            if abs(height - turns[0]) > _WOBBLE:
                rising, extreme = height > turns[0], height
        elif (height >= extreme) if rising else (height <= extreme):
            extreme = height
        elif abs(height - extreme) > _WOBBLE:
            turns.append(extreme)
            rising, extreme = not rising, height
    if rising is not None:
        turns.append(extreme)
    return turns


def _shake(spans: Sequence[float]) -> tuple[int, int]:
    """First and last index (one past) of the longest run of spans that are narrow and much alike."""
    best = (0, 0)
    start, total = 0, 0.0
    for index, span in enumerate(spans):
        mean = total / (index - start) if index > start else span
        if span > _WIDEST_VIBRATO or not _ALIKE[0] * mean <= span <= _ALIKE[1] * mean:
            start, total = index, 0.0
        total += span
        if span <= _WIDEST_VIBRATO and index + 1 - start > best[1] - best[0]:
            best = (start, index + 1)
    return best


def _shaken(turns: list[float]) -> tuple[list[float], bool]:
    """The turns without a vibrato, and whether there was one.

    The note stays where the vibrato began: at its middle, or at the height to which the string was bent before.
    """
    spans = [abs(second - first) for first, second in pairwise(turns)]
    first, last = _shake(spans)
    if last - first < _VIBRATO_TURNS:
        return turns, False
    shake = turns[first : last + 1]
    middle, width = (max(shake) + min(shake)) / 2, max(shake) - min(shake)
    if first and abs(turns[first - 1] - middle) <= width / 2:
        first -= 1
    return [*turns[: first + 1], *turns[last + 1 :]], True


def _rounded(height: float) -> Fraction:
    return Fraction(round(height * _STEP), _STEP)


def bent_between(wheel: Wheel, start: int, end: int) -> Bent:
    """What the wheel does to a note that sounds from tick ``start`` to ``end``."""
    first = bisect_right(wheel.ticks, start)
    last = bisect_right(wheel.ticks, end - 1)
    step = 1 + (last - first) // _MOST_CHANGES
    heights = [wheel.at(start), *wheel.heights[first:last:step]]
    turns, vibrato = _shaken(_turns(heights))
    levels = [_rounded(height) for height in turns[:_MOST_TURNS]]
    steps = tuple(after - before for before, after in pairwise(levels) if after != before)
    return Bent(levels[0], steps, vibrato)
