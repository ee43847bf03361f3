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

from reedpath.errors import FilmError
from reedpath.film.encode import SOUND_BITS, sound_frames
from reedpath.film.film_cut import FilmCut, checked_cut, on_pictures
from reedpath.film.film_reader import (
    FilmFacts,
    Picture,
    SoundPacket,
    TeacherFilm,
    footage_facts,
    picture_rates,
)
from reedpath.film.fitting import black_frame, fitted_zone, on_black
from reedpath.film.screens import Zone
from reedpath.signal import BlockResampler, Samples, open_blocks

# sound as an array of as many rows as frames, and two columns
_Stereo: TypeAlias = npt.NDArray[np.float32]

# of the times of pictures in a cut film, seconds; MPEG's own (ISO 13818-1), which every rate of pictures fits into
TIME_BASE = Fraction(1, 90_000)
# hertz of the sound of a cut film; common practice, no source
RATE = 48_000
# seconds over which one stretch's sound fades into the next one's, so that nothing clicks; ours
FADE_SECONDS = 0.02
# pictures: shown up to half of one sooner or later than they were taken, where a stretch begins or ends
HALF_PICTURE = 0.5
# seconds before a stretch from which a film is entered, and by which its pictures may begin late there
ENTERED_BEFORE, LATE_SECONDS = 0.5, 0.25
# share by which two films' pictures may differ in shape and fill the same frame
SHAPE_SLACK = 0.02


class _PieceSound:
    """The sound of stretches of films, handed out in order; silence where a film has none.

    gains_db : by how much each film is raised; nothing for not at all.
    """

    def __init__(self, paths: Sequence[Path], has_sound: Sequence[bool], gains_db: Sequence[float] = ()) -> None:
        self._paths, self._has_sound = paths, has_sound
        self._gains = [10 ** (gain / 20) for gain in gains_db] or [1.0] * len(paths)
        self._film, self._at = -1, 0
        self._sound: Iterator[_Stereo] = iter(())
        self._stack = ExitStack()
        self._left: _Stereo = np.zeros((0, 2), dtype=np.float32)

    def _open(self, film: int) -> None:
        self._stack.close()
        self._film, self._at, self._left = film, 0, self._left[:0]
        blocks = self._stack.enter_context(open_blocks(self._paths[film], allow_truncated=True))
        self._sound = _stereo(blocks)

    def of(self, film: int, first: int, last: int) -> _Stereo:
        """The sound of a film between two frames, shape (frames, 2); silence before its start and after its end."""
        sound = np.zeros((last - first, 2), dtype=np.float32)
        if not self._has_sound[film]:
            return sound
        if self._film != film or first < self._at:
            self._open(film)
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
            # what the next stretch may begin with is kept
            self._left, self._at = self._left[stop - start :], stop
        return sound * np.float32(self._gains[film])

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


def _rise(count: int) -> npt.NDArray[np.float32]:
    """From nothing to all, so that two sounds that are not alike are as loud together as each: shape (count, 1)."""
    return np.sin(np.linspace(0.0, np.pi / 2, count, dtype=np.float32))[:, np.newaxis]


def _joined_sound(sound: _PieceSound, cut: FilmCut) -> Iterator[_Stereo]:
    """The sound of what stays, one stretch faded into the next, both beyond the cut by half the fade."""
    half = round(FADE_SECONDS / 2 * RATE)
    waiting = np.zeros((0, 2), dtype=np.float32)
    done, at = 0, 0.0
    for film, start, end in _heard(cut):
        at += end - start
        # the frames that it is due, from the whole length, so that rounding never adds up
        count = round(at * RATE) - done
        first = round(start * RATE)
        block = sound.of(film, first - half, first + count + half)
        rise = _rise(2 * half)
        block[: 2 * half] *= rise
        if done:
            block[: 2 * half] += waiting * rise[::-1]
        else:
            block = block[half:]
        waiting = block[len(block) - 2 * half :].copy()
        yield block[: len(block) - 2 * half]
        done += count
    # the last half of its end lies beyond the film
    yield (waiting * _rise(2 * half)[::-1])[:half]


def _heard(cut: FilmCut) -> list[tuple[int, float, float]]:
    """Film, start and end of what is heard in one go, whichever camera shows it."""
    runs: list[tuple[int, float, float]] = []
    for piece in cut.kept:
        if runs and runs[-1][0] == piece.film and runs[-1][2] == piece.start_seconds:
            runs[-1] = (piece.film, runs[-1][1], piece.end_seconds)
        else:
            runs.append((piece.film, piece.start_seconds, piece.end_seconds))
    return runs


def _are_alike(one: FilmFacts, other: FilmFacts) -> bool:
    """Whether the pictures of two films have one shape."""
    return abs(one.width * other.height / (one.height * other.width) - 1.0) <= SHAPE_SLACK


def _framing(cut: FilmCut, facts: Sequence[FilmFacts]) -> int:
    """The first film of the shape that is shown longest."""
    filmed = [film for film, each in enumerate(facts) if each.has_pictures]
    seconds = {film: 0.0 for film in filmed}
    for piece in cut.kept:
        if piece.shown in seconds:
            alike = next(film for film in filmed if _are_alike(facts[film], facts[piece.shown]))
            seconds[alike] += piece.seconds
    return max(filmed, key=lambda film: (seconds[film], -film))


class CutFilm:
    """Films as they are cut, to be read as a `TeacherFilm` is; used in a ``with``.

    facts : of the one whose shape is shown longest, with the length of what stays; what has another shape stands
        whole in it, on black, and sound alone is black.

    Raises `FilmError` as `TeacherFilm` and `checked_cut`, and where none has pictures.
    """

    def __init__(self, paths: Sequence[Path], cut: FilmCut) -> None:
        self._paths = tuple(paths)
        if len(self._paths) != len(checked_cut(cut).films):
            raise FilmError("film.cut_films", count=len(cut.films), given=len(self._paths))
        self._facts = [footage_facts(path) for path in self._paths]
        self._rates = picture_rates(self._facts)
        self.cut = checked_cut(on_pictures(cut, [float(rate) for rate in self._rates]))
        first = self._facts[_framing(self.cut, self._facts)]
        self._has_sound = [bool(facts.sound_codecs) for facts in self._facts]
        codecs = ("aac",) if any(self._has_sound) else ()
        self.facts = replace(first, seconds=self.cut.seconds, time_base=TIME_BASE, sound_codecs=codecs)

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
        sound = _PieceSound(self._paths, self._has_sound, self.cut.gains_db)
        last_pts = -1
        try:
            heard = self._sound_frames(sound)
            waiting = next(heard, None)
            for one in self._pictures(width, height):
                # sound goes before the pictures that it is heard with, so that a player need not look for it
                while waiting is not None and waiting.packet.pts <= one.pts * TIME_BASE * RATE:
                    yield waiting
                    waiting = next(heard, None)
                if one.pts > last_pts:
                    last_pts = one.pts
                    yield one
            if waiting is not None:
                yield waiting
                yield from heard
        finally:
            sound.close()

    def _sound_frames(self, sound: _PieceSound) -> Iterator[SoundPacket]:
        if self.facts.sound_codecs:
            blocks = (Samples(block, RATE) for block in _joined_sound(sound, self.cut) if len(block))
            for _, frame in sound_frames(blocks, RATE):
                yield SoundPacket(frame, None)

    def _pictures(self, width: int, height: int) -> Iterator[Picture]:
        """The pictures of what stays, each at its time in the cut; the first of a stretch where that begins."""
        at = 0.0
        with ExitStack() as stack:
            readers: dict[int, _Pictures] = {}
            for piece in self.cut.kept:
                shown = piece.shown
                facts = self._facts[shown]
                if not facts.has_pictures:
                    yield from self._black(at, piece.seconds, width, height)
                    at += piece.seconds
                    continue
                if shown not in readers:
                    readers[shown] = stack.enter_context(_Pictures(self._paths[shown]))
                clock = self.cut.clock(shown, piece.film)
                assert clock is not None
                zone = Zone(0, 0, width, height)
                if not _are_alike(facts, self.facts):
                    zone = fitted_zone(facts.width, facts.height, zone)
                half = HALF_PICTURE / float(facts.frame_rate)
                start, end = clock.here(piece.start_seconds) - half, clock.here(piece.end_seconds) - half
                for one in readers[shown].between(start, end, zone.width, zone.height):
                    moment = max(at, at + clock.there(one.seconds) - piece.start_seconds)
                    pts = round(moment / TIME_BASE)
                    is_whole = (zone.width, zone.height) == (width, height)
                    picture = one.shown if is_whole else on_black(one.shown, zone, width, height)
                    yield Picture(pts, float(pts * TIME_BASE), picture)
                at += piece.seconds

    def _black(self, at: float, seconds: float, width: int, height: int) -> Iterator[Picture]:
        """Black pictures for what no camera saw."""
        rate = float(self.facts.frame_rate)
        for number in range(round(seconds * rate)):
            pts = round((at + number / rate) / TIME_BASE)
            yield Picture(pts, float(pts * TIME_BASE), black_frame(width, height))

    def close(self) -> None:
        """Nothing is open but while it is read."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


class _Pictures:
    """The pictures of a film, stretch by stretch; it is read on where it can be, else entered anew."""

    def __init__(self, path: Path) -> None:
        self._path, self._stack = path, ExitStack()
        self._reading: Iterator[Picture] = iter(())
        self._last: Picture | None = None
        self._until = float("inf")

    def _enter(self, seconds: float, width: int, height: int) -> Picture | None:
        """Begin to read a little before a moment; the first picture there."""
        for enter in (max(0.0, seconds - ENTERED_BEFORE), 0.0):
            self._stack.close()
            teacher = self._stack.enter_context(TeacherFilm(self._path))
            if enter:
                teacher.enter(enter)
            pictures = teacher.read(width, height, from_seconds=seconds - ENTERED_BEFORE, with_sound=False)
            self._reading = (one for one in pictures if isinstance(one, Picture))
            first = next(self._reading, None)
            if not enter or (first is not None and first.seconds <= seconds + LATE_SECONDS):
                return first
        return None

    def between(self, start: float, end: float, width: int, height: int) -> Iterator[Picture]:
        """The pictures between two moments; where none begins there, the one that is still shown."""
        one = self._last
        if one is None or one.seconds > start or start - self._until > ENTERED_BEFORE:
            one = self._enter(start, width, height)
        before: Picture | None = None
        while one is not None and one.seconds < start:
            before, one = one, next(self._reading, None)
        if before is not None and (one is None or one.seconds > start + LATE_SECONDS):
            yield before
        while one is not None and one.seconds < end:
            yield one
            one = next(self._reading, None)
        self._last, self._until = one, end

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.close()
