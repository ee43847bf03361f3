"""Sounds coded as telephones and browsers do it, by the av library's encoders, and decoded again."""

from __future__ import annotations

import io
from collections.abc import Mapping

import av

from reedpath.signal import Samples

# container, encoder, form of its values, and hertz of each kind
CODINGS = {
    "amr": ("amr", "libopencore_amrnb", "s16", 8000),
    "aac": ("adts", "aac", "fltp", 44_100),
    "webm": ("webm", "libopus", "s16", 48_000),
    "opus": ("ogg", "libopus", "s16", 48_000),
}


def coded(
    sound: Samples, kind: str, *, bits_per_second: int | None = None, options: Mapping[str, str] | None = None
) -> bytes:
    """A file of one channel."""
    container, encoder, form, rate = CODINGS[kind]
    sink = io.BytesIO()
    with av.open(sink, "w", format=container) as file:
        stream = file.add_stream(encoder, rate=rate, layout="mono", options=dict(options or {}))
        if bits_per_second:
            stream.bit_rate = bits_per_second
        size = {"amr": 160}.get(kind, 960 if encoder == "libopus" else 1024)
        converter = av.AudioResampler(format=form, layout="mono", rate=rate, frame_size=size)
        frame = av.AudioFrame.from_ndarray(sound.mono().array.T.copy(), format="flt", layout="mono")
        frame.sample_rate = sound.rate
        for made in [*converter.resample(frame), *converter.resample(None)]:
            file.mux(stream.encode(made))
        file.mux(stream.encode(None))
    return sink.getvalue()
