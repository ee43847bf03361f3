"""Spelling: which letter and accidental a note takes, as the source writes it or else as its key asks.

Notes are placed on the line of fifths (F = -1, C = 0, G = 1, ...). A key uses the twelve places around its
tonic, from the lowered second up to the raised fourth in major, and a place lower in minor, whose lowered
fifth is the usual one; the tritone itself is raised where the line goes on up and lowered where it falls. Where
that asks for a double accidental, or for a white key under another name that is not in the key (the leading note of
minor apart), the plain name is kept (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable

from reedpath.pitch import MODE_FIFTHS, Key, key_fifths, letter_and_sign, written_fifths

# places on the line of fifths, from its tonic, of the leading note
LEADING = 5


def tonic_fifths(key: Key | None) -> int:
    """Place of a key's tonic on the line of fifths; that of C for an unknown key."""
    return 0 if key is None else key_fifths(key) - MODE_FIFTHS[key.mode]


def _plain(fifths: int, key: Key | None) -> int:
    """The place, or its plainer neighbour of the same sound."""
    signature = key_fifths(key)
    is_leading = key is not None and key.third == "minor" and fifths == tonic_fifths(key) + LEADING
    sign = letter_and_sign(fifths)[1]
    is_in_key = signature - 1 <= fifths <= signature + 5
    plain = fifths - 12 if sign > 0 else fifths + 12
    is_white = letter_and_sign(plain)[1] == 0
    return plain if abs(sign) > 1 or (sign and is_white and not is_in_key and not is_leading) else fifths


def note_fifths(midi: int, key: Key | None, *, goes_up: bool, written: Iterable[int] = ()) -> int:
    """
    Place of a MIDI number on the line of fifths.

    goes_up : whether the next note is higher (it decides the tritone of the key).
    written : how the source spells notes of its event (`Event.fifths`).

    >>> note_fifths(70, Key(4), goes_up=False), note_fifths(70, Key(4), goes_up=False, written=(10, 4))
    (-2, 10)
    """
    said = written_fifths(midi, written)
    if said is not None:
        return said
    lowest = tonic_fifths(key) - (5 if goes_up else 6)
    return _plain(lowest + (midi * 7 - lowest) % 12, key)
