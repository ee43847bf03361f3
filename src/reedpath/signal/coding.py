"""Coding: a sound through an encoder of the av library into its file, as MP3 of a constant bit rate too.

Every frame is given its time: without it some formats start late. A constant bit rate has every second as many bytes,
so that browsers find each moment: in MP3 of a varying rate they guess where it lies. Sought at eight places of a
minute, Chromium was up to 0.15 s off, against 0.025 s, a frame of the coding, at a constant one.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from typing import Any

import numpy as np

from reedpath.errors import SoundError
from reedpath.signal.files import BytesPut, SoundPut
from reedpath.signal.resample import resampled
from reedpath.signal.samples import Samples

__all__ = ["STEADY_KBPS", "code_sound", "encode_steady", "sound_coder", "steady_file"]

# frames handed to the encoder at a time
BLOCK_FRAMES = 16_384


@contextmanager
def sound_coder(
    file: Any, stream: Any, *, rate: int, channels: int, form: str, bits_per_second: int
) -> Iterator[SoundPut]:
    """What takes a sound of one or two channels block by block; it is written to its end when this is left.

    Parameters
    ----------
    file, stream : av's container, open for writing, and the stream added to it for the sound's rate.
    form : av's name of the sample form that the encoder takes.
    """
    import av

    layout = "stereo" if channels == 2 else "mono"
    stream.bit_rate, stream.layout = bits_per_second, layout
    converter = av.AudioResampler(format=form, layout=layout, rate=rate)
    done = 0

    def put(sound: Samples) -> None:
        nonlocal done
        for start in range(0, sound.frames, BLOCK_FRAMES):
            block = np.ascontiguousarray(np.clip(sound.array[start : start + BLOCK_FRAMES].T, -1.0, 1.0))
            frame = av.AudioFrame.from_ndarray(block, format="fltp", layout=layout)
            frame.sample_rate, frame.pts, frame.time_base = rate, done, Fraction(1, rate)
            done += block.shape[1]
            for made in converter.resample(frame):
                file.mux(stream.encode(made))

    yield put
    for made in converter.resample(None):
        file.mux(stream.encode(made))
    file.mux(stream.encode(None))


def code_sound(file: Any, stream: Any, sound: Samples, *, form: str, bits_per_second: int) -> None:
    """Write a sound of one or two channels to its end; what else is given is as for `sound_coder`."""
    kind = {"rate": sound.rate, "channels": sound.channels}
    with sound_coder(file, stream, form=form, bits_per_second=bits_per_second, **kind) as put:
        put(sound)


# thousand bits a second; those of MPEG-1 layer III (ISO/IEC 11172-3, table of bit rates, from memory)
STEADY_KBPS = (32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
# hertz; of the rates of MPEG-1 the one that sounds have already
RATE = 44_100
# how little the encoder searches, 0 to 9: 2 takes five times as long, and one instrument at 64 kb/s gains nothing
# that we hear
HASTE = "7"


@contextmanager
def steady_file(deliver: BytesPut, *, channels: int = 1, kbps: int = 64) -> Iterator[SoundPut]:
    """An MP3 file of a constant bit rate, written block by block and delivered when this is left without an error.

    Parameters
    ----------
    deliver : takes the file's bytes.
    channels : of all blocks, one or two; their rate is 44,100 Hz.
    kbps : thousand bits a second, one of `STEADY_KBPS`; 64 is enough for one instrument on one channel.

    Raises
    ------
    SoundError
        For another bit rate, or where the av library is not installed.
    """
    if kbps not in STEADY_KBPS:
        raise SoundError("signal.no_mp3_rate", kbps=kbps, known=STEADY_KBPS)
    try:
        import av
    except ImportError as error:
        raise SoundError("signal.av_for_small_sounds") from error
    sink = io.BytesIO()
    with av.open(sink, "w", format="mp3") as file:
        stream = file.add_stream("libmp3lame", rate=RATE, options={"compression_level": HASTE})
        bits = kbps * 1000
        with sound_coder(file, stream, rate=RATE, channels=channels, form="fltp", bits_per_second=bits) as put:
            yield put
    deliver(sink.getvalue())


def encode_steady(samples: Samples, *, kbps: int = 64) -> bytes:
    """An MP3 file of a constant bit rate at 44,100 Hz.

    Parameters
    ----------
    samples : one or two channels; more are mixed to two.
    kbps : as for `steady_file`.

    Raises
    ------
    SoundError
        As `steady_file`.
    """
    sound = resampled(samples.with_channels(min(samples.channels, 2)), RATE)
    pieces: list[bytes] = []
    with steady_file(pieces.append, channels=sound.channels, kbps=kbps) as put:
        put(sound)
    return b"".join(pieces)
