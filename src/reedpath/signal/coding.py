"""Coding: a sound through an encoder of the av library into its file, as MP3 of a constant bit rate too.

Every frame is given its time: without it some formats start late. A constant bit rate has every second as many
bytes, so that browsers find each moment: in MP3 of a varying rate they guess where it lies. In what is jumped about
in, no frame needs the bytes of one before it, and none tells of the coding's delay (`jumped_in_file`):
docs/lesson-page.md.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from fractions import Fraction
from typing import Any

import numpy as np

from reedpath.errors import SoundError
from reedpath.signal.files import BytesPut, SoundPut
from reedpath.signal.lone_frames import lame_functions, lone_frames
from reedpath.signal.resample import BlockResampler
from reedpath.signal.samples import FloatArray, Samples

# frames handed to the encoder at a time
BLOCK_FRAMES = 16_384


@contextmanager
def sound_coder(
    file: Any, stream: Any, *, rate: int, channels: int, form: str, bits_per_second: int
) -> Iterator[SoundPut]:
    """What takes a sound of one or two channels block by block; it is written to its end when this is left.

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


# hertz; of the rates of MPEG-1 the one that sounds have already
RATE = 44_100
# how little the encoder searches, 0 to 9: 2 takes five times as long, and one instrument at 64 kb/s gains nothing
# that we hear
HASTE = 7
# frames by which a decoded sound comes late, at any rate: 576 of the encoder, 529 of a decoder (the library's own
# account, `lame_get_encoder_delay` and the LAME tag's definition; measured in the tests)
DELAY_FRAMES = 576 + 529
# what leaves out the frame that tells of the length, and the tag before it; what lets each frame stand alone
BARE, ALONE = {"write_xing": "0", "id3v2_version": "0"}, {"reservoir": "0"}


@contextmanager
def _bare_file_by_av(deliver: BytesPut, *, rate: int, kbps: int) -> Iterator[Callable[[FloatArray], None]]:
    try:
        import av
    except ImportError as error:
        raise SoundError("signal.av_for_small_sounds") from error
    sink = io.BytesIO()
    with av.open(sink, "w", format="mp3", options=BARE) as file:
        stream = file.add_stream("libmp3lame", rate=rate, options=ALONE | {"compression_level": str(HASTE)})
        with sound_coder(file, stream, rate=rate, channels=1, form="fltp", bits_per_second=kbps * 1000) as put:
            yield lambda array: put(Samples(array, rate))
    deliver(sink.getvalue())


@contextmanager
def _bare_file(deliver: BytesPut, *, rate: int, kbps: int) -> Iterator[Callable[[FloatArray], None]]:
    """An MP3 file of one channel, frames alone; by the av library's encoder where the quick one can't be called."""
    functions = lame_functions()
    if functions is not None:
        with lone_frames(functions, deliver, rate=rate, kbps=kbps, haste=HASTE) as put:
            yield put
        return
    with _bare_file_by_av(deliver, rate=rate, kbps=kbps) as put:
        yield put


@contextmanager
def jumped_in_file(deliver: BytesPut, *, rate_in: int, rate: int = RATE, kbps: int = 64) -> Iterator[SoundPut]:
    """An MP3 file in which a browser finds each moment: a jump lands there, or up to a frame before.

    A browser reckons where a moment lies from the file's length, so nothing may stand in it but the sound, of which
    every second has as many bytes; and it passes over a frame that needs bytes of one before it, which makes what it
    plays early by that much. The first 25 ms of the sound (46 at 24,000 Hz) are given up for the delay of the coding,
    since no frame tells of that: a sound begins later than that.

    deliver : takes the file's bytes.
    rate_in : hertz, of all blocks, which have one channel.
    rate : hertz, of the file, one of MPEG-1 or MPEG-2.
    kbps : thousand bits a second, a rate that MPEG-1 or MPEG-2 layer III has.

    Raises `SoundError` where neither encoder is installed.
    """
    with _bare_file(deliver, rate=rate, kbps=kbps) as put:
        resampler = BlockResampler(rate_in, rate)
        left_out = DELAY_FRAMES

        def put_resampled(array: FloatArray) -> None:
            nonlocal left_out
            cut = min(left_out, len(array))
            left_out -= cut
            if cut < len(array):
                put(array[cut:])

        def put_block(block: Samples) -> None:
            put_resampled(resampler.feed(block.array[:, 0]))

        yield put_block
        put_resampled(resampler.finish())
