"""Playing: a form and a groove, in a key and on a clock, become the notes of a band.

The clock says when a counted beat of a bar sounds. Eighths swing with the lesson; triplets and sixteenths
divide the beat evenly. The last bar of a round has a fill; after the last round everybody ends on the tonic.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from reedpath.harmony import Chord, Form
from reedpath.pitch import Key
from reedpath.sound.band.grooves import BandPlayer, DrumRow, Groove, GrooveStep

__all__ = ["BandNote", "BandPart", "BarClock", "play_band"]

# seconds that the last chord rings
LAST_SECONDS = 2.0
# MIDI velocity of the last chord; General MIDI keys of the drums that end with it: bass drum, crash cymbal
LAST_VELOCITY, LAST_DRUMS = 100, (36, 49)
# share of its step that a note sounds, so that repeated notes are heard apart; our choice
SOUNDING_SHARE = 0.92
# semitones of each degree that does not depend on the chord: second, fourth, fifth, sixth, octave, ninth
FIXED_DEGREES = {1: 0, 2: 2, 4: 5, 5: 7, 6: 9, 8: 12, 9: 14}

# bar (counted from 0), counted beat in it, steps in the bar -> seconds
BarClock = Callable[[int, float, int], float]


@dataclass(frozen=True, slots=True)
class BandNote:
    """One note of the band: seconds from the band's clock's 0, MIDI number (of drums the General MIDI key)."""

    start_seconds: float
    seconds: float
    midi: int
    velocity: int


@dataclass(frozen=True, slots=True)
class BandPart:
    """One player's notes: name, General MIDI program counted from 0, loudness in LUFS, drums or not."""

    name: str
    program: int
    loudness: float
    notes: tuple[BandNote, ...]
    drums: bool = False


def _placed(pitch_class: int, lowest: int) -> int:
    """The lowest MIDI number of a pitch class that is not under ``lowest``."""
    return lowest + (pitch_class - lowest) % 12


def _degree_semitones(chord: Chord, degree: int) -> int:
    if degree == 3:
        return chord.third
    return chord.seventh if degree == 7 else FIXED_DEGREES[degree]


def _midi(step: GrooveStep, chord: Chord, following: Chord, lowest: int) -> list[int]:
    """What a step sounds on a chord, the next bar's or half bar's chord being known."""
    if step.lead:
        return [_placed(following.root, lowest) + step.lead]
    if step.degrees:
        root = _placed(chord.root, lowest)
        return sorted({root + _degree_semitones(chord, degree) for degree in step.degrees})
    upper = chord.steps[1:] if len(chord.steps) > 3 else chord.steps
    return sorted(_placed((chord.root + steps) % 12, lowest) for steps in upper)


def _chord_at(chords: tuple[Chord, ...], place: float) -> Chord:
    return chords[min(len(chords) - 1, int(place * len(chords) / 4.0))]


def _player_bar(
    player: BandPlayer, bar: int, chords: tuple[Chord, ...], following: Chord, clock: BarClock
) -> list[BandNote]:
    notes = []
    for step in player.bars[bar % len(player.bars)]:
        chord = _chord_at(chords, step.place)
        start, end = (clock(bar, at, step.steps) for at in (step.place, step.place + step.length))
        notes += [
            BandNote(start, (end - start) * SOUNDING_SHARE, midi, step.velocity)
            for midi in _midi(step, chord, following, player.lowest)
        ]
    return notes


def _drum_bar(rows: tuple[DrumRow, ...], bar: int, clock: BarClock) -> list[BandNote]:
    return [
        BandNote(clock(bar, step.place, step.steps), 0.2, row.note, step.velocity)
        for row in rows
        for step in row.bars[bar % len(row.bars)]
    ]


def _drum_part(groove: Groove, bars: int, round_bars: int, clock: BarClock) -> BandPart:
    filled = {row.note for row in groove.fill}
    kept = tuple(row for row in groove.drums if row.note not in filled)
    notes: list[BandNote] = []
    for bar in range(bars):
        last = bar % round_bars == round_bars - 1
        notes += _drum_bar((*kept, *groove.fill) if last else groove.drums, bar, clock)
    end = clock(bars, 0.0, 8)
    notes += [BandNote(end, LAST_SECONDS, key, LAST_VELOCITY) for key in LAST_DRUMS]
    return BandPart("drums", 0, groove.drums_loudness, tuple(notes), drums=True)


def _player_part(
    name: str,
    player: BandPlayer,
    bars: int,
    chords_of: Callable[[int], tuple[Chord, ...]],
    tonic: Chord,
    clock: BarClock,
) -> BandPart:
    notes: list[BandNote] = []
    for bar in range(bars):
        following = chords_of(bar + 1)[0] if bar + 1 < bars else tonic
        notes += _player_bar(player, bar, chords_of(bar), following, clock)
    whole = GrooveStep(0.0, 1.0, (1,) if name == "bass" else (), 0, LAST_VELOCITY, 8)
    end = clock(bars, 0.0, 8)
    notes += [BandNote(end, LAST_SECONDS, midi, LAST_VELOCITY) for midi in _midi(whole, tonic, tonic, player.lowest)]
    return BandPart(name, player.program, player.loudness, tuple(notes))


def play_band(form: Form, groove: Groove, key: Key, clock: BarClock, *, bars: int, round_bars: int) -> list[BandPart]:
    """
    The notes of every player of a groove.

    Parameters
    ----------
    clock : when a counted beat of a bar sounds, given the bar from 0, the beat 0 to 4 and the steps of the bar.
    bars : how many are played; the band ends on the first beat of the next.
    round_bars : bars from one fill to the next; the last so many have the form's ending.
    """

    def chords_of(bar: int) -> tuple[Chord, ...]:
        return form.chords_of_bar(bar % round_bars, key, last_round=bar >= bars - len(form.bars))

    tonic = form.chords_of_bar(0, key)[0]
    parts = [_drum_part(groove, bars, round_bars, clock)] if groove.drums else []
    return parts + [
        _player_part(name, player, bars, chords_of, tonic, clock) for name, player in groove.players.items()
    ]
