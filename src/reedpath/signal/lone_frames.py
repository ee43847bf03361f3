"""MP3 frames none of which needs another, by the functions of LAME itself.

The `lameenc` package ships that encoder as a compiled module. What the module offers to Python cannot keep a frame
from using bytes of the one before it ("bit reservoir"), but the functions of LAME that it is made of can, and on most
systems the module lets them be called. Names, arguments and results are those of ``lame.h``, version 3.100 (from
memory; the tests hold what comes of it against the same encoder in another library).
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from importlib.util import find_spec
from typing import Any

import numpy as np

from reedpath.errors import SoundError
from reedpath.signal.samples import FloatArray

# `MPEG_mode.MONO` of lame.h
MONO = 3
# frames handed to the encoder at a time, and the bytes that lame.h asks to have room for: 1.25 a frame, and 7,200
BLOCK_FRAMES = 16_384
ROOM_BYTES = BLOCK_FRAMES * 5 // 4 + 7_200


# what is set before anything is coded; each takes a whole number
SETTINGS = (
    "lame_set_in_samplerate",
    "lame_set_out_samplerate",
    "lame_set_num_channels",
    "lame_set_mode",
    "lame_set_brate",
    "lame_set_quality",
    "lame_set_disable_reservoir",
    "lame_set_bWriteVbrTag",
)


@cache
def lame_functions() -> Any | None:
    """LAME's functions, None where no module is there that has them."""
    module = find_spec("lameenc")
    if module is None or module.origin is None:
        return None
    try:
        functions = ctypes.CDLL(module.origin)
        functions.lame_init.restype = ctypes.c_void_p
        functions.lame_encode_buffer_ieee_float.argtypes = [
            ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int,
        ]  # fmt: skip
        functions.lame_encode_flush.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_int]
        for name in ("lame_init_params", "lame_close"):
            getattr(functions, name).argtypes = [ctypes.c_void_p]
        for name in SETTINGS:
            getattr(functions, name).argtypes = [ctypes.c_void_p, ctypes.c_int]
    except (OSError, AttributeError):
        return None
    return functions


@contextmanager
def lone_frames(
    functions: Any, deliver: Callable[[bytes], object], *, rate: int, kbps: int, haste: int
) -> Iterator[Callable[[FloatArray], None]]:
    """What takes a sound of one channel block by block; its frames are delivered when this is left without an error.

    functions : of LAME, as `lame_functions` gives them.
    rate : hertz, of the sound and of the file.
    kbps : thousand bits a second, of every frame.
    haste : how little is searched, 0 to 9.

    Raises `SoundError` for a rate that the encoder does not know.
    """
    coder = ctypes.c_void_p(functions.lame_init())
    made = bytearray()
    room = ctypes.create_string_buffer(ROOM_BYTES)

    def held(result: int) -> int:
        if result < 0:
            raise SoundError("signal.not_encoded", channels=1, rate=rate, format="mp3", problem=f"LAME {result}")
        return result

    def keep(count: int) -> None:
        made.extend(room.raw[: held(count)])

    def put(sound: FloatArray) -> None:
        for start in range(0, len(sound), BLOCK_FRAMES):
            block = np.ascontiguousarray(np.clip(sound[start : start + BLOCK_FRAMES], -1.0, 1.0), dtype=np.float32)
            at = block.ctypes.data
            keep(functions.lame_encode_buffer_ieee_float(coder, at, at, len(block), room, ROOM_BYTES))

    try:
        for name, value in zip(SETTINGS, (rate, rate, 1, MONO, kbps, haste, 1, 0), strict=True):
            getattr(functions, name)(coder, value)
        held(functions.lame_init_params(coder))
        yield put
        keep(functions.lame_encode_flush(coder, room, ROOM_BYTES))
    finally:
        functions.lame_close(coder)
    deliver(bytes(made))
