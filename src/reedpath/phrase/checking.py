"""What must hold of a phrase that is read from a file, beyond the shape of its types.

Times within reach, on one grid, in order, in bars of no more beats than anybody counts: so that whatever follows on
it ends, and what it writes can be read again. Errors name the field as JSON has it.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from math import lcm

from reedpath.errors import PhraseError, Place, ReadError
from reedpath.phrase.events import Phrase
from reedpath.phrase.metre import bars, beat_of

# quarter notes; readers of scores let in 5,000 bars, and a bar may be a whole cadenza
MOST_BEATS = 1_000_000
# parts of a quarter note: some thousand times what any mix of tuplets asks for, so that a number of a fraction stays
# within 18 digits (`data.shapes`) when grace notes have been given times of their own
FINEST_DIVISION = 10**9
# beats that are counted in all bars together; 5,000 bars of eight
MOST_COUNTED = 40_000
# times that one half of a beat is longer than the other; a swing is 1 to 3 (common practice, no source)
MOST_SWING = 100
# semitones of a bend; ten octaves are the whole of hearing
MOST_SEMITONES = 120


def _times(phrase: Phrase) -> Iterator[tuple[str, Fraction]]:
    """Each time of a phrase, with its field in JSON."""
    for index, event in enumerate(phrase.events):
        yield f"events[{index}].onset_beats", event.onset
        yield f"events[{index}].duration_beats", event.duration
    for name in ("metres", "tempos", "parts", "repeats"):
        for index, one in enumerate(getattr(phrase, name)):
            yield f"{name}[{index}].onset_beats", one.onset
            if name in ("parts", "repeats"):
                yield f"{name}[{index}].end_beats", one.end
    yield "pickup_beats", phrase.pickup
    for index, onset in enumerate(phrase.straight):
        yield f"straight_beats[{index}]", onset


def _check_range(field: str, value: Fraction, least: Fraction | int, most: int) -> None:
    if value < least:
        raise PhraseError("data.at_least", where=Place(field=field), value=value, limit=least)
    if value > most:
        raise PhraseError("data.at_most", where=Place(field=field), value=value, limit=most)


def _check_times(phrase: Phrase) -> None:
    division = 1
    for field, time in _times(phrase):
        _check_range(field, time, 0, MOST_BEATS)
        if time.denominator != 1:
            division = lcm(division, time.denominator)
            if division > FINEST_DIVISION:
                raise PhraseError("readers.no_common_division", where=Place(field=field))


def _check_order(phrase: Phrase) -> None:
    for name in ("metres", "tempos"):
        for index, (before, after) in enumerate(pairwise(getattr(phrase, name)), start=1):
            if after.onset < before.onset:
                raise PhraseError("phrase.changes_order", where=Place(field=f"{name}[{index}].onset_beats"))
    for index, part in enumerate(phrase.parts):
        if part.end < part.onset:
            where = Place(field=f"parts[{index}].end_beats")
            raise PhraseError("phrase.end_before", where=where, onset=part.onset, end=part.end)


def _check_bars(phrase: Phrase) -> None:
    counted = sum(-((bar.onset - bar.end) // beat_of(bar.metre)) for bar in bars(phrase))
    if counted > MOST_COUNTED:
        raise PhraseError("phrase.too_many_beats", where=Place(field="metres"), most=MOST_COUNTED)


def _check_bends(phrase: Phrase) -> None:
    for index, event in enumerate(phrase.events):
        for name in ("bend_in", "release"):
            field = f"events[{index}].ornaments.{name}_semitones"
            _check_range(field, getattr(event.ornaments, name), -MOST_SEMITONES, MOST_SEMITONES)


def check_phrase(phrase: Phrase, *, field: str) -> None:
    """Raise a ReadError, its field that of JSON, for a phrase that holds what no phrase can.

    field : where the phrase stands in the file.
    """
    try:
        _check_range("swing", phrase.swing, Fraction(1, MOST_SWING), MOST_SWING)
        _check_bends(phrase)
        _check_times(phrase)
        _check_order(phrase)
        _check_bars(phrase)
    except PhraseError as error:
        raise ReadError.like(error).inside(Place(field=field)) from error
