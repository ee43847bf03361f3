import numpy as np
import pytest

from reedpath.hear import HeardNote, has_vibrato, hear_notes, ornaments_of
from reedpath.signal import Samples, concatenated, mixed, silence
from support.reed_tones import RATE, pluck, reed_tone, tune


def spelled(notes):
    return [note.midi for note in notes]


def bent(shape, seconds=0.8, base=69):
    """One note whose pitch goes through (seconds, semitones) points."""
    times = np.arange(round(seconds * RATE)) / RATE
    curve = base + np.interp(times, *zip(*shape, strict=True))
    pause = silence(0.3, rate=RATE)
    return concatenated([pause, reed_tone(curve, seconds), pause])


def test_a_tune_comes_back():
    pitches = [62, 64, 66, 67, 69, 71, 73, 74]
    notes = hear_notes(tune(pitches))
    assert spelled(notes) == pitches
    for number, note in enumerate(notes):
        assert note.start_seconds == pytest.approx(0.25 + 0.45 * number, abs=0.02)
        assert note.end_seconds == pytest.approx(0.65 + 0.45 * number, abs=0.03)
        assert note.cents == pytest.approx(0, abs=1)
        assert note.confidence > 0.9
        assert len(note.contour_midi) == len(note.contour_seconds) > 30


def test_a_note_repeated_is_two_notes():
    assert spelled(hear_notes(tune([69, 69, 69]))) == [69, 69, 69]
    assert spelled(hear_notes(tune([52, 52, 52], make=pluck, gap=0))) == [52, 52, 52]


def test_a_legato_tune_is_parted_by_its_pitches():
    notes = hear_notes(tune([69, 71, 72, 76], gap=0))
    assert spelled(notes) == [69, 71, 72, 76]


def test_cents_are_kept():
    (note,) = hear_notes(tune([69.37]))
    assert (note.midi, note.cents) == (69, pytest.approx(37, abs=1))
    assert note.pitch_midi == pytest.approx(69.37, abs=0.01)


def test_a_slow_bend_is_one_note_with_its_contour():
    (note,) = hear_notes(bent([(0, -2), (0.06, -2), (0.2, 0), (0.8, 0)]))
    assert note.midi == 69
    assert note.contour_midi.min() == pytest.approx(67, abs=0.3)


@pytest.mark.parametrize("sound", [silence(2, rate=RATE), Samples(np.zeros((0, 1)), RATE)])
def test_silence_has_no_notes(sound):
    assert hear_notes(sound) == ()


@pytest.mark.parametrize(
    ("shape", "field", "value"),
    [
        ([(0, -2), (0.06, -2), (0.2, 0), (0.8, 0)], "bend_in", 2),
        ([(0, -1), (0.06, -1), (0.18, 0), (0.8, 0)], "bend_in", 1),
        ([(0, 1), (0.06, 1), (0.2, 0), (0.8, 0)], "slide_from", 70),
        ([(0, 0), (0.55, 0), (0.7, -1), (0.8, -1)], "release", 1),
        ([(0, 0), (0.55, 0), (0.7, 2), (0.8, 2)], "slide_to", 71),
    ],
)
def test_a_contour_tells_its_ornament(shape, field, value):
    (note,) = hear_notes(bent(shape))
    assert getattr(ornaments_of(note), field) == value


def test_a_plain_note_has_no_ornament():
    notes = hear_notes(tune([69, 72, 65, 69], gap=0))
    assert [bool(ornaments_of(note)) for note in notes] == [False] * 4


@pytest.mark.parametrize(("hz", "cents", "heard"), [(5.5, 25, True), (5.5, 4, False), (1.5, 40, False)])
def test_vibrato_is_a_motion_of_some_depth_and_speed(hz, cents, heard):
    times = np.arange(RATE) / RATE
    curve = 69 + cents / 100 * np.sin(2 * np.pi * hz * times)
    (note,) = hear_notes(concatenated([silence(0.2, rate=RATE), reed_tone(curve, 1.0)]))
    assert has_vibrato(note) is heard


@pytest.mark.parametrize("stop", [(52, 59), (52, 56), (55, 64), (57, 60, 64), (48, 57)])
def test_strings_struck_together_are_heard_apart(stop):
    struck = mixed([pluck(midi, 0.8, level=0.2) for midi in stop])
    sound = concatenated([silence(0.3, rate=RATE), struck, silence(0.3, rate=RATE)])
    notes = hear_notes(sound, chords=True)
    assert spelled(notes) == list(stop)
    assert len({note.start_seconds for note in notes}) == 1
    assert all(abs(note.cents) < 10 for note in notes)


def test_one_string_alone_stays_one_note_with_its_contour():
    notes = hear_notes(tune([52, 57, 50], make=pluck, seconds=0.6), chords=True)
    assert spelled(notes) == [52, 57, 50]
    assert all(len(note.contour_midi) > 10 for note in notes)


def bent_string(midi, up, slow):
    """A plucked string that is struck bent and let go, or struck low and bent up, by semitones within seconds."""
    times = np.arange(round(0.8 * RATE)) / RATE
    curve = midi + np.interp(times, (0.0, 0.05, 0.05 + slow, 0.8), (-up, -up, 0.0, 0.0))
    phase = 2 * np.pi * np.cumsum(440 * 2 ** ((curve - 69) / 12)) / RATE
    tone = sum(np.sin(n * phase + n) / n * np.exp(-times * (2 + 0.6 * n)) for n in range(1, 13))
    return Samples(0.2 * tone, RATE)


@pytest.mark.parametrize("up", [1, 2, 3])
def test_a_string_that_is_bent_is_one_string(up):
    pause = silence(0.3, rate=RATE)
    for slow in (0.1, 0.25):
        sound = concatenated([pause, bent_string(60, up, slow), pause])
        assert spelled(hear_notes(sound, chords=True)) == [60]


@pytest.mark.parametrize(("first", "second", "seconds"), [(52, 57, 0.12), (55, 64, 0.12), (50, 54, 0.14)])
def test_quick_notes_in_turn_do_not_sound_together(first, second, seconds):
    pause = silence(0.3, rate=RATE)
    notes = hear_notes(concatenated([pause, pluck(first, seconds), pluck(second, 0.6), pause]), chords=True)
    assert spelled(notes) == [first, second]
    assert notes[1].start_seconds - notes[0].start_seconds == pytest.approx(seconds, abs=0.03)


def contour_note(off):
    """A note whose pitch is off A4 by so many semitones, frame by frame."""
    midi = 69.0 + np.asarray(off, dtype=np.float64)
    seconds = 0.01 * np.arange(len(midi))
    return HeardNote(0.0, 0.01 * len(midi), 69, 0.0, 1.0, -20.0, True, seconds, midi)


@pytest.mark.parametrize(("gliding", "bend"), [(6, 1), (12, 1), (13, 0)])
def test_a_bend_into_a_note_takes_six_tenths_of_it_at_most(gliding, bend):
    # the first frame and the last two are blurred by what stands beside the note
    off = [0.0, *[-1.0] * (gliding - 3), -0.75, -0.5, -0.3, *[0.0] * (20 - gliding), 0.0, 0.0]
    assert ornaments_of(contour_note(off)).bend_in == bend


@pytest.mark.parametrize(
    ("start", "bend", "slide"), [(-0.4, 0, None), (-3.0, 3, None), (-4.0, 0, 65), (0.8, 0, 70), (-12.5, 0, None)]
)
def test_a_wide_glide_is_a_slide_and_a_narrow_one_nothing(start, bend, slide):
    off = [0.0, *[start] * 4, 0.7 * start, 0.5 * start, 0.3 * start, *[0.0] * 20]
    found = ornaments_of(contour_note(off))
    assert (found.bend_in, found.slide_from) == (bend, slide)


def test_a_leap_seen_too_late_is_no_glide():
    assert not ornaments_of(contour_note([0.0, *[-2.0] * 4, -1.0, *[0.0] * 20]))
    assert not ornaments_of(contour_note([-2.0] * 8))


def test_pitches_struck_together_have_their_cents():
    struck = mixed([pluck(midi, 0.8, level=0.2) for midi in (52.2, 58.8)])
    notes = hear_notes(concatenated([silence(0.3, rate=RATE), struck, silence(0.3, rate=RATE)]), chords=True)
    assert spelled(notes) == [52, 59]
    assert [note.cents for note in notes] == [pytest.approx(20, abs=4), pytest.approx(-20, abs=4)]
    assert all(note.attacked for note in notes)
    assert all(0.5 < note.confidence <= 1.0 for note in notes)
    assert [note.contour_midi[0] for note in notes] == [note.pitch_midi for note in notes]


@pytest.mark.parametrize(("low", "high", "fades"), [(52, 59, 0.5), (52, 64, 0.4)])
def test_strings_struck_together_are_one_event_though_one_fades_first(low, high, fades):
    fading = concatenated([pluck(high, fades, level=0.4), silence(1.2 - fades, rate=RATE)])
    struck = mixed([pluck(low, 1.2, level=0.2), fading])
    notes = hear_notes(concatenated([silence(0.3, rate=RATE), struck, silence(0.3, rate=RATE)]), chords=True)
    assert spelled(notes) == [low, high]
    assert notes[0].start_seconds == notes[1].start_seconds
    assert notes[0].end_seconds == notes[1].end_seconds > 0.9
