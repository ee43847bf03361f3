from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import Place
from reedpath.hear import (
    HeardNote,
    KnownRhythm,
    find_beats,
    given_beats,
    hear_notes,
    write_down,
)
from reedpath.phrase import Metre
from support.examples import examples
from support.reed_tones import tune

NOTHING = np.zeros(0)


def heard(start, length, midi=69, *, level=-10.0, confidence=1.0, cents=0.0):
    return HeardNote(start, start + length, midi, cents, confidence, level, True, NOTHING, NOTHING)


def played(beats, bpm, *, lead_in=0.5, scatter=0.0, seed=0):
    """Notes from (onset, duration) in beats."""
    rng = np.random.default_rng(seed)
    period = 60 / bpm
    return [
        heard(lead_in + onset * period + rng.normal(0, scatter), 0.9 * length * period, 60 + i % 5)
        for i, (onset, length) in enumerate(beats)
    ]


QUARTERS_AND_EIGHTHS = [
    (onset + 4 * bar, length) for bar in range(3) for onset, length in [(0, 1), (1, 0.5), (1.5, 0.5), (2, 1), (3, 1)]
]


@pytest.mark.parametrize("bpm", [72, 96, 120, 138])
def test_a_plain_rhythm_gives_its_tempo(bpm):
    beats = find_beats(played(QUARTERS_AND_EIGHTHS, bpm, scatter=0.008))
    assert beats.bpm == pytest.approx(bpm, rel=0.02)
    assert 0 <= beats.confidence <= 1
    on_beat = [0.5 + onset * 60 / bpm for onset, _ in QUARTERS_AND_EIGHTHS if onset == int(onset)]
    nearest = np.abs(np.subtract.outer(on_beat, beats.seconds)).min(axis=1)
    assert nearest.max() < 0.05


def test_too_few_notes_tell_no_beat():
    assert find_beats(played([(0, 1), (1, 1), (2, 1)], 100)) is None


@examples(50)
@given(st.floats(30, 300), st.floats(0, 5), st.floats(0, 20))
def test_given_beats_cover_the_stretch(bpm, first, length):
    beats = given_beats(bpm, first_seconds=first, end_seconds=first + length)
    assert beats.seconds[0] <= 0.0 + 1e-9
    assert beats.seconds[-1] >= first + length - 1e-9
    assert np.abs(np.array(beats.seconds) - first).min() < 1e-9
    assert np.diff(beats.seconds) == pytest.approx(60 / bpm)


def test_a_tempo_of_nothing_is_a_fault():
    with pytest.raises(ValueError, match="over 0, not 0"):
        given_beats(0, first_seconds=0, end_seconds=1)


def test_the_rhythm_is_written_as_played():
    written = write_down(played(QUARTERS_AND_EIGHTHS, 100, scatter=0.008))
    assert [event.onset for event in written.phrase.events] == [Fraction(b) for b, _ in QUARTERS_AND_EIGHTHS]
    assert [event.duration for event in written.phrase.events] == [Fraction(d) for _, d in QUARTERS_AND_EIGHTHS]
    assert written.phrase.tempos[0].bpm == pytest.approx(100, rel=0.02)
    assert written.phrase.tempos[0].bpm % 1 == 0  # as a metronome is set, and files are named
    assert written.phrase.swing == 1
    assert written.beats.seconds[written.first_beat] == pytest.approx(0.5, abs=0.05)


def test_how_far_the_playing_strays_from_what_is_written_is_told():
    # every second note is a twentieth of a beat late
    notes = [heard(0.5 + 0.5 * n + (0.025 if n % 2 else 0.0), 0.4) for n in range(8)]
    strict = [heard(0.5 + 0.5 * n, 0.4) for n in range(8)]
    known = KnownRhythm(bpm=120)
    assert write_down(strict, known=known).stray_beats == pytest.approx(0.0, abs=1e-6)
    assert 0.02 < write_down(notes, known=known).stray_beats < 0.05


def test_a_shuffle_is_written_straight_and_named():
    swung = [(b + o, d) for b in range(12) for o, d in ((0, 2 / 3), (2 / 3, 1 / 3))]
    written = write_down(played(swung, 90, scatter=0.005), known=KnownRhythm(bpm=90))
    assert written.phrase.swing > Fraction(3, 2)
    assert {event.onset % 1 for event in written.phrase.events} == {Fraction(0), Fraction(1, 2)}


def test_what_is_known_is_kept():
    known = KnownRhythm(
        beat_seconds=tuple(0.1 + 0.55 * n for n in range(20)), swing=Fraction(1), metre=Metre(Fraction(0), 3, 4)
    )
    written = write_down(played(QUARTERS_AND_EIGHTHS, 60 / 0.55, lead_in=0.1 + 0.55), known=known)
    assert written.phrase.metres == (Metre(Fraction(0), 3, 4),)
    assert written.phrase.tempos[0].bpm == pytest.approx(60 / 0.55, abs=0.1)
    assert written.first_beat == 1
    assert written.phrase.events[0].onset == 0


def test_notes_of_one_start_are_one_event():
    notes = [heard(0.5, 0.5, 52, cents=4), heard(0.51, 0.5, 59, cents=-3), heard(1.0, 0.5, 55)]
    events = write_down(notes, known=KnownRhythm(bpm=120)).phrase.events
    assert [event.midi for event in events] == [(52, 59), (55,)]
    assert events[0].cents == (4.0, -3.0)
    assert events[0].place == Place(seconds=0.5)


def test_the_loudest_is_accented():
    notes = [heard(0.5 * n, 0.4, level=-20 if n != 2 else -8) for n in range(6)]
    events = write_down(notes, known=KnownRhythm(bpm=120)).phrase.events
    assert [event.ornaments.accent for event in events] == [False, False, True, False, False, False]


def test_a_note_before_the_first_beat_is_not_lost():
    notes = [heard(0.4, 0.1), *(heard(0.5 + 0.5 * n, 0.4) for n in range(4))]
    known = KnownRhythm(beat_seconds=tuple(0.5 * n for n in range(1, 8)))
    events = write_down(notes, known=known).phrase.events
    assert len(events) == 5
    assert events[0].onset >= 0
    assert events[1].onset % 1 == 0


def test_nothing_heard_is_an_empty_phrase_that_says_so():
    written = write_down([])
    assert (written.phrase.events, written.beats, written.key.key) == ((), None, None)
    assert written.phrase.left_out[-1].what == "nothing with a pitch was heard"


def test_doubtful_notes_are_left_out_by_name():
    notes = [heard(0.5 * n, 0.4, confidence=0.1 if n == 1 else 0.9) for n in range(6)]
    written = write_down(notes, known=KnownRhythm(bpm=120))
    assert len(written.phrase.events) == 5
    assert written.phrase.left_out[0].count == 1


def test_a_note_that_may_be_an_octave_is_marked_and_said_to_be():
    notes = [replace(heard(0.5 * n, 0.4), octave_doubtful=n in (1, 4)) for n in range(6)]
    phrase = write_down(notes, known=KnownRhythm(bpm=120)).phrase
    assert [place for place, event in enumerate(phrase.events) if event.doubtful] == [1, 4]
    assert [(one.kind, one.place.seconds) for one in phrase.left_out] == [
        ("doubtful-octaves", 0.5),
        ("doubtful-octaves", 2.0),
    ]


def test_few_notes_are_written_at_a_beat_a_second():
    written = write_down([heard(0.2, 0.3), heard(1.2, 0.3)])
    assert [event.onset for event in written.phrase.events] == [0, 1]
    assert written.beats.confidence == 0.0


def test_a_scale_from_sound_to_phrase_and_key():
    scale = [60, 62, 64, 65, 67, 69, 71, 72, 71, 69, 67, 65, 64, 62, 60]
    written = write_down(hear_notes(tune(scale, seconds=0.45, gap=0.05)))
    assert [event.midi for event in written.phrase.events] == [(midi,) for midi in scale]
    assert len({event.duration for event in written.phrase.events[:-1]}) == 1
    assert (written.phrase.key.tonic, written.phrase.key.mode) == (0, "major")
