"""Hertz, cents and MIDI numbers.

MIDI number 69 is A4 and 60 is middle C (MIDI Tuning Standard, MMA 1996); equal temperament puts a
semitone at the ratio 2**(1/12), a cent at 2**(1/1200) (Ellis 1885).
"""

from __future__ import annotations

import math

# hertz; ISO 16:1975
A4_HZ = 440.0
# MIDI number; MIDI Tuning Standard
A4_MIDI = 69


def midi_to_hz(midi: float, *, a4_hz: float = A4_HZ) -> float:
    """Frequency of a MIDI number (fractions are cents / 100) in equal temperament, in hertz.

    >>> midi_to_hz(69)
    440.0
    """
    return a4_hz * math.exp2((midi - A4_MIDI) / 12.0)


def hz_to_midi(hz: float, *, a4_hz: float = A4_HZ) -> float:
    """MIDI number, with its fraction, of a frequency in hertz.

    >>> hz_to_midi(880.0)
    81.0
    """
    return A4_MIDI + 12.0 * math.log2(hz / a4_hz)


def ratio_to_cents(ratio: float) -> float:
    """Size of a frequency ratio in cents.

    >>> round(ratio_to_cents(3 / 2), 2)
    701.96
    """
    return 1200.0 * math.log2(ratio)


def cents_to_ratio(cents: float) -> float:
    """Frequency ratio of an interval in cents."""
    return math.exp2(cents / 1200.0)
