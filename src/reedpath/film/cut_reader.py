"""Films read as they are cut: only what stays, one stretch after the other, with sound of the same length."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeAlias

import numpy as np
import numpy.typing as npt

from reedpath.errors import FilmError, Place
from reedpath.film.encode import SOUND_BITS, sound_frames
from reedpath.film.film_cut import CutPiece, FilmCut, checked_cut
from reedpath.film.film_reader import FilmFacts, Picture, SoundPacket, TeacherFilm
from reedpath.signal import BlockResampler, Samples, open_blocks

__all__ = ["CutFilm"]

# sound as an array of as many rows as frames, and two columns
_Stereo: TypeAlias = npt.NDArray[np.float32]

# of the times of pictures in a cut film, seconds; MPEG's own (ISO 13818-1), which every rate of pictures fits into
TIME_BASE = Fraction(1, 90_000)
# hertz of the sound of a cut film; common practice, no source
RATE = 48_000
# seconds over which sound comes and goes at a cut, so that nothing clicks; ours
FADE_SECONDS = 0.01


class _PieceSound:
    """The sound of stretches of films, handed out in order; silence where a film has none."""

    def __init__(self, paths: Sequence[Path], has_sound: Sequence[bool]) -> None:
        self._paths, self._has_sound = paths, has_sound
        self._film, self._at = -1, 0
        self._sound: Iterator[_Stereo] = iter(())
        self._stack = ExitStack()
        self._left: _Stereo = np.zeros((0, 2), dtype=np.float32)

    def _open(self, film: int) -> None:
        self._stack.close()
        self._film, self._at, self._left = film, 0, self._left[:0]
        blocks = self._stack.enter_context(open_blocks(self._paths[film], allow_truncated=True))
        self._sound = _stereo(blocks)

    def of(self, piece: CutPiece) -> _Stereo:
        """The sound of a stretch, shape (frames, 2), with its ends faded."""
        first, last = (round(one * RATE) for one in (piece.start_seconds, piece.end_seconds))
        sound = np.zeros((last - first, 2), dtype=np.float32)
        if not self._has_sound[piece.film]:
            return sound
        if self._film != piece.film or first < self._at:
            self._open(piece.film)
        while self._at < last:
            if not len(self._left):
                more = next(self._sound, None)
                if more is None:
                    break
                self._left = more
            start, stop = self._at, min(last, self._at + len(self._left))
            if stop > first:
                begin = max(start, first)
                sound[begin - first : stop - first] = self._left[begin - start : stop - start]
            self._left, self._at = self._left[stop - start :], stop
        return _faded(sound)

    def close(self) -> None:
        self._stack.close()


def _stereo(blocks: Iterable[Samples]) -> Iterator[_Stereo]:
    """A film's sound at the rate of cut films, left and right."""
    sides: list[BlockResampler] = []
    for block in blocks:
        sides = sides or [BlockResampler(block.rate, RATE) for _ in range(2)]
        array = np.broadcast_to(block.array, (block.frames, 2)) if block.channels == 1 else block.array
        yield np.stack([side.feed(np.ascontiguousarray(array[:, index])) for index, side in enumerate(sides)], axis=1)
    if sides:
        yield np.stack([side.finish() for side in sides], axis=1)


def _faded(sound: _Stereo) -> _Stereo:
    count = min(round(FADE_SECONDS * RATE), len(sound) // 2)
    ramp = np.linspace(0.0, 1.0, count, dtype=np.float32)[:, np.newaxis]
    sound[:count] *= ramp
    sound[len(sound) - count :] *= ramp[::-1]
    return sound


class CutFilm:
    """Films as they are cut, to be read as a `TeacherFilm` is; used in a ``with``.

    facts : of the first of them, with the length of what stays.

    Raises
    ------
    FilmError : as `TeacherFilm` and `checked_cut`, and for films of different sizes.
    """

    def __init__(self, paths: Sequence[Path], cut: FilmCut) -> None:
        self._paths, self.cut = tuple(paths), checked_cut(cut)
        if len(self._paths) != len(cut.films):
            raise FilmError("film.cut_films", count=len(cut.films), given=len(self._paths))
        every = [self._facts_of(path) for path in self._paths]
        first = every[0]
        for path, facts in zip(self._paths, every, strict=True):
            if (facts.width, facts.height) != (first.width, first.height):
                raise FilmError("film.cut_sizes", where=Place(file=str(path)))
        self._has_sound = [bool(facts.sound_codecs) for facts in every]
        codecs = ("aac",) if any(self._has_sound) else ()
        self.facts = replace(first, seconds=cut.seconds, time_base=TIME_BASE, sound_codecs=codecs)

    @staticmethod
    def _facts_of(path: Path) -> FilmFacts:
        with TeacherFilm(path) as film:
            return film.facts

    def sound_into(self, container: Any) -> Callable[[SoundPacket | None], None]:
        """A stream for the sound in a container; what encodes into it, None for the end."""
        if not self.facts.sound_codecs:
            return lambda one: None
        stream = container.add_stream("aac", rate=RATE, layout="stereo")
        stream.bit_rate = SOUND_BITS

        def put(one: SoundPacket | None) -> None:
            for packet in stream.encode(None if one is None else one.packet):
                container.mux(packet)

        return put

    def read(self, width: int, height: int) -> Iterator[Picture | SoundPacket]:
        """What stays: pictures that wide and high, and frames of sound, each with its time in the cut."""
        sound = _PieceSound(self._paths, self._has_sound)
        at, last_pts = 0.0, -1
        try:
            for piece, pictures in self._pieces(width, height):
                heard = self._sound_frames(sound, piece, at)
                waiting = next(heard, None)
                for one in pictures:
                    pts = round((at + one.seconds - piece.start_seconds) / TIME_BASE)
                    # sound goes before the pictures that it is heard with, so that a player need not look for it
                    while waiting is not None and waiting.packet.pts <= pts * TIME_BASE * RATE:
                        yield waiting
                        waiting = next(heard, None)
                    if pts > last_pts:
                        last_pts = pts
                        yield Picture(pts, float(pts * TIME_BASE), one.shown)
                if waiting is not None:
                    yield waiting
                    yield from heard
                at += piece.seconds
        finally:
            sound.close()

    def _sound_frames(self, sound: _PieceSound, piece: CutPiece, at: float) -> Iterator[SoundPacket]:
        """The sound of a stretch that is shown from a second on, frame by frame."""
        if self.facts.sound_codecs:
            block = Samples(sound.of(piece), RATE)
            for _, frame in sound_frames([block], RATE, start=round(at * RATE)):
                yield SoundPacket(frame, None)

    def _pieces(self, width: int, height: int) -> Iterator[tuple[CutPiece, Iterator[Picture]]]:
        """Each stretch with its pictures; a film is read on where it can be, else from its start."""
        film, until = -1, 0.0
        with ExitStack() as stack:
            reading: Iterator[Picture] = iter(())
            for piece in self.cut.kept:
                if film != piece.film or piece.start_seconds < until:
                    stack.close()
                    teacher = stack.enter_context(TeacherFilm(self._paths[piece.film]))
                    reading = (one for one in teacher.read(width, height) if isinstance(one, Picture))
                film, until = piece.film, piece.end_seconds
                yield piece, _within(reading, piece)

    def close(self) -> None:
        """Nothing is open but while it is read."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _within(reading: Iterator[Picture], piece: CutPiece) -> Iterator[Picture]:
    for one in reading:
        if one.seconds >= piece.end_seconds:
            return
        if one.seconds >= piece.start_seconds:
            yield one
