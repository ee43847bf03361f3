"""MIDI held to an independent reader.

Source: mido (PyPI), which reads the same bytes message by message; files made by music21's and by mido's writers from
traditional tunes of music21's corpus (Ryan's Mammoth Collection, public domain), and random ones.
"""

import glob
import importlib.util
import io
import os
import random
from fractions import Fraction

import mido
import pytest

from reedpath.readers import read_phrase
from support.written_sources import midi_file

pytestmark = pytest.mark.outside

MUSIC21 = os.path.dirname(importlib.util.find_spec("music21").origin)
# every so many-th tune of the collection
TUNES = sorted(glob.glob(os.path.join(MUSIC21, "corpus", "ryansMammoth", "*.abc")))[::150]


def by_mido(data: bytes, *, track: int) -> list[tuple[Fraction, Fraction, int]]:
    """Notes of one track: onset and duration in quarter notes, MIDI number; the first struck is the first let go.

    music21 writes the end of a grace note before its beginning, at the same tick: put in order here.
    """
    file = mido.MidiFile(file=io.BytesIO(data))
    tick, held, notes, early = 0, {}, [], set()
    for message in file.tracks[track]:
        tick += message.time
        if message.type not in ("note_on", "note_off"):
            continue
        if message.type == "note_off" and not held.get((message.channel, message.note)):
            early.add((tick, message.note))
            continue
        if message.type == "note_on" and (tick, message.note) in early:
            early.discard((tick, message.note))
            continue
        key = (message.channel, message.note)
        if message.type == "note_on" and message.velocity:
            held.setdefault(key, []).append(tick)
        elif held.get(key):
            start = held[key].pop(0)
            notes.append((Fraction(start, file.ticks_per_beat), Fraction(tick - start, file.ticks_per_beat), key[1]))
    return sorted(note for note in notes if note[1])


def ours(data: bytes, **options) -> list[tuple[Fraction, Fraction, int]]:
    phrase = read_phrase(data, format="midi", options=options)
    return sorted((event.onset, event.duration, midi) for event in phrase.events for midi in event.midi)


@pytest.mark.parametrize("path", TUNES, ids=os.path.basename)
def test_tunes_written_by_music21_are_read_note_for_note(path):
    from music21 import converter, midi

    data = midi.translate.streamToMidiFile(converter.parse(path).parts.first()).writestr()
    expected = by_mido(data, track=1)
    assert len(expected) > 50
    assert ours(data) == expected


def random_notes(seed: int) -> list[tuple[int, ...]]:
    """Notes of one track, none of the same pitch at once."""
    chance = random.Random(seed)
    messages: list[tuple[int, ...]] = []
    free = dict.fromkeys(range(128), 0)
    for _ in range(200):
        midi = chance.randrange(128)
        start = free[midi] + chance.randrange(1, 700)
        end = start + chance.randrange(1, 900)
        free[midi] = end
        messages += [(start, 0x90, midi, chance.randrange(1, 128)), (end, 0x80, midi, chance.randrange(128))]
    return messages


@pytest.mark.parametrize("seed", range(10))
def test_random_tracks_are_read_note_for_note(seed):
    division = random.Random(seed).choice((24, 96, 220, 480, 960))
    data = midi_file([], random_notes(seed), division=division)
    assert ours(data) == by_mido(data, track=1)


def test_a_file_written_by_mido_keeps_its_maps():
    file = mido.MidiFile(type=1, ticks_per_beat=220)
    conductor, lead = mido.MidiTrack(), mido.MidiTrack()
    file.tracks += [conductor, lead]
    conductor += [
        mido.MetaMessage("track_name", name="Own"),
        mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(96)),
        mido.MetaMessage("time_signature", numerator=7, denominator=8),
        mido.MetaMessage("key_signature", key="F#m"),
        mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(60), time=440),
        mido.MetaMessage("marker", text="B"),
    ]
    lead += [
        mido.Message("note_on", note=66, velocity=90),
        mido.Message("pitchwheel", pitch=4096, time=100),
        mido.Message("note_off", note=66, time=120),
    ]
    written = io.BytesIO()
    file.save(file=written)
    phrase = read_phrase(written.getvalue())
    assert phrase.title == "Own"
    assert [(tempo.onset, tempo.bpm) for tempo in phrase.tempos] == [(0, 96.0), (2, 60.0)]
    assert [(metre.count, metre.unit) for metre in phrase.metres] == [(7, 8)]
    assert (phrase.key.tonic, phrase.key.mode) == (6, "minor")
    # half of the usual range of two semitones either way (General MIDI 1) is one semitone
    assert [(event.midi, event.ornaments.bend_in) for event in phrase.events] == [((67,), 1)]
