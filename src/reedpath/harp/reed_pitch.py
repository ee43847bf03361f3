"""What a move sounds on a tempered harp: cents, hertz and how far it can be pushed.

    cents(move) = reference + temperament[step mod 12] + stretch * step / 12

all cents from equal temperament with A4 at 440 Hz, where step counts the semitones from the harp's key note
up to the sounding note, reference = 1200 log2(A4 / 440), and stretch is the harp's widening of each octave.
The key note itself is what the reference and the temperament's step 0 make it; the stretch widens from it.

A bent or overbent note aims at the temperament's value for its step where the temperament gives one, else at
equal temperament: the ear judges the note, not the way it is made. A dip, the shallow bend of a hole whose
reeds lie a semitone apart, has no note to aim at; we let it mean half way between the two reeds (our
convention: no depth is published).

The limit of an altered note is the reed that it cannot reach: a bend stays above the lower reed of its hole,
an overbend above the higher one (Bahnson, Antaki & Beery, J. Acoust. Soc. Am. 103, 1998: bends lie inside
the interval of the two reeds, overbends outside).
"""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct

from reedpath.harp.harp import Harp
from reedpath.harp.moves import Alteration, Breath, Move
from reedpath.harp.reach import midi_of, natural_semitones, reach_of
from reedpath.harp.tuning import load_tuning
from reedpath.pitch import A4_HZ, midi_to_hz, ratio_to_cents


class Sound(Struct, frozen=True):
    """What a move sounds on a harp; one number for each sounding hole, in the order of the holes.

    move : the move.
    midi : nearest named notes, as `midi_of` gives them (for a dip, the natural note's).
    cents : where the note lies from equal temperament with A4 at 440 Hz.
    hz : frequency.
    limit_cents : the pitch, as cents from the same MIDI number, that an altered note cannot reach; None for
        natural notes.
    """

    move: Move
    midi: tuple[int, ...]
    cents: tuple[float, ...]
    hz: tuple[float, ...]
    limit_cents: float | None = None


@lru_cache(maxsize=1024)
def _cents_of_steps(harp: Harp) -> tuple[float, tuple[float, ...], float]:
    return ratio_to_cents(harp.a4_hz / A4_HZ), harp.temperament.cents, harp.stretch_cents / 12.0


def _cents(harp: Harp, step: int) -> float:
    reference, temperament, stretch_per_semitone = _cents_of_steps(harp)
    return reference + temperament[step % 12] + stretch_per_semitone * step


def reed_hz(harp: Harp, hole: int, breath: Breath) -> float:
    """
    Frequency of one reed, hertz.

    >>> from reedpath.harp import make_harp
    >>> round(reed_hz(make_harp("C", a4_hz=443.0), 1, Breath.BLOW), 2)
    263.41
    """
    step = natural_semitones(harp.tuning, hole, breath)
    return midi_to_hz(harp.key_midi + step + _cents(harp, step) / 100.0)


class ReedTarget(Struct, frozen=True):
    """What a reed is to be tuned to.

    hole, breath : which reed.
    midi : the note.
    cents : from equal temperament at the harp's own reference pitch, as a tuner set to that pitch shows it.
    hz : frequency, hertz.
    from_standard : semitones by which it differs from the standard tuning's reed; None where that has no such reed.
    """

    hole: int
    breath: Breath
    midi: int
    cents: float
    hz: float
    from_standard: int | None


def reed_targets(harp: Harp) -> tuple[ReedTarget, ...]:
    """
    What each reed of a harp is to be tuned to: the blow reeds from hole 1 on, then the draw reeds.

    >>> from reedpath.harp import make_harp
    >>> raised = reed_targets(make_harp("C", "raised-5-draw", a4_hz=442.0))[14]
    >>> raised.hole, raised.midi, raised.cents, round(raised.hz, 2), raised.from_standard
    (5, 78, 0.0, 743.35, 1)
    """
    standard = load_tuning("standard")
    reference, *_ = _cents_of_steps(harp)
    targets = []
    for breath in Breath:
        for hole in range(1, harp.tuning.holes + 1):
            step = natural_semitones(harp.tuning, hole, breath)
            usual = natural_semitones(standard, hole, breath) if hole <= standard.holes else None
            midi, cents = harp.key_midi + step, _cents(harp, step) - reference
            change = None if usual is None else step - usual
            targets.append(ReedTarget(hole, breath, midi, cents, reed_hz(harp, hole, breath), change))
    return tuple(targets)


def _limit_cents(harp: Harp, move: Move, midi: int) -> float | None:
    if move.alteration is Alteration.NATURAL:
        return None
    reeds = [natural_semitones(harp.tuning, move.holes[0], breath) for breath in Breath]
    step = min(reeds) if move.alteration is Alteration.BEND else max(reeds)
    return 100.0 * (harp.key_midi + step - midi) + _cents(harp, step)


@lru_cache(maxsize=16_384)
def sound_of(harp: Harp, move: Move) -> Sound:
    """
    What a move sounds on a harp.

    >>> from reedpath.harp import load_temperament, make_harp
    >>> harp = make_harp("C", temperament=load_temperament("5-limit-first"))
    >>> sound = sound_of(harp, Move((2,), Breath.BLOW))
    >>> sound.midi, round(sound.cents[0], 2)
    ((64,), -13.69)
    """
    midi = midi_of(harp, move)
    cents = tuple(_cents(harp, number - harp.key_midi) for number in midi)
    limit = _limit_cents(harp, move, midi[0])
    if move.is_dip and limit is not None:
        cents = ((cents[0] + limit) / 2.0,)
    hz = tuple(midi_to_hz(number + off / 100.0) for number, off in zip(midi, cents, strict=True))
    return Sound(move, midi, cents, hz, limit)


@lru_cache(maxsize=64)
def inventory(harp: Harp) -> tuple[Sound, ...]:
    """Everything a harp can sound: single holes first, then chords and splits, as `reach_of` orders them."""
    reach = reach_of(harp.tuning)
    return tuple(sound_of(harp, move) for move in (*reach.single, *reach.multiple))
