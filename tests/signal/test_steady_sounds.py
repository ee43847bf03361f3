"""MP3 of a constant rate, read frame by frame by the table of ISO/IEC 11172-3 (from memory)."""

from __future__ import annotations

import sys

import numpy as np
import pytest

from reedpath.errors import SoundError
from reedpath.signal import Samples, decode, jumped_in_file, resampled
from reedpath.signal.lone_frames import lame_functions

KBPS = (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
RATES = (44_100, 48_000, 32_000)


def sound_of(seconds: float, *, rate: int = 44_100, channels: int = 1) -> Samples:
    """Notes and noise by turns, so that a varying rate would vary."""
    times = np.arange(round(seconds * rate)) / rate
    noise = np.random.default_rng(7).standard_normal(len(times)) * (np.sin(2 * np.pi * times) > 0.6)
    wave = 0.3 * np.sin(2 * np.pi * 440 * times) + 0.05 * noise
    return Samples(np.repeat(wave[:, None], channels, axis=1), rate)


# of MPEG-2's lower rates (ISO/IEC 13818-3, from memory)
LOW_KBPS = (0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160)
LOW_RATES = (22_050, 24_000, 16_000)


def bare_frames_of(data: bytes) -> list[tuple[int, int, int]]:
    """Bit rate, sample rate, and how many bytes before its own each frame needs, of a file of frames alone."""
    at, found = 0, []
    while at + 6 <= len(data):
        head, is_low = data[at : at + 4], data[at + 1] & 8 == 0
        assert (head[0], head[1] & 0xF7) == (0xFF, 0xF3), "MPEG-1 or 2, layer III, no checksum"
        kbps = (LOW_KBPS if is_low else KBPS)[head[2] >> 4]
        rate = (LOW_RATES if is_low else RATES)[(head[2] >> 2) & 3]
        # "main_data_begin", the first 8 or 9 bits after the head
        needed = data[at + 4] if is_low else data[at + 4] << 1 | data[at + 5] >> 7
        found.append((kbps, rate, needed))
        at += (72_000 if is_low else 144_000) * kbps // rate + ((head[2] >> 1) & 1)
    assert at == len(data)
    return found


def file_to_jump_in(sound: Samples, **coding: int) -> bytes:
    pieces: list[bytes] = []
    with jumped_in_file(pieces.append, rate_in=sound.rate, **coding) as put:
        for start in range(0, sound.frames, 7_000):
            put(Samples(sound.array[start : start + 7_000], sound.rate))
    return b"".join(pieces)


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the module may not let them be called")
def test_on_linux_the_quick_encoder_is_there():
    assert lame_functions() is not None


BOTH_RATES = pytest.mark.parametrize(("rate", "kbps"), [(44_100, 64), (24_000, 48)])


@pytest.fixture(params=["lame", "av"])
def either_encoder(request, monkeypatch):
    """Each of the two builds of the encoder; where the quick one can't be called the other is there."""
    if request.param == "av":
        monkeypatch.setattr("reedpath.signal.coding.lame_functions", lambda: None)
    elif lame_functions() is None:
        pytest.skip("no functions of LAME in lameenc on this system")


@pytest.mark.usefixtures("either_encoder")
@BOTH_RATES
def test_in_a_file_to_jump_in_no_frame_needs_another_and_none_tells_of_the_length(rate, kbps):
    assert set(bare_frames_of(file_to_jump_in(sound_of(2.0), rate=rate, kbps=kbps))) == {(kbps, rate, 0)}


@pytest.mark.usefixtures("either_encoder")
@BOTH_RATES
def test_what_is_heard_in_a_file_to_jump_in_lies_where_it_does_in_the_sound(rate, kbps):
    noise = np.random.default_rng(8).standard_normal(2 * 44_100) * 0.1
    noise = np.convolve(noise, np.hanning(16) / 8, mode="same")
    noise[: round(0.06 * 44_100)] = 0.0
    sound = Samples(noise, 44_100)
    heard = resampled(decode(file_to_jump_in(sound, rate=rate, kbps=kbps)), 44_100)
    assert heard.frames >= sound.frames
    likeness = np.correlate(heard.array[20_000:41_000, 0], sound.array[20_100:40_900, 0], mode="valid")
    assert np.argmax(likeness) == 100


@pytest.mark.skipif(lame_functions() is None, reason="no functions of LAME in lameenc on this system")
@BOTH_RATES
def test_both_builds_of_the_encoder_code_alike(rate, kbps, monkeypatch):
    sound = sound_of(2.0)
    quick = file_to_jump_in(sound, rate=rate, kbps=kbps)
    monkeypatch.setattr("reedpath.signal.coding.lame_functions", lambda: None)
    other = file_to_jump_in(sound, rate=rate, kbps=kbps)
    assert len(quick) == len(other)
    assert noise_db(decode(quick), sound) == pytest.approx(noise_db(decode(other), sound), abs=0.2)


def noise_db(heard: Samples, sound: Samples) -> float:
    """How loud what the coding changes is against the sound."""
    at_rate = resampled(heard, sound.rate).array[: sound.frames]
    lost = at_rate - sound.array
    return float(10 * np.log10(np.mean(lost[4_000:-4_000] ** 2) / np.mean(sound.array**2)))


@pytest.mark.skipif(lame_functions() is None, reason="no functions of LAME in lameenc on this system")
def test_what_the_encoder_answers_when_it_can_not_go_on_is_told(monkeypatch):
    monkeypatch.setattr(lame_functions(), "lame_encode_flush", lambda *_: -3)
    with pytest.raises(SoundError, match="LAME -3"):
        file_to_jump_in(sound_of(0.1))
