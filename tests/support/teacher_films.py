"""Films as a teacher might bring them, made for tests: a moving picture, and a lesson played between noise."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from reedpath.lesson import Lesson
from reedpath.listen import PlayThrough
from reedpath.sound import PlayAlong, lay_out, sound_blocks
from support.play_throughs import play_through

RATE = 44_100


@dataclass(frozen=True)
class MadeFilm:
    """A film and what is played in it."""

    path: Path
    plays: tuple[PlayThrough, ...]
    seconds: float


def _sound(lesson: Lesson) -> tuple[np.ndarray, tuple[PlayThrough, ...]]:
    """A second of noise, the slowest rung, a second of noise, the fastest rung."""
    random = np.random.default_rng(7)
    pieces, plays, at = [], [], 0.0
    for rung in (lesson.ladder[0], lesson.ladder[-1]):
        pieces.append(0.01 * random.standard_normal((RATE, 2)).astype(np.float32))
        layout = lay_out(lesson, rung, PlayAlong(count_in_bars=0))
        pieces += [block.array for block in sound_blocks(layout)]
        zero = at + 1.0 + layout.zero_seconds
        spans = [(zero + span.start_seconds, zero + span.end_seconds) for span in layout.plan.spans]
        plays.append(play_through([(index, *span) for index, span in enumerate(spans)], factor=rung.factor))
        at += 1.0 + layout.seconds
    return np.concatenate(pieces), tuple(plays)


def _picture(width: int, height: int, number: int) -> np.ndarray:
    """A bright bar that goes from left to right, over a shade that is darker at the lower edge."""
    array = np.full((height * 3 // 2, width), 128, dtype=np.uint8)
    array[:height] = np.linspace(200, 80, height).astype(np.uint8)[:, np.newaxis]
    x = number * 4 % (width - 20)
    array[:height, x : x + 20] = 235
    return array


def _cloud(width: int, height: int, random: np.random.Generator) -> np.ndarray:
    """A shape as rough at every size as pictures of the world are: amplitudes as 1/frequency.

    Field, "Relations between the statistics of natural images and the response properties of cortical cells",
    Journal of the Optical Society of America A 4 (1987).
    """
    across, down = np.fft.rfftfreq(width), np.fft.fftfreq(height)[:, np.newaxis]
    frequency = np.hypot(across, down)
    frequency[0, 0] = 1.0
    spectrum = random.standard_normal(frequency.shape) + 1j * random.standard_normal(frequency.shape)
    cloud = np.fft.irfft2(spectrum / frequency, (height, width))
    return (cloud - cloud.mean()) / cloud.std()


class Camera:
    """Pictures as from a camera held by hand: rough ones that shake a little, with grain."""

    def __init__(self, width: int, height: int) -> None:
        random = np.random.default_rng(5)
        self.width, self.height = width, height
        self._light = np.clip(120 + 40 * _cloud(width + 32, height + 32, random), 16, 235).astype(np.float32)
        self._colours = [
            np.clip(128 + 16 * _cloud(width // 2 + 16, height // 2 + 16, random), 16, 240).astype(np.uint8)
            for _ in range(2)
        ]
        # grain of 2.5 steps of light, as phones leave indoors; from memory
        self._grain = [(2.5 * random.standard_normal((height, width))).astype(np.float32) for _ in range(5)]

    def picture(self, number: int) -> np.ndarray:
        """Light and colour of a picture as one array."""
        width, height = self.width, self.height
        x = 16 + 2 * round(5 * np.sin(0.03 * number) + np.sin(0.41 * number))
        y = 16 + 2 * round(4 * np.sin(0.023 * number) + np.sin(0.37 * number))
        grain = np.roll(self._grain[number % 5], 37 * number % height, axis=0)
        array = np.empty((height * 3 // 2, width), dtype=np.uint8)
        array[:height] = np.clip(self._light[y : y + height, x : x + width] + grain, 0, 255)
        cut = [one[y // 2 : (y + height) // 2, x // 2 : (x + width) // 2].ravel() for one in self._colours]
        array[height:] = np.concatenate(cut).reshape(height // 2, width)
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
    grainy: bool = False,
) -> MadeFilm:
    """Write a film.

    turned : degrees to the left by which players are told to turn it, as phones do.
    uneven : whether every fifth picture is missing, as in films of phones in the dark.
    sound : its codec, None for a silent film.
    grainy : whether its pictures are as rough as a camera's, and coded as a phone does.
    """
    samples, plays = _sound(lesson)
    shape = FilmMade(size, fps, turned=turned, uneven=uneven, sound=sound, grainy=grainy)
    return MadeFilm(path, plays, write_film(path, samples, shape))


@dataclass(frozen=True)
class FilmMade:
    """How a film is written; see `teacher_film`."""

    size: tuple[int, int] = (640, 360)
    fps: int = 30
    turned: int = 0
    uneven: bool = False
    sound: str | None = "aac"
    grainy: bool = False


def write_film(path: Path, samples: np.ndarray, shape: FilmMade) -> float:
    """Write a film with that sound, shape (frames, 2) at `RATE`; its length in seconds."""
    size, fps, sound, grainy = shape.size, shape.fps, shape.sound, shape.grainy
    turned, uneven = shape.turned, shape.uneven
    seconds = len(samples) / RATE
    with av.open(str(path), "w") as container:
        video = container.add_stream("libx264", rate=fps)
        video.width, video.height, video.pix_fmt = *size, "yuv420p"
        video.options = {"preset": "veryfast", "crf": "20"} if grainy else {"preset": "ultrafast", "crf": "18"}
        camera = Camera(*size) if grainy else None
        if turned:
            video.set_display_rotation(turned)
        audio = container.add_stream(sound, rate=RATE, layout="stereo") if sound else None
        done = 0
        for number in range(int(seconds * fps)):
            picture = camera.picture(number) if camera else _picture(*size, number)
            frame = av.VideoFrame.from_ndarray(picture, format="yuv420p")
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
    return seconds


def talk(seconds: float, seed: int) -> np.ndarray:
    """What sounds like talk to who cannot understand it: noise in syllables, shape (frames, 2)."""
    random = np.random.default_rng(seed)
    count = round(seconds * RATE)
    syllables = 0.5 + 0.5 * np.sin(2 * np.pi * 4.0 * np.arange(count) / RATE)
    noise = np.convolve(random.standard_normal(count), np.ones(8) / 8, mode="same")
    return np.repeat((0.08 * noise * syllables)[:, np.newaxis], 2, axis=1).astype(np.float32)


def quiet(seconds: float, seed: int = 3) -> np.ndarray:
    """A silent room, shape (frames, 2)."""
    random = np.random.default_rng(seed)
    return (0.0003 * random.standard_normal((round(seconds * RATE), 2))).astype(np.float32)


def playing(lesson: Lesson, rung: int, *, events: int | None = None, wrong: bool = False) -> np.ndarray:
    """A lesson played at a tempo of its ladder, shape (frames, 2).

    events : how many, before it is broken off. wrong : whether two seconds in its middle are silent.
    """
    layout = lay_out(lesson, lesson.ladder[rung], PlayAlong(count_in_bars=0))
    sound = np.concatenate([block.array for block in sound_blocks(layout)])
    sound = np.repeat(sound, 2, axis=1) if sound.shape[1] == 1 else sound
    if events is not None:
        sound = sound[: round((layout.zero_seconds + layout.plan.spans[events - 1].end_seconds) * RATE)]
    if wrong:
        middle = len(sound) // 2
        sound = sound.copy()
        sound[middle : middle + 2 * RATE] = 0.0
    return sound
