"""Coding: a sound through an encoder of the av library into its file, as MP3 of a constant bit rate too.

Every frame is given its time: without it some formats start late. A constant bit rate has every second as many bytes,
so that browsers find each moment: in MP3 of a varying rate they guess where it lies. Sought at eight places of a
minute, Chromium was up to 0.15 s off, against 0.025 s, a frame of the coding, at a constant one.
"""

from __future__ import annotations

import io
from fractions import Fraction
from typing import Any

import numpy as np

from reedpath.errors import SoundError
from reedpath.signal.resample import resampled
from reedpath.signal.samples import Samples

__all__ = ["STEADY_KBPS", "code_sound", "encode_steady"]

# frames handed to the encoder at a time
BLOCK_FRAMES = 16_384


def code_sound(file: Any, stream: Any, sound: Samples, *, form: str, bits_per_second: int) -> None:
    """Write a sound of one or two channels to its end.

    Parameters
    ----------
    file, stream : av's container, open for writing, and the stream added to it for the sound's rate.
    form : av's name of the sample form that the encoder takes.
    """
    import av

    layout = "stereo" if sound.channels == 2 else "mono"
    stream.bit_rate, stream.layout = bits_per_second, layout
    converter = av.AudioResampler(format=form, layout=layout, rate=sound.rate)
    for start in range(0, sound.frames, BLOCK_FRAMES):
        block = np.ascontiguousarray(np.clip(sound.array[start : start + BLOCK_FRAMES].T, -1.0, 1.0))
        frame = av.AudioFrame.from_ndarray(block, format="fltp", layout=layout)
        frame.sample_rate, frame.pts, frame.time_base = sound.rate, start, Fraction(1, sound.rate)
        for made in converter.resample(frame):
            file.mux(stream.encode(made))
    for made in converter.resample(None):
        file.mux(stream.encode(made))
    file.mux(stream.encode(None))


# thousand bits a second; those of MPEG-1 layer III (ISO/IEC 11172-3, table of bit rates, from memory)
STEADY_KBPS = (32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
# hertz; of the rates of MPEG-1 the one that sounds have already
RATE = 44_100
# how little the encoder searches, 0 to 9: 2 takes five times as long, and one instrument at 64 kb/s gains nothing
# that we hear
HASTE = "7"


def encode_steady(samples: Samples, *, kbps: int = 64) -> bytes:
    """An MP3 file of a constant bit rate at 44,100 Hz.

    Parameters
    ----------
    samples : one or two channels; more are mixed to two.
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
    sound = resampled(samples.with_channels(min(samples.channels, 2)), RATE)
    sink = io.BytesIO()
    with av.open(sink, "w", format="mp3") as file:
        stream = file.add_stream("libmp3lame", rate=RATE, options={"compression_level": HASTE})
        code_sound(file, stream, sound, form="fltp", bits_per_second=kbps * 1000)
    return sink.getvalue()
