"""The strip alone on a transparent ground, as long as the teacher's film and as large, for those who cut it in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np

from reedpath.errors import FilmError
from reedpath.film.encode import FilmProgress, PictureLine, encoder_threads, film_file
from reedpath.film.film_reader import FilmFacts, TeacherFilm
from reedpath.film.frames import FramePainter
from reedpath.film.layout import lay_out_takes
from reedpath.film.planes import BT709, Bytes, Frame, Plate, planes_in
from reedpath.film.take_film import TakeWishes, painter_for, screen_for
from reedpath.film.timeline import Timeline
from reedpath.lesson import Lesson
from reedpath.wording import load_catalogue

if TYPE_CHECKING:
    from reedpath.listen import PlayThrough


@dataclass(frozen=True, slots=True)
class _OverlayKind:
    """One way to keep a transparent film.

    format, codec, pixels : as libraries name them.
    options : of the codec.
    """

    format: str
    codec: str
    pixels: str
    options: tuple[tuple[str, str], ...]

    @property
    def is_rgb(self) -> bool:
        """Whether it keeps red, green and blue."""
        return "rgb" in self.pixels


# run-length coded pixels, lossless and quick, which editors have long read; ProRes 4444, large, for editors that read
# nothing else, by the one of two coders that takes a fifth of the other's time for the same size; VP9 in WebM, small,
# for browsers
_KINDS = MappingProxyType(
    {
        "runs": _OverlayKind("mov", "qtrle", "argb", ()),
        "prores": _OverlayKind("mov", "prores_aw", "yuva444p10le", (("profile", "4"),)),
        "vp9": _OverlayKind(
            "webm", "libvpx-vp9", "yuva420p", (("deadline", "realtime"), ("cpu-used", "8"), ("crf", "24"), ("b", "0"))
        ),
    }
)


def overlay_kinds() -> tuple[str, ...]:
    """The kinds of transparent film: runs, prores, vp9."""
    return tuple(_KINDS)


def overlay_format(kind: str) -> str:
    """The kind of file of a transparent film: "mov" or "webm".

    Raises `FilmError` for no such kind.
    """
    if kind not in _KINDS:
        raise FilmError("film.unknown_overlay", name=kind, known=overlay_kinds())
    return _KINDS[kind].format


def _with_opacity(drawn: Frame, opacity: Bytes, kind: _OverlayKind) -> Any:
    """A frame with its opacity as av takes it."""
    import av

    height, width = drawn.light.shape
    frame = av.VideoFrame(width, height, "yuva420p")
    for plane, ours in zip(planes_in(frame), (drawn.light, drawn.blue, drawn.red, opacity), strict=True):
        plane[:] = ours
    # BT.709 (number 1 of ITU-T H.273) in the narrow range on both sides, but for pixels of red, green and blue
    return frame.reformat(
        format=kind.pixels,
        src_colorspace=1,
        dst_colorspace=1,
        src_color_range=1,
        dst_color_range=2 if kind.is_rgb else 1,
        threads=1,
    )


def film_overlay(
    film: Path,
    lesson: Lesson,
    plays: Sequence[PlayThrough],
    path: Path,
    wishes: TakeWishes | None = None,
    *,
    kind: str = "runs",
    progress: FilmProgress | None = None,
) -> Timeline:
    """Write the strip alone, transparent around it, with the film's size, length and number of frames a second.

    It has no sound. Whatever goes wrong, interruption included, leaves no file.

    film : the teacher's film, for its measures.
    path : of the file to be written, of the kind that `overlay_format` says.
    wishes : palette and language; the place is always over the film.
    kind : see `overlay_kinds`.

    Raises `FilmError` as `film_takes`, and for a kind that is not known.
    """
    chosen = wishes or TakeWishes()
    overlay_format(kind)
    words = load_catalogue(chosen.language or lesson.languages[0])
    with TeacherFilm(film) as teacher:
        facts = replace(teacher.facts, coding=BT709)
    timeline = lay_out_takes(lesson, plays, film_seconds=facts.seconds)
    screen = screen_for(facts, TakeWishes(palette=chosen.palette, language=chosen.language))
    painter = painter_for(lesson, timeline, facts, screen, words, chosen.palette)
    with film_file(path, _KINDS[kind].format) as container:
        _write(container, _KINDS[kind], painter, facts, progress)
    return timeline


def _write(
    container: Any, kind: _OverlayKind, painter: FramePainter, facts: FilmFacts, progress: FilmProgress | None
) -> None:
    screen = painter.screen
    stream = container.add_stream(kind.codec, rate=facts.frame_rate)
    stream.width, stream.height, stream.pix_fmt = screen.width, screen.height, kind.pixels
    stream.options = dict(kind.options)
    context = stream.codec_context
    context.thread_type, context.thread_count = "FRAME", encoder_threads()
    if not kind.is_rgb:  # BT.709 in the narrow range, as above
        context.colorspace = context.color_primaries = context.color_trc = context.color_range = 1
    zone = screen.plate
    if zone is None:
        raise ValueError("the screen has no plate")
    plate = Plate(zone, painter.look.palette.inks["ground"], facts.coding)
    opacity = np.zeros(painter.frame.light.shape, dtype=np.uint8)
    covered = opacity[zone.top : zone.bottom, zone.left : zone.right]
    count = max(1, round(facts.seconds * facts.frame_rate))
    with PictureLine(container, stream) as line:
        for number in range(count):
            seconds = float((number + Fraction(1, 2)) / facts.frame_rate)
            playing = painter.timeline.scene_at(seconds) is not None
            if playing:
                painter.draw(seconds)
            covered[:] = plate.opacity(painter.frame) if playing else 0
            frame = _with_opacity(painter.frame, opacity, kind)
            frame.pts, frame.time_base = number, 1 / facts.frame_rate
            line.put(frame)
            if progress is not None:
                progress(number + 1, count)
