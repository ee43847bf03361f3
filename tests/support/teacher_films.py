"""Films as a teacher might bring them, made for tests: a moving picture, and a lesson played between noise."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from reedpath.film import Heard, Playing
from reedpath.lesson import Lesson
from reedpath.sound import PlayAlong, lay_out, sound_blocks

RATE = 44_100


@dataclass(frozen=True)
class MadeFilm:
    """A film and what is played in it."""

    path: Path
    playings: tuple[Playing, ...]
    seconds: float


def _sound(lesson: Lesson) -> tuple[np.ndarray, tuple[Playing, ...]]:
    """A second of noise, the slowest rung, a second of noise, the fastest rung."""
    random = np.random.default_rng(7)
    pieces, playings, at = [], [], 0.0
    for rung in (lesson.ladder[0], lesson.ladder[-1]):
        pieces.append(0.01 * random.standard_normal((RATE, 2)).astype(np.float32))
        layout = lay_out(lesson, rung, PlayAlong(count_in_bars=0))
        pieces += [block.array for block in sound_blocks(layout)]
        zero = at + 1.0 + layout.zero_seconds
        playings.append(
            Playing(
                tuple(
                    Heard(index, zero + span.start_seconds, zero + span.end_seconds)
                    for index, span in enumerate(layout.plan.spans)
                )
            )
        )
        at += 1.0 + layout.seconds
    return np.concatenate(pieces), tuple(playings)


def _picture(width: int, height: int, number: int) -> np.ndarray:
    """A bright bar that goes from left to right, over a shade that is darker at the lower edge."""
    array = np.full((height * 3 // 2, width), 128, dtype=np.uint8)
    array[:height] = np.linspace(200, 80, height).astype(np.uint8)[:, np.newaxis]
    x = number * 4 % (width - 20)
    array[:height, x : x + 20] = 235
    return array


def teacher_film(
    path: Path,
    lesson: Lesson,
    *,
    size: tuple[int, int] = (640, 360),
    fps: int = 30,
    turned: int = 0,
    uneven: bool = False,
    sound: str | None = "aac",
) -> MadeFilm:
    """Write a film.

    turned : degrees to the left by which players are told to turn it, as phones do.
    uneven : whether every fifth picture is missing, as in films of phones in the dark.
    sound : its codec, None for a silent film.
    """
    samples, playings = _sound(lesson)
    seconds = len(samples) / RATE
    with av.open(str(path), "w") as container:
        video = container.add_stream("libx264", rate=fps)
        video.width, video.height, video.pix_fmt = *size, "yuv420p"
        video.options = {"preset": "ultrafast", "crf": "18"}
        if turned:
            video.set_display_rotation(turned)
        audio = container.add_stream(sound, rate=RATE, layout="stereo") if sound else None
        done = 0
        for number in range(int(seconds * fps)):
            frame = av.VideoFrame.from_ndarray(_picture(*size, number), format="yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, fps)
            if not uneven or number % 5 != 3:
                container.mux(video.encode(frame))
            until = min(len(samples), round((number + 1) / fps * RATE))
            if audio is not None:
                part = av.AudioFrame.from_ndarray(
                    np.ascontiguousarray(samples[done:until].T), format="fltp", layout="stereo"
                )
                part.sample_rate, part.pts, part.time_base = RATE, done, Fraction(1, RATE)
                container.mux(audio.encode(part))
            done = until
        container.mux(video.encode(None))
        if audio is not None:
            container.mux(audio.encode(None))
    return MadeFilm(path, playings, seconds)
