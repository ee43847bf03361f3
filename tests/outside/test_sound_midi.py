"""The MIDI file read back with an independent reader, mido (MIT), against the phrase.

Standard MIDI File 1.0 and General MIDI (MMA): harmonica is program 22 counted from 0; registered parameter 0,0
sets the pitch wheel's range.
"""

from __future__ import annotations

import io
from fractions import Fraction

import mido
import pytest
from msgspec.structs import replace

from reedpath.harp import format_move, midi_of
from reedpath.lesson import Lesson, LessonPart
from reedpath.phrase import Metre, Tempo
from reedpath.pitch import Key
from reedpath.sound import encode_midi
from support.built_routes import built_lesson, built_route

pytestmark = pytest.mark.outside


def read(lesson: Lesson) -> tuple[mido.MidiFile, list[tuple[int, mido.Message]]]:
    """The file and its messages, each with its tick."""
    file = mido.MidiFile(file=io.BytesIO(encode_midi(lesson)), charset="utf8")
    tick, found = 0, []
    for message in mido.merge_tracks(file.tracks):
        tick += message.time
        found.append((tick, message))
    return file, found


def notes(messages: list[tuple[int, mido.Message]]) -> list[tuple[int, int, int]]:
    """Start, length and number of each note, in order."""
    open_at: dict[int, int] = {}
    found = []
    for tick, message in messages:
        if message.type == "note_on" and message.velocity > 0:
            open_at[message.note] = tick
        elif message.type in ("note_off", "note_on"):
            found.append((open_at[message.note], tick - open_at.pop(message.note), message.note))
    assert not open_at
    return sorted(found)


def wanted_notes(lesson: Lesson, per_beat: int) -> list[tuple[Fraction, Fraction, int]]:
    return sorted(
        (one.event.onset * per_beat, one.event.duration * per_beat, midi)
        for one in lesson.route.events
        for midi in midi_of(lesson.route.harp, one.choice.move)
    )


def test_notes_stand_on_exact_ticks() -> None:
    route = built_route("2d:1/3 3d':1/3 4b:1/3 4d':1/5 4d:4/5 r:1/7 (1 2 3)d:6/7 6b:3/16 [1 4]b:13/16", key="A")
    lesson = built_lesson(route)
    file, messages = read(lesson)
    assert file.ticks_per_beat % (16 * 3 * 5 * 7) == 0
    assert notes(messages) == wanted_notes(lesson, file.ticks_per_beat)


def test_swung_notes_are_played_late_and_triplets_as_written() -> None:
    route = built_route("2d 3d 4b 4d 2d:1/3 3d:1/3 4b:1/3", swing=Fraction(2))
    file, messages = read(built_lesson(route))
    starts = [Fraction(start, file.ticks_per_beat) for start, _, _ in notes(messages)]
    third = Fraction(1, 3)
    assert starts == [0, 2 * third, 1, 1 + 2 * third, 2, 2 + third, 2 + 2 * third]


def test_it_carries_instrument_tempo_metre_key_parts_and_tab() -> None:
    route = built_route(
        "2d:1 3d':1 4b:2 2d:3 4d:3",
        key="A",
        metres=(Metre(Fraction(0), 4, 4), Metre(Fraction(4), 6, 8)),
        tempos=(Tempo(Fraction(0), 90.0), Tempo(Fraction(4), 120.0)),
        music_key=Key(4),
    )
    parts = (LessonPart("A", 0, 2), LessonPart("B", 3, 4))
    lesson = replace(built_lesson(route), parts=parts)
    file, messages = read(lesson)
    beat = file.ticks_per_beat
    kinds = {kind: [(t, m) for t, m in messages if m.type == kind] for kind in {m.type for _, m in messages}}
    assert [m.program for _, m in kinds["program_change"]] == [22]
    assert [(t, round(mido.tempo2bpm(m.tempo), 2)) for t, m in kinds["set_tempo"]] == [
        (0, 90.0),
        (4 * beat, 120.0),
    ]
    assert [(t, m.numerator, m.denominator) for t, m in kinds["time_signature"]] == [
        (0, 4, 4),
        (4 * beat, 6, 8),
    ]
    assert [m.key for _, m in kinds["key_signature"]] == ["E"]
    assert [(t, m.text) for t, m in kinds["marker"]] == [(0, "A"), (4 * beat, "B")]
    assert [m.text for _, m in kinds["lyrics"]] == [format_move(one.choice.move, "sign") for one in route.events]


@pytest.mark.parametrize(
    ("key", "name"),
    [(Key(0), "C"), (Key(5), "F"), (Key(6), "F#"), (Key(9, "minor"), "Am"), (Key(3), "Eb"), (Key(7, "minor"), "Gm")],
)
def test_key_signatures_have_their_usual_names(key: Key, name: str) -> None:
    _, messages = read(built_lesson(built_route("2d:1", music_key=key)))
    assert [m.key for _, m in messages if m.type == "key_signature"] == [name]


def test_a_pickup_is_a_short_bar_of_its_own() -> None:
    file, messages = read(built_lesson(built_route("2d:1 3d':1 4b:3", pickup=Fraction(1))))
    assert [(t, m.numerator, m.denominator) for t, m in messages if m.type == "time_signature"] == [
        (0, 1, 4),
        (file.ticks_per_beat, 4, 4),
    ]


def test_bends_are_wheel_curves_with_the_range_told_first() -> None:
    file, messages = read(built_lesson(built_route("4b:1 3d:2^3 4b:1", bpm=60.0)))
    told = [(m.control, m.value) for _, m in messages if m.type == "control_change"]
    assert told[:3] == [(101, 0), (100, 0), (6, 12)]
    wheel = [(t / file.ticks_per_beat, 12 * m.pitch / 8192) for t, m in messages if m.type == "pitchwheel"]
    assert wheel[0] == (1.0, pytest.approx(-3.0, abs=0.01))
    values = [value for _, value in wheel]
    assert values == sorted(values)
    assert wheel[-1][1] == 0.0
    assert wheel[-1][0] < 1.5
    first_bend = next(index for index, (_, m) in enumerate(messages) if m.type == "pitchwheel")
    assert all(m.type != "control_change" for _, m in messages[first_bend:])


def test_chords_are_never_bent_by_a_neighbours_wheel() -> None:
    file, messages = read(built_lesson(built_route("3d:1_2 (1 2 3)d:1 3d'':1/2 3d:1/2 (4 5)d:1")))
    value, sounding = 0, []
    for tick, message in messages:
        if message.type == "pitchwheel":
            value = message.pitch
        if message.type == "note_on":
            sounding.append((tick / file.ticks_per_beat, value))
    assert [value for tick, value in sounding if tick in (1.0, 3.0)] == [0] * 5


def test_an_empty_lesson_is_an_empty_file() -> None:
    _, messages = read(built_lesson(built_route("")))
    assert notes(messages) == []
