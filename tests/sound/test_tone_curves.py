"""The slow curves of a tone, by arithmetic: rise, fall, level, vibrato and wandering as the numbers of the voice say.

What is expected comes from the file of the voice, read here by itself, and from the meaning of its words: a logistic
curve has a third of its height ln 2 units before its middle, and 2 ln 9 units from a tenth to nine tenths.
"""

from __future__ import annotations

import math
import tomllib
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace

from reedpath.data import shipped_text
from reedpath.harp import Breath
from reedpath.sound import Attack, Contour, Tone, Vibrato
from reedpath.sound.curves import HOP, Curves, curves_of, rise_seconds_of
from reedpath.sound.voice_data import VoiceData, load_voice

RATE = 44_100
# the numbers as they stand in the file
TOLD: dict[str, Any] = tomllib.loads(shipped_text("reedpath.sound", "voice.toml"))


def plain_voice() -> VoiceData:
    """The voice without wandering, overshoot and scoop, so that what is left can be worked out by hand."""
    voice = load_voice()
    return replace(
        voice,
        unsteady=replace(voice.unsteady, cents=0.0, level_db=0.0),
        attack=replace(voice.attack, overshoot_db=0.0, scoop_cents=0.0),
    )


def tone(hz: float = 440.0, *, seconds: float = 2.0, **more: Any) -> Tone:
    fields = {"force": TOLD["spectrum"]["recorded_force"], **more}
    return Tone(1.0, 1.0 + seconds, Contour((1.0,), (hz,)), hz, Breath.BLOW, **fields)


def curves_of_one(one: Tone, voice: VoiceData) -> Curves:
    [curves] = curves_of([one], voice, rate=RATE)
    return curves


def times_of(curves: Curves) -> np.ndarray:
    return (curves.first_sample + HOP * np.arange(len(curves.hz))) / RATE


def at(curves: Curves, values: np.ndarray, seconds: float) -> float:
    return float(np.interp(seconds, times_of(curves), values))


def test_a_tone_of_recorded_force_is_held_at_minus_20_db_full_scale() -> None:
    curves = curves_of_one(tone(), plain_voice())
    assert 20 * math.log10(at(curves, curves.level, 2.0)) == pytest.approx(-20.0, abs=0.01)


def test_a_unit_of_force_is_as_many_decibels_as_the_voice_says() -> None:
    voice = plain_voice()
    soft, loud = (curves_of_one(tone(force=force), voice) for force in (0.4, 0.9))
    grown = 20 * math.log10(at(loud, loud.level, 2.0) / at(soft, soft.level, 2.0))
    assert grown == pytest.approx(0.5 * TOLD["spectrum"]["level_per_force"], abs=0.01)


def test_a_third_of_the_level_is_there_when_a_tone_starts() -> None:
    curves = curves_of_one(tone(), plain_voice())
    assert at(curves, curves.level, 1.0) / at(curves, curves.level, 2.0) == pytest.approx(1 / 3, rel=0.03)


@pytest.mark.parametrize("attack", list(Attack))
@pytest.mark.parametrize("octaves", [-1, 0, 2])
def test_the_level_rises_in_the_time_of_its_attack_and_pitch(attack: Attack, octaves: int) -> None:
    numbers = TOLD["attack"]
    wanted = numbers["rise_seconds"] * numbers["rise_ratio_per_octave"] ** octaves * numbers[attack]
    one = tone(440.0 * 2 ** (-9 / 12 + octaves), attack=attack)  # from middle C
    curves = curves_of_one(one, plain_voice())
    share = curves.level / at(curves, curves.level, 2.0)
    early = times_of(curves) < 1.5
    tenth, nine = (float(np.interp(part, share[early], times_of(curves)[early])) for part in (0.1, 0.9))
    assert nine - tenth == pytest.approx(wanted, rel=0.03)
    assert rise_seconds_of(one, load_voice()) == pytest.approx(wanted)


@pytest.mark.parametrize("octaves", [-1, 0, 2])
def test_the_level_falls_to_a_third_in_the_time_of_its_pitch(octaves: int) -> None:
    numbers = TOLD["release"]
    wanted = numbers["fall_seconds"] * numbers["fall_ratio_per_octave"] ** octaves
    curves = curves_of_one(tone(440.0 * 2 ** (-9 / 12 + octaves)), plain_voice())
    held = at(curves, curves.level, 2.9)
    assert at(curves, curves.level, 3.0 + wanted) / held == pytest.approx(1 / 3, rel=0.02)
    assert at(curves, curves.level, 3.0 + 3 * wanted) / held == pytest.approx(1 / 27, rel=0.05)


@pytest.mark.parametrize("kind", list(Vibrato))
def test_a_vibrato_has_the_rate_depth_and_start_that_the_voice_says(kind: Vibrato) -> None:
    numbers = TOLD["vibrato"][kind]
    # 4 to 8 a second: what singers and players of wind instruments are heard to do (Seashore, "Psychology of Music",
    # 1938, chapter 4; from memory)
    assert 4.0 <= numbers["rate_hz"] <= 8.0
    curves = curves_of_one(tone(seconds=12.0, vibrato=kind), plain_voice())
    times, cents = times_of(curves), 1200 * np.log2(curves.hz / 440.0)
    assert np.all(np.abs(cents[times < 1.0 + numbers["wait_seconds"]]) < 1e-6)
    full = (times > 2.0) & (times < 12.0)
    assert np.abs(cents[full]).max() == pytest.approx(numbers["cents"], rel=0.02)
    upward = np.flatnonzero((cents[full][:-1] < 0) & (cents[full][1:] >= 0))
    rate = (len(upward) - 1) / (times[full][upward[-1]] - times[full][upward[0]])
    assert rate == pytest.approx(numbers["rate_hz"], rel=0.005)
    swing = 20 * np.log10(curves.level[full].max() / curves.level[full].min())
    assert swing == pytest.approx(numbers["level_db"], rel=0.02)


def test_a_vibrato_grows_in() -> None:
    numbers = TOLD["vibrato"]["throat"]
    curves = curves_of_one(tone(seconds=3.0, vibrato=Vibrato.THROAT), plain_voice())
    times, cents = times_of(curves), np.abs(1200 * np.log2(curves.hz / 440.0))
    begins = 1.0 + numbers["wait_seconds"]
    late = (times - begins) / numbers["grow_seconds"]
    growing = (late > 0) & (late < 1)
    wave = np.abs(np.sin(2 * np.pi * numbers["rate_hz"] * (times - begins)))
    assert cents[growing] == pytest.approx((numbers["cents"] * late * wave)[growing], abs=0.01)


def test_a_held_tone_wanders_no_further_than_the_voice_says() -> None:
    curves = curves_of_one(tone(seconds=20.0), load_voice())
    held = (times_of(curves) > 3.0) & (times_of(curves) < 20.0)
    cents = np.abs(1200 * np.log2(curves.hz[held] / 440.0))
    assert 0.5 * TOLD["unsteady"]["cents"] < cents.max() <= TOLD["unsteady"]["cents"]
    level_db = 20 * np.log10(curves.level[held])
    assert np.abs(level_db + 20.0).max() <= TOLD["unsteady"]["level_db"] + 0.01


def test_an_attack_stands_above_the_held_tone_and_settles() -> None:
    numbers = TOLD["attack"]
    plain, real = curves_of_one(tone(), plain_voice()), curves_of_one(
        tone(), replace(plain_voice(), attack=load_voice().attack)
    )  # fmt: skip
    for seconds in (0.1, numbers["overshoot_seconds"], 0.6):
        over = 20 * math.log10(at(real, real.level, 1.0 + seconds) / at(plain, plain.level, 1.0 + seconds))
        assert over == pytest.approx(
            numbers["overshoot_db"] * math.exp(-seconds / numbers["overshoot_seconds"]), abs=0.01
        )


@pytest.mark.parametrize(("breath", "ratio"), [(Breath.BLOW, 1.0), (Breath.DRAW, TOLD["attack"]["draw_scoop"])])
def test_a_reed_starts_flat_and_comes_true(breath: Breath, ratio: float) -> None:
    numbers = TOLD["attack"]
    voice = load_voice()
    voice = replace(voice, unsteady=replace(voice.unsteady, cents=0.0))
    one = Tone(1.0, 3.0, Contour((1.0,), (440.0,)), 440.0, breath)
    curves = curves_of_one(one, voice)
    cents = 1200 * np.log2(curves.hz / 440.0)
    assert at(curves, cents, 1.0) == pytest.approx(-numbers["scoop_cents"] * ratio, rel=0.02)
    # nearly gone, to a third and a bit, after as many rises as the file says
    later = 1.0 + numbers["scoop_rises"] * rise_seconds_of(one, voice)
    assert at(curves, cents, later) == pytest.approx(-numbers["scoop_cents"] * ratio / math.e, rel=0.02)
    # while it is hardly heard yet, it does not sink further
    unheard = cents[times_of(curves) <= 1.0 - 0.5 * rise_seconds_of(one, voice)]
    assert len(unheard) > 1
    assert np.ptp(unheard) < 1e-6


def test_tones_reckoned_together_have_the_curves_they_have_alone() -> None:
    voice = load_voice()
    tones = [
        tone(seconds=0.2, seed=1, attack=Attack.SLURRED),
        tone(220.0, seed=2, vibrato=Vibrato.HAND, vibrato_from_seconds=1.5),
        tone(660.0, seconds=0.01, force=0.9, level_db=-3.0, seed=3, overbend=True),
        Tone(0.5, 3.0, Contour((0.5, 1.0), (300.0, 270.0)), 300.0, Breath.DRAW, vibrato=Vibrato.THROAT),
    ]
    for together, one in zip(curves_of(tones, voice, rate=RATE), tones, strict=True):
        alone = curves_of_one(one, voice)
        assert together.first_sample == alone.first_sample
        for name in ("hz", "level", "bright", "breath"):
            assert getattr(together, name) == pytest.approx(getattr(alone, name), rel=1e-12)
