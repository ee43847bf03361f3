"""The reed voice: what force, breath, bend and vibrato do to a tone, and that it is clean and repeatable."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.data import shipped_text
from reedpath.errors import SettingsError
from reedpath.harp import Breath
from reedpath.pitch import midi_to_hz
from reedpath.sound import Attack, Contour, Tone, Vibrato, render_tones, voice
from reedpath.sound.curves import HOP, Curves
from reedpath.sound.spectrum import TABLE_POINTS, dull_weight, partial_levels_db
from reedpath.sound.tones import glide
from reedpath.sound.voice_data import VoiceData, load_voice, parse_voice
from support.examples import examples

RATE = 44_100


def tone(midi: float = 69.0, *, seconds: float = 1.0, breath: Breath = Breath.DRAW, **more: object) -> Tone:
    hz = midi_to_hz(midi)
    fields = {"reed_hz": hz, "contour": Contour((0.1,), (hz,)), **more}
    return Tone(0.1, 0.1 + seconds, breath=breath, **fields)


def held(one: Tone) -> np.ndarray:
    return render_tones([one], seconds=one.end_seconds + 0.3)[int(0.35 * RATE) : int(one.end_seconds * RATE)]


def centroid_hz(sound: np.ndarray) -> float:
    power = np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) ** 2
    return float(np.sum(power * np.fft.rfftfreq(len(sound), 1 / RATE)) / power.sum())


def test_more_force_is_louder_and_brighter() -> None:
    levels, colours = [], []
    for force in (0.3, 0.5, 0.7, 0.9):
        sound = held(tone(force=force))
        levels.append(20 * np.log10(np.sqrt(np.mean(sound**2))))
        colours.append(centroid_hz(sound))
    assert np.all(np.diff(levels) > 2.0)
    assert np.all(np.diff(colours) > 50.0)


def test_pitch_does_not_follow_force() -> None:
    # an unbent free reed's frequency is practically independent of loudness (Pykett, "The physics of free reeds")
    peaks = []
    for force in (0.3, 0.95):
        sound = held(tone(69, seconds=3.0, force=force))
        lines = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), 1 << 20))
        low, high = (int(edge * (1 << 20) / RATE) for edge in (430, 450))
        peaks.append((low + np.argmax(lines[low:high])) * RATE / (1 << 20))
    assert peaks[0] == pytest.approx(peaks[1], abs=0.1)


def test_blow_and_draw_differ() -> None:
    blow, draw = (held(tone(breath=breath, seed=4)) for breath in (Breath.BLOW, Breath.DRAW))
    assert centroid_hz(draw) > centroid_hz(blow)
    assert np.std(blow - draw) > 0.02 * np.std(blow)


def test_a_bent_note_is_duller_than_the_same_pitch_unbent() -> None:
    bent = tone(69, reed_hz=midi_to_hz(72))
    assert centroid_hz(held(bent)) < centroid_hz(held(tone(69))) - 40.0


def test_an_overbend_is_brighter() -> None:
    assert centroid_hz(held(tone(75, overbend=True))) > centroid_hz(held(tone(75))) + 40.0


def test_low_reeds_speak_more_slowly_than_high_ones() -> None:
    def rise(midi: float) -> int:
        sound = render_tones([tone(midi)], seconds=1.4)
        level = np.sqrt(np.convolve(sound**2, np.ones(400) / 400, "same"))
        held_level = np.median(level[12_000:20_000])
        return int(np.argmax(level > 0.8 * held_level) - np.argmax(level > 0.08 * held_level))

    assert rise(55) > 1.3 * rise(84)


def test_the_breath_is_louder_as_a_note_starts() -> None:
    sound = render_tones([tone(100)], seconds=1.4)
    lines, axis = np.fft.rfft(sound), np.fft.rfftfreq(len(sound), 1 / RATE)
    lines[(axis < 3300) | (axis > 4600)] = 0  # between the first harmonic and the second
    hiss = np.abs(np.fft.irfft(lines, len(sound)))
    assert np.mean(hiss[4500:5500]) > 1.5 * np.mean(hiss[20_000:40_000])


@pytest.mark.parametrize(("kind", "low", "high"), [(Vibrato.THROAT, 10.0, 18.0), (Vibrato.HAND, 1.5, 7.0)])
def test_vibratos_shake_pitch_by_their_own_depth(kind: Vibrato, low: float, high: float) -> None:
    sound = held(tone(69, seconds=3.0, vibrato=kind))[int(0.4 * RATE) :]
    times = np.arange(len(sound)) / RATE
    turning = np.convolve(sound * np.exp(-2j * np.pi * 440.0 * times), np.hanning(800) / 400, "same")[800:-800]
    cents = 1200 * np.log2(1 + np.gradient(np.unwrap(np.angle(turning))) * RATE / (2 * np.pi) / 440.0)
    assert low < (np.percentile(cents, 98) - np.percentile(cents, 2)) / 2 < high
    assert abs(np.mean(cents)) < 2.0


def test_a_hand_vibrato_shakes_colour_more_than_a_throat_vibrato() -> None:
    def swing(kind: Vibrato) -> float:
        sound = held(tone(69, seconds=3.0, vibrato=kind))[int(0.4 * RATE) :]
        colours = [centroid_hz(sound[at : at + 2048]) for at in range(0, len(sound) - 2048, 1024)]
        return float(np.std(colours))

    assert swing(Vibrato.HAND) > 1.3 * swing(Vibrato.THROAT)


@given(midi=st.floats(40, 108), force=st.floats(0, 1), breath=st.sampled_from(Breath), attack=st.sampled_from(Attack))
@examples(25)
def test_any_tone_is_finite_bounded_and_silent_at_its_ends(
    midi: float, force: float, breath: Breath, attack: Attack
) -> None:
    sound = render_tones([tone(midi, seconds=0.3, breath=breath, force=force, attack=attack)], seconds=1.0)
    assert np.all(np.isfinite(sound))
    assert 0.002 < np.abs(sound).max() < 0.9
    assert np.abs(sound[: int(0.03 * RATE)]).max() < 2e-3
    assert np.abs(sound[int(0.75 * RATE) :]).max() < 1e-5


def test_nothing_folds_back_at_nyquist() -> None:
    high = midi_to_hz(102)
    sound = held(tone(102, force=1.0))
    power = np.abs(np.fft.rfft(sound * np.blackman(len(sound)), 1 << 17)) ** 2
    axis = np.fft.rfftfreq(1 << 17, 1 / RATE)
    # an alias of the harmonic h would stand at |rate - h * pitch|, away from all harmonics
    aliases = [abs(RATE - number * high) for number in range(8, 14)]
    for alias in aliases:
        near = np.abs(axis - alias) < 15.0
        assert 10 * np.log10(power[near].max() / power.max()) < -55.0


def test_the_same_tones_give_the_same_samples() -> None:
    tones = [tone(60), tone(67, seed=1, vibrato=Vibrato.HAND)]
    assert np.array_equal(render_tones(tones, seconds=1.5), render_tones(tones, seconds=1.5))


@pytest.mark.slow
def test_reeds_of_one_seed_wander_together_so_that_a_pure_fifth_stays_pure() -> None:
    low, high = (tone(60 + 12 * np.log2(ratio), seconds=4.0, seed=9) for ratio in (1.0, 1.5))
    sound = held(low).astype(np.float64) + held(high)
    times = np.arange(len(sound)) / RATE
    common = 3 * midi_to_hz(60)
    near = np.convolve(sound * np.exp(-2j * np.pi * common * times), np.hanning(4410) / 2205, "same")[5000:-5000]
    assert np.std(np.abs(near)) < 0.12 * np.mean(np.abs(near))


def test_what_lies_outside_the_sound_is_cut() -> None:
    early = tone(69, contour=Contour((0.0,), (440.0,)))
    sound = render_tones([early], seconds=0.5)
    assert sound.shape == (22_050,)
    assert np.abs(sound[-100:]).max() > 0.01
    assert render_tones([], seconds=0.25).shape == (11_025,)


def test_glides_set_out_and_arrive_softly() -> None:
    course = glide(1.0, 1.1, 400.0, 500.0)
    assert (course.seconds[0], course.seconds[-1]) == (1.0, pytest.approx(1.1))
    assert (course.hz[0], course.hz[-1]) == (400.0, pytest.approx(500.0))
    steps = np.diff(np.log(course.hz))
    assert steps[0] < steps[3]
    assert steps[-1] < steps[3]


@pytest.mark.parametrize(
    ("seconds", "hz"), [((), ()), ((0.0, 1.0), (440.0,)), ((1.0, 0.0), (1.0, 1.0)), ((0.0,), (0.0,))]
)
def test_a_contour_that_cannot_be_is_refused(seconds: tuple[float, ...], hz: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match=r"contour|ascend"):
        Contour(seconds, hz)


def test_weights_make_the_tilt_asked_for() -> None:
    data = load_voice()
    assert float(dull_weight(data, 0.0)) == pytest.approx(1.0)
    assert float(dull_weight(data, data.spectrum.onset_dulling)) == pytest.approx(0.0)
    assert float(dull_weight(data, -1.0)) > 1.0


def test_levels_between_recorded_notes_lie_between_theirs() -> None:
    data = load_voice()
    low, middle, high = (
        partial_levels_db(data, midi_to_hz(midi), force=0.7, breath=Breath.BLOW)[:12] for midi in (72, 74, 76)
    )
    assert np.all(middle >= np.minimum(low, high) - 1e-9)
    assert np.all(middle <= np.maximum(low, high) + 1e-9)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("rolloff_hz = 7000.0", 'rolloff_hz = "high"', r"voice.toml, 'spectrum.rolloff_hz': .high. is not a number"),
        (
            "rise_seconds = 0.038",
            "rise = 0.038",
            "'attack.rise': there is no such field",
        ),
        ("[unsteady]", "[steady]", "'steady': there is no such field"),
        ("midi = 67", "midi = 60", "ascending order"),
        ("midi = 67", "pitch = 67", r"'note\[1\].pitch': there is no such field"),
        ("[attack]", "[attack", "voice.toml: not TOML"),
    ],
)
def test_a_wrong_data_file_is_told_by_file_key_and_value(old: str, new: str, told: str) -> None:
    text = shipped_text("reedpath.sound", "voice.toml")
    assert old in text
    with pytest.raises(SettingsError, match=told):
        parse_voice(text.replace(old, new, 1))


def test_a_tone_outside_of_what_is_wanted_is_not_rendered(monkeypatch: pytest.MonkeyPatch) -> None:
    tones = [tone(seconds=0.5).delayed(start) for start in (0.0, 1.0, 2.0, 3.0)]
    whole = render_tones(tones, seconds=4.0)
    rendered: list[float] = []
    render = voice._render_tone

    def watched(one: Tone, curves: Curves, data: VoiceData, rate: int) -> np.ndarray:
        rendered.append(one.start_seconds)
        return render(one, curves, data, rate)

    monkeypatch.setattr(voice, "_render_tone", watched)
    middle = render_tones(tones, seconds=1.09, start_seconds=1.0)
    assert rendered == [1.1, 2.1]  # the second one begins to speak just before its start
    assert np.array_equal(middle, whole[RATE : RATE + round(1.09 * RATE)])


@pytest.mark.parametrize("hops", [1, 511, 512, 1300])
def test_the_phase_is_the_sum_of_the_pitch_and_curves_are_straight_between_their_points(hops: int) -> None:
    random = np.random.default_rng(hops)
    hz = 440.0 + random.normal(0.0, 5.0, hops + 1)
    places = np.arange(hops * HOP) / HOP
    line = np.interp(places, np.arange(hops + 1), hz)
    assert np.allclose(voice._drawn(hz), line, rtol=1e-6)
    expected = np.cumsum(line) * TABLE_POINTS / RATE
    off = (voice._phases(hz, RATE) - expected) % TABLE_POINTS
    assert np.minimum(off, TABLE_POINTS - off).max() < 1e-6
