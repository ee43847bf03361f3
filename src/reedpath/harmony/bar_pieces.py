"""Pieces: the events of a phrase cut where chords may change, each with its place in the bar; no chord is known here.

One struck up to half a beat before a chord may change and held longer over it is an anticipation, and wholly a piece
of what comes ("Non chord tones", intromusictheory.com, lesson 12).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice, pairwise, takewhile

from reedpath.phrase import Bar, Event, Phrase, bars, beat_of

# beats (quarter notes): what is struck no longer before a chord and held over it anticipates it; a gap from which on
# a phrase comes to rest; the longest note that passes; common practice, no source
ANTICIPATED, PAUSE, PASSING = Fraction(1, 2), Fraction(1), Fraction(1)
# semitones of the widest step; definition
WIDEST_STEP = 2


@dataclass(frozen=True, slots=True)
class BarPiece:
    """A piece of an event.

    event : its index. midi : its notes, ascending.
    bar : the bar of the phrase, 0 for the pickup. part : which of the bar's chords sounds with it, from 0.
    beats : where in the bar it is heard first, quarter notes from the bar line.
    beat : the same as counted, from 1; None off the beat.
    strength : of its place in the bar, per cent. weight : of each of its notes: strength times quarter notes.
    rests : whether the phrase comes to rest on it.
    goes_to : index of the first piece of the event that it goes on to by step, None where it does not.
    """

    event: int
    midi: tuple[int, ...]
    bar: int
    part: int
    beats: Fraction
    beat: int | None
    strength: Fraction
    weight: Fraction
    rests: bool
    goes_to: int | None


@dataclass(frozen=True, slots=True)
class _StretchOfChord:
    """A stretch of a bar with one chord, in beats of the phrase; ``whole`` is the onset of the whole bar."""

    onset: Fraction
    end: Fraction
    part: int
    bar: Bar
    whole: Fraction


def _spans(found: Sequence[Bar], parts: Sequence[int]) -> list[_StretchOfChord]:
    spans = []
    for bar, count in zip(found, parts, strict=True):
        whole, length = bar.end - bar.metre.bar if bar.number == 0 else bar.onset, bar.metre.bar
        for part in range(count):
            start = max(whole + length * Fraction(part, count), bar.onset)
            end = min(whole + length * Fraction(part + 1, count), bar.end)
            if end > start:
                spans.append(_StretchOfChord(start, end, part, bar, whole))
    return spans


def _strength(beats: Fraction, bar: Bar, strengths: Mapping[str, int]) -> Fraction:
    """How strong a place in a bar is, per cent."""
    length, beat = bar.metre.bar, beat_of(bar.metre)
    if beats == 0:
        return Fraction(strengths["first"])
    if beats * 2 == length and (length / beat) % 2 == 0:
        return Fraction(strengths["middle"])
    return Fraction(strengths["beat" if beats % beat == 0 else "off"])


def _under(event: Event, spans: Sequence[_StretchOfChord]) -> list[tuple[_StretchOfChord, Fraction, Fraction]]:
    """The spans under an event, each from when on and for how many beats."""
    first, end = max(0, bisect_right(spans, event.onset, key=lambda span: span.onset) - 1), event.end
    over = []
    for span in takewhile(lambda span: span.onset < end, islice(spans, first, None)):
        start = max(span.onset, event.onset)
        over.append((span, start, min(span.end, end) - start))
    if len(over) > 1 and over[0][2] <= ANTICIPATED and over[0][2] < over[1][2]:
        early, (span, start, beats) = over.pop(0), over[0]
        over[0] = (span, start, beats + early[2])
    return over


def _goes_by_step(event: Event, then: Event) -> bool:
    """Whether an event is short and goes on to another by step, without a pause."""
    is_near = 0 < abs(then.midi[-1] - event.midi[-1]) <= WIDEST_STEP
    return is_near and event.duration <= PASSING and then.onset - event.end < PAUSE


def bar_pieces(phrase: Phrase, parts: Sequence[int], strengths: Mapping[str, int]) -> tuple[BarPiece, ...]:
    """
    The pieces of a phrase, in order.

    parts : how many chords each of its bars has, the pickup's first where there is one; they share it evenly.
    strengths : of the first beat, the middle of the bar, another beat and off the beat, per cent.
    """
    events = phrase.events
    spans = _spans(bars(phrase), parts)
    under = [_under(event, spans) for event in events]
    firsts = [0]
    for pieces in under:
        firsts.append(firsts[-1] + len(pieces))
    rests = {index for index, (one, then) in enumerate(pairwise(events)) if then.onset - one.end >= PAUSE}
    rests.add(len(events) - 1)
    found = []
    for index, (event, pieces) in enumerate(zip(events, under, strict=True)):
        goes = index not in rests and _goes_by_step(event, events[index + 1])
        longest = max(range(len(pieces)), key=lambda place: (pieces[place][2], -place))
        for place, (span, start, beats) in enumerate(pieces):
            at, beat = start - span.whole, beat_of(span.bar.metre)
            strength = _strength(at, span.bar, strengths)
            found.append(
                BarPiece(
                    event=index,
                    midi=event.midi,
                    bar=span.bar.number,
                    part=span.part,
                    beats=at,
                    beat=int(at / beat) + 1 if at % beat == 0 else None,
                    strength=strength,
                    weight=strength * beats / len(event.midi),
                    rests=index in rests and place == longest,
                    goes_to=firsts[index + 1] if goes else None,
                )
            )
    return tuple(found)
