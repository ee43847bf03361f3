"""Every sound has one loudness, and no sample of it passes the ceiling."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import numpy as np
import pytest

from reedpath.arrange import Spot
from reedpath.lesson import Drill
from reedpath.pitch import Key
from reedpath.signal import Samples
from reedpath.sound import (
    TARGET_LUFS,
    Backing,
    Loop,
    PlayAlong,
    Turns,
    lay_out,
    levelled,
    levelling,
    loudness_lufs,
    play_along,
    play_ladder,
    play_spot,
    play_with_band,
    sound_blocks,
)
from reedpath.sound.loudness import LoudnessMeter
from reedpath.sound.mix import CEILING_DB
from support.built_routes import built_lesson, built_route

RATE = 44_100
LESSON = built_lesson(
    built_route("2d 3d' 4b 4d'! 4d:1~ r:1", key="A", bpm=120.0, swing=Fraction(2), music_key=Key(4)),
    factors=(0.5, 1.0),
)
FULL = LESSON.ladder[-1]
BACKING = Backing(form="one-chord", rounds=2)


def in_blocks(sound: Samples, frames: int) -> Iterator[Samples]:
    for start in range(0, sound.frames, frames):
        yield Samples(sound.array[start : start + frames], sound.rate)


@pytest.mark.parametrize("gain_db", [-40.0, 0.0, 12.0])
@pytest.mark.parametrize("frames", [2_000, 60_000, 1 << 20])
def test_a_sound_is_as_loud_as_all_however_it_comes(gain_db: float, frames: int) -> None:
    random = np.random.default_rng(3)
    noise = random.standard_normal((2 * RATE, 2)) * 0.05 * 10 ** (gain_db / 20)
    noise[RATE : RATE + 300] *= 12.0
    sound = Samples(noise.astype(np.float32), RATE)
    whole = levelled(sound)
    assert loudness_lufs(whole.array, rate=RATE) == pytest.approx(TARGET_LUFS, abs=0.3)
    assert whole.peak <= 10 ** (CEILING_DB / 20) + 1e-6
    joined = np.concatenate(
        [one.array for one in levelling.levelled_blocks(lambda: in_blocks(sound, frames), seconds=2.0)]
    )
    assert np.abs(joined - whole.array).max() < 1e-5


def test_what_is_too_long_to_keep_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = list(sound_blocks(lay_out(LESSON, FULL), block_seconds=1.0))
    monkeypatch.setattr(levelling, "KEPT_SECONDS", 0.5)
    made_twice = list(sound_blocks(lay_out(LESSON, FULL), block_seconds=1.0))
    assert [one.array.tobytes() for one in kept] == [one.array.tobytes() for one in made_twice]


def test_silence_stays_silent() -> None:
    still = Samples(np.zeros((RATE, 2), dtype=np.float32), RATE)
    assert not levelled(still).array.any()
    assert list(levelling.levelled_blocks(lambda: iter(()), seconds=0.0)) == []


def test_a_meter_measures_the_same_piece_by_piece() -> None:
    random = np.random.default_rng(4)
    sound = (random.standard_normal((3 * RATE, 2)) * np.linspace(0.0, 0.3, 3 * RATE)[:, np.newaxis]).astype(
        np.float32
    )
    meter = LoudnessMeter(rate=RATE, channels=2)
    for start in range(0, len(sound), 3_333):
        meter.add(sound[start : start + 3_333])
    assert meter.lufs == pytest.approx(loudness_lufs(sound, rate=RATE), abs=1e-9)
    assert meter.peak == np.abs(sound).max()


DRILL = Drill(Spot(0, 2, 1.0, ()), 2, LESSON.ladder)
KINDS = {
    "alone": lambda: play_along(LESSON, FULL),
    "slow": lambda: play_along(LESSON, LESSON.ladder[0]),
    "clicked": lambda: play_along(LESSON, FULL, PlayAlong(click_through=True)),
    "band": lambda: play_with_band(LESSON, FULL, BACKING),
    "band in turns": lambda: play_with_band(LESSON, FULL, Backing(form="one-chord", turns=Turns.CALL)),
    "band alone": lambda: play_with_band(LESSON, FULL, Backing(form="one-chord", turns=Turns.YOURS)),
    "ladder": lambda: play_ladder(LESSON).samples,
    "spot": lambda: play_spot(LESSON, DRILL).samples,
    "spot in turns": lambda: play_spot(LESSON, DRILL, Loop(times=4, turns=Turns.CALL)).samples,
}


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_sound_is_as_loud(kind: str) -> None:
    sound = KINDS[kind]()
    assert loudness_lufs(sound.array, rate=RATE) == pytest.approx(TARGET_LUFS, abs=0.3)
    assert sound.peak <= 10 ** (CEILING_DB / 20) + 1e-6


def test_a_click_alone_is_as_loud_as_under_the_harmonica() -> None:
    # a knock is hardly any sound: as loud as a melody it would hurt
    played, alone = (play_along(LESSON, FULL, PlayAlong(turns=turns)) for turns in (Turns.TOGETHER, Turns.YOURS))
    first = round(lay_out(LESSON, FULL).zero_seconds * RATE) - 2_000
    assert np.abs(alone.array[:first] - played.array[:first]).max() < 1e-5
    assert not alone.array[first + RATE :].any()
    everybody = frozenset({"drums", "bass", "guitar", "piano"})
    silent = Backing(form="one-chord", turns=Turns.YOURS, without=everybody)
    clicks = play_with_band(LESSON, FULL, silent)
    assert 0.1 < clicks.peak < 0.4
