"""The teacher's film: its pictures one by one, upright and square, its sound as the packets that are in the file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from reedpath.errors import FilmError, Place, system_words
from reedpath.film.planes import BT601, BT709, Coding, Planes, planes_in
from reedpath.signal import open_blocks

# pixels of the shorter side up to which a film's own size is kept; a larger film is made smaller, to this
MOST_LINES = 1080
# numbers by which files say how their colours are coded (ITU-T H.273); what says nothing is taken as its size has it:
# BT.601 up to 576 lines, BT.709 beyond (common practice, no source)
_CODINGS = {1: BT709, 5: BT601, 6: BT601}
SMALL_LINES = 576
# threads that decode pictures ahead; more would take the cores from the encoder
DECODER_THREADS = 2
# numbers of the narrow range of colours, and of one that the file does not name (ITU-T H.273)
_NARROW = (0, 1)
# quarter turns to the left, as libraries name them
_TURNED_BY = {1: (("transpose", "cclock"),), 2: (("hflip", ""), ("vflip", "")), 3: (("transpose", "clock"),)}


@dataclass(frozen=True, slots=True)
class FilmFacts:
    """What is known of a film before it is read.

    width, height : pixels as it is shown, turned and squared, even, and no larger than is kept; 0 of sound alone.
    turns : quarter turns to the left that its pictures are to be turned by.
    seconds : its length.
    frame_rate : pictures a second on average.
    time_base : of the times of its pictures, seconds.
    coding : how its colours are coded.
    sound_codecs : of its sound tracks, as libraries name them.
    """

    width: int
    height: int
    turns: int
    seconds: float
    frame_rate: Fraction
    time_base: Fraction
    coding: Coding
    sound_codecs: tuple[str, ...]

    @property
    def has_pictures(self) -> bool:
        """Whether it is a film, and not sound alone."""
        return self.width > 0

    @property
    def is_upright(self) -> bool:
        """Whether it is higher than wide."""
        return self.height > self.width


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """One picture as it is shown.

    pts, seconds : its time, in units of the film's time base and in seconds.
    shown : a frame of av, yuv420p, which the film's reader may still need.
    """

    pts: int
    seconds: float
    shown: Any

    def planes(self) -> Planes:
        """Its planes, to be read."""
        return Planes(*planes_in(self.shown))

    def planes_to_draw_on(self) -> Planes:
        """Its planes, to be written on; they are copied first where the reader still needs them."""
        self.shown.make_writable()
        return Planes(*planes_in(self.shown))


@dataclass(frozen=True, slots=True, eq=False)
class SoundPacket:
    """A packet of the film's sound, as it is in the file; ``stream`` is where it comes from."""

    packet: Any
    stream: Any


def _shown_size(width: int, height: int, squeeze: Fraction) -> tuple[int, int]:
    """Even width and height of square pixels, no larger than is kept."""
    across, down = float(width * squeeze), float(height)
    small = min(1.0, MOST_LINES / min(across, down))
    return max(2, round(across * small / 2) * 2), max(2, round(down * small / 2) * 2)


def _coding_of(context: Any) -> Coding:
    lines = min(context.width, context.height)
    coding = _CODINGS.get(int(context.colorspace), BT601 if lines <= SMALL_LINES else BT709)
    return coding


def _moving(container: Any) -> list[Any]:
    """Its tracks of pictures, without a cover that stands in a sound file."""
    from av.stream import Disposition

    return [one for one in container.streams.video if not one.disposition & Disposition.attached_pic]


def _scaler() -> Any:
    """What makes pictures smaller or larger; it keeps its tables from one picture to the next."""
    from av.video.reformatter import VideoReformatter

    return VideoReformatter()


def _turner(facts: FilmFacts, first: Any) -> Any:
    """What turns pictures of one size, as libraries name it."""
    import av

    graph = av.filter.Graph()
    chain = [graph.add_buffer(width=first.width, height=first.height, format="yuv420p", time_base=facts.time_base)]
    chain += [graph.add(name, how) for name, how in _TURNED_BY[facts.turns]] + [graph.add("buffersink")]
    for one, after in pairwise(chain):
        one.link_to(after)
    graph.configure()
    return graph


class TeacherFilm:
    """A film open for reading; close it, or use it in a ``with`` statement.

    Raises `FilmError` for no such file, no film, a film without pictures.
    """

    def __init__(self, path: Path) -> None:
        self._place, self._path = Place(file=str(path)), path
        self._turner: Any = None
        self._scaler: Any = _scaler()
        self._open()
        # read to its first picture, and opened again: going back to the start would lose the first of the sound,
        # which lies before second 0
        self.facts = self._read_facts()
        self.close()
        self._open()

    def _open(self) -> None:
        import av

        try:
            self._container: Any = av.open(str(self._path))
        except (av.FFmpegError, OSError, ValueError) as error:
            raise FilmError("film.not_read", where=self._place, problem=system_words(error)) from error
        videos = _moving(self._container)
        if not videos:
            self.close()
            raise FilmError("film.no_pictures", where=self._place)
        self._video = videos[0]
        if self._video.codec_context is None:  # the library knows no decoder for what the header names
            self.close()
            raise FilmError("film.damaged", where=self._place)
        self._video.thread_type, self._video.thread_count = "AUTO", DECODER_THREADS
        self.sounds: tuple[Any, ...] = tuple(self._container.streams.audio)

    def _read_facts(self) -> FilmFacts:
        import av

        try:
            first = next(self._container.decode(self._video))
        except (av.FFmpegError, StopIteration) as error:
            self.close()
            raise FilmError("film.damaged", where=self._place) from error
        squeeze = Fraction(self._video.sample_aspect_ratio or 1) or Fraction(1)
        width, height = _shown_size(first.width, first.height, squeeze)
        turns = round(first.rotation / 90) % 4
        if turns % 2:
            width, height = height, width
        return FilmFacts(
            width,
            height,
            turns,
            self._seconds(),
            Fraction(self._video.average_rate or self._video.guessed_rate or 30),
            Fraction(self._video.time_base),
            _coding_of(self._video.codec_context),
            tuple(one.codec_context.name for one in self.sounds if one.codec_context is not None),
        )

    def _seconds(self) -> float:
        if self._container.duration:
            return float(self._container.duration / 1_000_000 + (self._container.start_time or 0) / 1_000_000)
        if self._video.duration:
            return float(self._video.duration * self._video.time_base)
        return self._counted_seconds()

    def _counted_seconds(self) -> float:
        """The length of a film whose header does not say it, as those that a browser records: read to its end."""
        import av

        end = 0.0
        try:
            for packet in self._container.demux(self._video, *self.sounds):
                if packet.pts is not None:
                    end = max(end, float((packet.pts + (packet.duration or 0)) * packet.time_base))
        except av.FFmpegError:
            pass
        if not end:
            raise FilmError("film.no_length", where=self._place)
        return end

    def sound_into(self, container: Any) -> Callable[[SoundPacket | None], None]:
        """Streams for its sound in a container; what puts a packet there as it is, None for the end."""
        streams = {stream.index: container.add_stream_from_template(stream) for stream in self.sounds}

        def put(one: SoundPacket | None) -> None:
            if one is not None:
                one.packet.stream = streams[one.stream.index]
                container.mux(one.packet)

        return put

    def enter(self, seconds: float) -> None:
        """Go to a moment, or to the last picture before it from which others can be made; it must not be read yet.

        Where the file has no index nothing is done, so that it is read from its start.
        """
        import av

        try:
            self._container.seek(int(seconds / float(self.facts.time_base)), stream=self._video, backward=True)
        except (av.FFmpegError, OSError, ValueError):
            self.close()
            self._open()

    def read(
        self, width: int, height: int, *, from_seconds: float = 0.0, with_sound: bool = True
    ) -> Iterator[Picture | SoundPacket]:
        """Its pictures, that wide and high, and its packets of sound, in the order of the file.

        A film that breaks off ends where it breaks. Pictures are in the narrow range of light and colour.

        from_seconds : pictures before are passed over. with_sound : whether its packets of sound are wanted.
        """
        import av

        try:
            for packet in self._container.demux(self._video, *(self.sounds if with_sound else ())):
                if packet.stream is not self._video:
                    if packet.dts is not None:
                        yield SoundPacket(packet, packet.stream)
                    continue
                for shown in packet.decode():
                    if shown.pts is None:
                        continue
                    seconds = float(shown.pts * self.facts.time_base)
                    if seconds < from_seconds:
                        continue
                    yield Picture(shown.pts, seconds, self._upright(shown, width, height))
        except av.FFmpegError:
            return

    def _upright(self, shown: Any, width: int, height: int) -> Any:
        """The picture as it is to be seen, untouched where it is so already."""
        turns = self.facts.turns
        size = (height, width) if turns % 2 else (width, height)
        is_narrow = int(shown.color_range) in _NARROW
        if (shown.width, shown.height) != size or shown.format.name != "yuv420p" or not is_narrow:
            shown = self._scaled(shown, size)
        return self._turned(shown) if turns else shown

    def _scaled(self, shown: Any, size: tuple[int, int]) -> Any:
        """That large, as light and colour in the narrow range; in one thread, for the others have their work."""
        coded = 1 if self.facts.coding == BT709 else 5
        return self._scaler.reformat(
            shown,
            *size,
            format="yuv420p",
            src_colorspace=coded,
            dst_colorspace=coded,
            dst_color_range=1,
            interpolation="AREA" if size[0] < shown.width else "BICUBIC",
            threads=1,
        )

    def _turned(self, shown: Any) -> Any:
        if self._turner is None:
            self._turner = _turner(self.facts, shown)
        self._turner.push(shown)
        return self._turner.pull()

    def close(self) -> None:
        """Close the file."""
        self._container.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def footage_facts(path: Path) -> FilmFacts:
    """What is known of a film, or of sound that was taken beside one: that has no width and no height.

    Raises `FilmError` when it cannot be read, or has neither.
    """
    try:
        with TeacherFilm(path) as film:
            return film.facts
    except FilmError as error:
        if error.key != "film.no_pictures":
            raise
        return _sound_facts(path, error)


def _sound_facts(path: Path, no_pictures: FilmError) -> FilmFacts:
    import av

    with av.open(str(path)) as sound:
        codecs = tuple(one.codec_context.name for one in sound.streams.audio if one.codec_context is not None)
        if not codecs:
            raise no_pictures
        length = None if sound.duration is None else (sound.duration + (sound.start_time or 0)) / 1_000_000
    if length is None:
        with open_blocks(path, allow_truncated=True) as blocks:
            length = sum(block.duration_seconds for block in blocks)
    return FilmFacts(0, 0, 0, length, Fraction(1), Fraction(1), BT709, codecs)


def picture_rates(facts: Sequence[FilmFacts]) -> list[Fraction]:
    """Pictures a second of each film, by which it is cut; sound alone is cut as the first film that has pictures.

    FilmError where none has.
    """
    known = next((one.frame_rate for one in facts if one.has_pictures), None)
    if known is None:
        raise FilmError("film.no_pictures")
    return [one.frame_rate if one.has_pictures else known for one in facts]


def seekable_film(path: Path, folder: Path) -> Path:
    """A film that says its length and may be entered anywhere: itself, or, of one that was written without going
    back, as browsers record, a copy with the same packets in a folder.

    Raises `FilmError` when it cannot be read.
    """
    import av

    try:
        with av.open(str(path)) as film:
            if film.duration is not None:
                return path
            copy = folder / f"{path.stem}{'.mkv' if path.suffix.lower() != '.webm' else '.webm'}"
            with av.open(str(copy), "w") as out:
                wanted = (*film.streams.video, *film.streams.audio)
                streams = {one.index: out.add_stream_from_template(one) for one in wanted}
                for packet in film.demux(*wanted):
                    if packet.dts is not None:
                        packet.stream = streams[packet.stream.index]
                        out.mux(packet)
            return copy
    except (av.FFmpegError, OSError, ValueError) as error:
        raise FilmError("film.not_read", where=Place(file=str(path)), problem=system_words(error)) from error
