"""A live session: blocks of sound come in while somebody plays, what is heard in them goes out.

A block is a header of 16 bytes and its frames, all little-endian:

    number : unsigned, 4 bytes; counts the blocks, gaps allowed.
    frames : unsigned, 4 bytes.
    seconds : float, 8 bytes; when the first frame sounds, from beat 0 of what is played along.
    frames of one channel : float, 4 bytes each.

For every block one answer, a `LiveAnswer`. Memory does not grow with time.
"""

from __future__ import annotations

import struct
from math import isfinite

import msgspec
import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from reedpath.arrange import Route
from reedpath.errors import SettingsError
from reedpath.harp import Harp, Move
from reedpath.listen.expected import sounding_midi
from reedpath.listen.held_notes import BEND_TOLERANCES, HeldNote, HeldTime
from reedpath.listen.live_playing import LiveMark, LivePlaying

# frames of a block; the browser brings sound in bursts of 10 ms, so that nothing is gained below
BLOCK_FRAMES = 256
_HEADER = struct.Struct("<IId")
BLOCK_BYTES = _HEADER.size + 4 * BLOCK_FRAMES
# seconds of silence that are listened to before the first block: what Python and its libraries do once only, they do
# then; and of a tone after it, by which the naming of moves is warmed too
WARM_SECONDS, WARM_TONE_SECONDS = 0.25, 0.1
# hertz; rates that sound cards have
LOWEST_RATE, HIGHEST_RATE = 8_000, 192_000
# full scale is 1; a sound card gives no more, and squares of much more are no numbers
LOUDEST = 8.0
# seconds from beat 0, either way, that a clock may show
MOST_SECONDS = 1e6


class LiveAsked(Struct, frozen=True, kw_only=True):
    """What is listened for.

    harp : the instrument. rate : of the blocks, hertz.
    route : what is played along, None for playing freely. factor : of its written tempo.
    held : the move that is to be held in tune, None for none; of one hole.
    tolerance_cents : off it, within which it counts as in tune.
    notation : in which moves are written.
    """

    harp: Harp
    rate: int
    route: Route | None = None
    factor: float = 1.0
    held: Move | None = None
    tolerance_cents: float = BEND_TOLERANCES[1]
    notation: str = "sign"


class LiveAnswer(Struct, frozen=True, omit_defaults=True):
    """What is heard in a block.

    block : its number. marks : every 4 ms of sound, null for silence.
    holding : the note that is being held. held : one that ended in the block. longest : of all.
    """

    block: int
    marks: tuple[LiveMark | None, ...]
    holding: HeldTime | None = None
    held: HeldTime | None = None
    longest: HeldTime | None = None


def packed_block(number: int, seconds: float, frames: np.ndarray) -> bytes:
    """A block as bytes; frames are float32 of one channel."""
    return _HEADER.pack(number, len(frames), seconds) + np.asarray(frames, dtype="<f4").tobytes()


class LiveSession:
    """Answers blocks, one by one.

    Raises
    ------
    SettingsError
        For a rate that no sound card has, and on answering what is no block.
    """

    def __init__(self, asked: LiveAsked) -> None:
        if not LOWEST_RATE <= asked.rate <= HIGHEST_RATE:
            raise SettingsError("listen.live_rate", rate=asked.rate, least=LOWEST_RATE, most=HIGHEST_RATE)
        self._asked = asked
        self._playing = self._new_playing()
        self._note = HeldNote(asked.tolerance_cents) if asked.held is not None else None
        self._next = 0
        self._target = sounding_midi(asked.harp, asked.held)[0] if asked.held is not None else 0.0

    def _new_playing(self) -> LivePlaying:
        asked = self._asked
        return LivePlaying(asked.harp, asked.rate, route=asked.route, factor=asked.factor, notation=asked.notation)

    def warm(self) -> None:
        """Do all that is slow the first time, on silence and a tone that leave nothing behind."""
        rate, playing = self._asked.rate, self._new_playing()
        times = np.arange(round(WARM_TONE_SECONDS * rate)) / rate
        tone = 0.2 * np.sin(2.0 * np.pi * 440.0 * times)
        sound = np.concatenate([np.zeros(round(WARM_SECONDS * rate)), tone]).astype(np.float32)
        for start in range(0, len(sound), BLOCK_FRAMES):
            marks = playing.feed(sound[start : start + BLOCK_FRAMES], start / rate)
            msgspec.json.encode(LiveAnswer(0, marks))

    def answer(self, message: bytes) -> LiveAnswer:
        """The answer to a block."""
        if len(message) < _HEADER.size:
            raise SettingsError("listen.live_block", size=len(message), wanted=BLOCK_BYTES)
        number, frames, seconds = _HEADER.unpack_from(message)
        is_timed = isfinite(seconds) and abs(seconds) <= MOST_SECONDS
        if frames > BLOCK_FRAMES or len(message) != _HEADER.size + 4 * frames or not is_timed:
            raise SettingsError("listen.live_block", size=len(message), wanted=BLOCK_BYTES)
        sound = np.clip(np.frombuffer(message, dtype="<f4", offset=_HEADER.size), -LOUDEST, LOUDEST)
        marks = self._playing.feed(sound, seconds)
        if self._note is None:
            return LiveAnswer(number, marks)
        return self._held(number, marks, seconds)

    def _held(self, number: int, marks: tuple[LiveMark | None, ...], seconds: float) -> LiveAnswer:
        note, ended = self._note, None
        told: list[LiveMark | None] = []
        assert note is not None, "only with a note to hold"
        if number > self._next:
            note.miss((number - self._next) * BLOCK_FRAMES / self._asked.rate)
        self._next = number + 1
        for mark in marks:
            if mark is None:
                ended = note.hear(seconds, None) or ended
                told.append(None)
                continue
            midi = 69.0 + 12.0 * float(np.log2(mark.hz / 440.0))
            cents = 100.0 * (midi - self._target)
            ended = note.hear(mark.seconds, cents) or ended
            told.append(replace(mark, cents=cents, is_right=abs(cents) <= self._asked.tolerance_cents))
        return LiveAnswer(number, tuple(told), note.now, ended, note.longest)
