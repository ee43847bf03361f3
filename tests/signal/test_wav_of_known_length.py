"""A WAV file written straight to where it goes: the bytes that the library writes, whatever the blocks."""

import io

import numpy as np
import pytest
import soundfile

from reedpath.signal import Samples, decode, wav_file
from reedpath.signal.wav import pcm_16

RATE = 44_100


def written(sound: Samples, cuts: list[int]) -> bytes:
    pieces: list[bytes] = []
    with wav_file(pieces.append, rate=sound.rate, channels=sound.channels, frames=sound.frames) as put:
        for block in np.split(sound.array, cuts):
            put(Samples(block, sound.rate))
    return b"".join(pieces)


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("cuts", [[], [1, 5_000, 20_001], [0, 30_000]])
def test_its_bytes_are_those_of_the_library(channels, cuts):
    random = np.random.default_rng(5)
    sound = Samples(random.uniform(-1.2, 1.2, (30_000, channels)), RATE)
    library = io.BytesIO()
    soundfile.write(library, sound.array, RATE, subtype="PCM_16", format="WAV")
    assert written(sound, cuts) == library.getvalue()


def test_full_scale_and_halves_are_as_the_library_has_them():
    values = np.array(
        [
            -2.0,
            -1.0,
            1.0,
            2.0,
            0.5 / 32768,
            1.5 / 32768,
            -1e-9,
            -0.4e-9,
            -0.0,
            1.9999999 / 32768,
            32766.5 / 32768,
            32767.5 / 32768,
        ]
    )
    library = io.BytesIO()
    soundfile.write(library, values.astype(np.float32), RATE, subtype="PCM_16", format="WAV")
    back, _ = soundfile.read(io.BytesIO(library.getvalue()), dtype="int16")
    assert pcm_16(values.astype(np.float32)).tolist() == back.tolist()


def test_no_frames_are_a_file_of_no_length():
    assert decode(written(Samples(np.zeros((0, 2)), RATE), [])).frames == 0


@pytest.mark.parametrize("frames", [9, 11])
def test_another_length_than_promised_is_a_fault(frames):
    with pytest.raises(ValueError, match="frames"), wav_file(lambda _: None, rate=RATE, channels=1, frames=10) as put:
        put(Samples(np.zeros(frames), RATE))
