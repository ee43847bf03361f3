"""The sound of a play-along against independent judges.

Pitch: Praat's autocorrelation method (Boersma 1993), through praat-parselmouth, which knows nothing of us.
Beats of chords: the arithmetic of the trade facts, section 4 (an equal-tempered major third C5-E5 beats at
20.8 Hz at its common partial; a pure 5/4 does not beat).
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import parselmouth
import pytest

from reedpath.harp import Breath, load_temperament, make_harp, sound_of
from reedpath.pitch import ratio_to_cents
from reedpath.sound import Contour, Tone, lay_out, play_along, render_tones
from support.built_routes import built_lesson, built_route

pytestmark = pytest.mark.outside

# cents; the main job's bound is 5, ours 3 (issue texts)
PITCH_TOLERANCE_CENTS = 3.0
LICK = (
    "2d 3d' 4b 4d' 4d:1 r 5d 4d 4b 3d'' 3d:1~ 2d:3/2 r 2d'' 2d' 1d:1 r 1b:1 3d''' 2b "
    "6b 6bo 8b' 9b 9b' 10b'':1 r 7b 7d:1 5b:1~"
)


def praat_hz(samples: np.ndarray, rate: int, start: float, end: float) -> np.ndarray:
    """Praat's pitch between two times, voiced frames only."""
    margin = 0.05
    first = max(0.0, start - margin)
    cut = samples[int(first * rate) : int((end + margin) * rate)].astype(np.float64)
    pitch = parselmouth.Sound(cut, rate).to_pitch_ac(time_step=0.004, pitch_floor=110.0, pitch_ceiling=3400.0)
    times, hz = pitch.xs() + first, pitch.selected_array["frequency"]
    return hz[(times >= start) & (times <= end) & (hz > 0)]


@pytest.mark.parametrize("key", ["G", "A", "C", "F"])
def test_each_note_sounds_what_the_route_says(key: str) -> None:
    harp = make_harp(key, temperament=load_temperament("19-limit-second-third"), a4_hz=442.0)
    route = built_route(LICK, harp=harp, bpm=96.0)
    lesson = built_lesson(route, factors=(1.0,))
    layout, sound = lay_out(lesson, lesson.ladder[0]), play_along(lesson, lesson.ladder[0])
    mono = sound.mono().array[:, 0]
    off = []
    for one, span in zip(route.events, layout.plan.spans, strict=True):
        start, end = span.start_seconds + layout.zero_seconds, span.end_seconds + layout.zero_seconds
        heard = praat_hz(mono, sound.rate, start + 0.35 * (end - start), end - 0.3 * (end - start))
        assert len(heard) > 5, one
        off.append(ratio_to_cents(float(np.median(heard)) / sound_of(harp, one.choice.move).hz[0]))
    assert np.max(np.abs(off)) < PITCH_TOLERANCE_CENTS, off


def test_a_note_attacked_bent_is_let_go_and_a_release_falls() -> None:
    route = built_route("3d:2^2 r 2d:2_2", bpm=60.0)
    lesson = built_lesson(route, factors=(1.0,))
    layout, sound = lay_out(lesson, lesson.ladder[0]), play_along(lesson, lesson.ladder[0])
    mono, zero = sound.mono().array[:, 0], layout.zero_seconds
    reed = [sound_of(route.harp, one.choice.move).hz[0] for one in route.events]
    start = ratio_to_cents(float(np.median(praat_hz(mono, sound.rate, zero + 0.015, zero + 0.035))) / reed[0])
    held = ratio_to_cents(float(np.median(praat_hz(mono, sound.rate, zero + 0.5, zero + 1.8))) / reed[0])
    fallen_at = zero + layout.plan.spans[1].end_seconds
    end = ratio_to_cents(float(np.median(praat_hz(mono, sound.rate, fallen_at - 0.04, fallen_at))) / reed[1])
    assert start == pytest.approx(-200.0, abs=35.0)  # the reed also starts to speak a little flat
    assert held == pytest.approx(0.0, abs=PITCH_TOLERANCE_CENTS)
    assert end == pytest.approx(-200.0, abs=15.0)


def test_notes_of_one_hole_glide_without_a_break() -> None:
    route = built_route("3d'':1 3d:1", bpm=60.0)
    lesson = built_lesson(route, factors=(1.0,))
    layout, sound = lay_out(lesson, lesson.ladder[0]), play_along(lesson, lesson.ladder[0])
    mono, border = sound.mono().array[:, 0], layout.zero_seconds + layout.plan.spans[1].start_seconds
    hz = praat_hz(mono, sound.rate, border - 0.1, border + 0.1)
    cents = 1200 * np.log2(hz / sound_of(route.harp, route.events[0].choice.move).hz[0])
    assert cents[0] == pytest.approx(0.0, abs=5.0)
    assert cents[-1] == pytest.approx(200.0, abs=5.0)
    between = (cents > 20) & (cents < 180)
    assert 4 <= between.sum() <= 20  # 16 to 80 ms on the way, at 4 ms a frame
    assert np.all(np.diff(cents) > -5.0)
    level = np.sqrt(np.convolve(mono**2, np.ones(882) / 882, "same"))
    near = level[int((border - 0.1) * sound.rate) : int((border + 0.1) * sound.rate)]
    assert near.min() > 0.5 * near.max()


def third_beat_depth_and_hz(samples: np.ndarray, rate: int, centre_hz: float) -> tuple[float, float]:
    """How deep, 0 to 1, and how often a second the level near a partial goes up and down."""
    times = np.arange(len(samples)) / rate
    low = samples * np.exp(-2j * np.pi * centre_hz * times)
    width = int(0.02 * rate)
    envelope = np.abs(np.convolve(low, np.hanning(width) / width, "same"))[width:-width:64]
    lines = np.abs(np.fft.rfft((envelope - envelope.mean()) * np.hanning(len(envelope)), 1 << 15))
    axis = np.fft.rfftfreq(1 << 15, 64 / rate)
    found = axis > 3.0
    beat = float(axis[found][np.argmax(lines[found])])
    return float((envelope.max() - envelope.min()) / (envelope.max() + envelope.min())), beat


@pytest.mark.parametrize(("name", "beats"), [("equal", True), ("5-limit-first", False)])
def test_a_blown_third_beats_as_its_temperament_says(name: str, beats: bool) -> None:
    harp = make_harp("C", temperament=load_temperament(name))
    route = built_route("(4 5)b:8", harp=harp, bpm=120.0)
    tones = [
        Tone(0.1, 4.0, Contour((0.1,), (hz,)), hz, Breath.BLOW, seed=3)
        for hz in sound_of(harp, route.events[0].choice.move).hz
    ]
    sound = render_tones(tones, seconds=4.2)[22050 : 22050 + 3 * 44100]
    low, high = sound_of(harp, route.events[0].choice.move).hz
    depth, beat = third_beat_depth_and_hz(sound.astype(np.float64), 44100, (5 * low + 4 * high) / 2)
    if beats:
        assert beat == pytest.approx(20.8, abs=0.5)
        assert depth > 0.15
    else:
        assert abs(5 * low - 4 * high) < 0.01
        assert depth < 0.15


def test_an_octave_split_beats_by_its_stretch() -> None:
    # 2 cents an octave: 0.000578 x 2 x 523.25 = 0.6 Hz (trade facts, section 4)
    harp = make_harp("C", stretch_cents=2.0)
    route = built_route("[1 4]b:8", harp=harp)
    low, high = sound_of(harp, route.events[0].choice.move).hz
    assert high - 2 * low == pytest.approx(0.6, abs=0.02)


def test_onsets_fall_where_the_layout_says() -> None:
    route = built_route("2d r 4b r 4d r 5d r 6b r 3d r 8d r 1b r 9b:1", key="C", bpm=80.0, swing=Fraction(2))
    lesson = built_lesson(route, factors=(1.0,))
    layout, sound = lay_out(lesson, lesson.ladder[0]), play_along(lesson, lesson.ladder[0])
    mono = sound.mono().array[:, 0].astype(np.float64)
    level = np.sqrt(np.convolve(mono**2, np.hanning(176) / np.hanning(176).sum(), "same"))
    late = []
    for span in layout.plan.spans:
        at = layout.zero_seconds + span.start_seconds
        first, last = int((at - 0.05) * sound.rate), int((at + 0.15) * sound.rate)
        held = np.median(level[last : last + 2000])
        late.append(first / sound.rate + np.argmax(level[first:last] > 0.25 * held) / sound.rate - at)
    assert np.max(np.abs(late)) < 0.008, late
    assert abs(np.mean(late)) < 0.005, late
