"""A MIDI score as a value, and its bytes: the one module that knows the MIDI library.

Times are ticks of a quarter note divided by ``ticks_per_beat``. Standard MIDI File 1.0 (MMA 1996).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

__all__ = [
    "BEND_RANGE_SEMITONES",
    "MidiBend",
    "MidiKey",
    "MidiMetre",
    "MidiNote",
    "MidiScore",
    "MidiTempo",
    "MidiText",
    "MidiTrack",
    "encode_score",
]

# semitones up and down of the pitch wheel; the customary 2 is too little for a bend of three semitones
BEND_RANGE_SEMITONES = 12
# the wheel's middle is 0; 14 bits (MIDI 1.0, "Pitch Bend Change")
WHEEL_UNITS = 8192
# controllers that set the wheel's range: registered parameter 0,0 (MIDI 1.0, "RPN")
RPN_MSB, RPN_LSB, DATA_MSB, DATA_LSB = 101, 100, 6, 38


@dataclass(frozen=True, slots=True)
class MidiNote:
    """A note: MIDI number and velocity 1 to 127."""

    tick: int
    ticks: int
    midi: int
    velocity: int


@dataclass(frozen=True, slots=True)
class MidiBend:
    """The pitch wheel from a tick on, semitones."""

    tick: int
    semitones: float


@dataclass(frozen=True, slots=True)
class MidiText:
    """A lyric or a marker."""

    tick: int
    text: str


@dataclass(frozen=True, slots=True)
class MidiTempo:
    """A tempo, quarter notes a minute."""

    tick: int
    bpm: float


@dataclass(frozen=True, slots=True)
class MidiMetre:
    """A time signature."""

    tick: int
    count: int
    unit: int


@dataclass(frozen=True, slots=True)
class MidiKey:
    """A key signature: sharps over 0, flats under it; major or minor."""

    tick: int
    sharps: int
    minor: bool


@dataclass(frozen=True, slots=True)
class MidiTrack:
    """One instrument.

    program : 0 to 127, counted from 0. drums : whether it is the percussion channel.
    """

    name: str
    program: int
    notes: tuple[MidiNote, ...]
    bends: tuple[MidiBend, ...] = ()
    lyrics: tuple[MidiText, ...] = ()
    drums: bool = False


@dataclass(frozen=True, slots=True)
class MidiScore:
    """All of it."""

    ticks_per_beat: int
    tracks: tuple[MidiTrack, ...]
    tempos: tuple[MidiTempo, ...] = ()
    metres: tuple[MidiMetre, ...] = ()
    keys: tuple[MidiKey, ...] = ()
    markers: tuple[MidiText, ...] = ()


def _wheel(semitones: float) -> int:
    value = round(semitones * WHEEL_UNITS / BEND_RANGE_SEMITONES)
    return min(WHEEL_UNITS - 1, max(-WHEEL_UNITS, value))


def _track_of(track: MidiTrack) -> Any:
    import symusic

    made = symusic.Track(track.name, track.program, track.drums)
    if track.bends:
        for number, value in ((RPN_MSB, 0), (RPN_LSB, 0), (DATA_MSB, BEND_RANGE_SEMITONES), (DATA_LSB, 0)):
            made.controls.append(symusic.ControlChange(0, number, value))
    for bend in track.bends:
        made.pitch_bends.append(symusic.PitchBend(bend.tick, _wheel(bend.semitones)))
    for note in track.notes:
        made.notes.append(symusic.Note(note.tick, note.ticks, note.midi, note.velocity))
    for lyric in track.lyrics:
        made.lyrics.append(symusic.TextMeta(lyric.tick, lyric.text))
    return made


def library_score(score: MidiScore) -> Any:
    """The score as the library's own object."""
    import symusic

    made = symusic.Score(score.ticks_per_beat)
    for tempo in score.tempos:
        made.tempos.append(symusic.Tempo(tempo.tick, qpm=tempo.bpm))
    for metre in score.metres:
        made.time_signatures.append(symusic.TimeSignature(metre.tick, metre.count, metre.unit))
    for key in score.keys:
        made.key_signatures.append(symusic.KeySignature(key.tick, key.sharps, int(key.minor)))
    for marker in score.markers:
        made.markers.append(symusic.TextMeta(marker.tick, marker.text))
    for track in score.tracks:
        made.tracks.append(_track_of(track))
    return made


def encode_score(score: MidiScore) -> bytes:
    """A Standard MIDI File of the score."""
    return bytes(library_score(score).dumps_midi())
