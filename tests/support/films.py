"""Films read back for tests: every frame's light, the sound, and which holes of the harp are lit."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
import numpy.typing as npt

from reedpath.film.screens import Zone


@dataclass(frozen=True)
class ReadFilm:
    """A film read back.

    times : of its pictures, seconds.
    lights : of its pictures, shape (pictures, height, width).
    sound : mono, from second 0 of the film's clock.
    rate : hertz.
    """

    times: npt.NDArray[np.float64]
    lights: npt.NDArray[np.uint8]
    sound: npt.NDArray[np.float32]
    rate: int


def read_film(path: Path, *, zone: Zone | None = None) -> ReadFilm:
    """A whole film; of its pictures only a zone where one is given."""
    times, lights, sound = [], [], []
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            plane = frame.planes[0]
            light = np.frombuffer(plane, dtype=np.uint8).reshape(plane.height, plane.line_size)[:, : plane.width]
            times.append(float(frame.pts * frame.time_base))
            lights.append((light if zone is None else light[zone.top : zone.bottom, zone.left : zone.right]).copy())
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        rate, at = stream.rate, None
        for frame in container.decode(stream):
            at = round(float(frame.pts * frame.time_base) * rate) if at is None else at
            sound.append(frame.to_ndarray().mean(axis=0))
    joined = np.concatenate(sound)
    joined = np.concatenate([np.zeros(max(0, at), dtype=joined.dtype), joined[max(0, -at) :]])
    return ReadFilm(np.array(times), np.array(lights), joined, rate)


def lit_holes(harps: npt.NDArray[np.uint8], holes: int) -> list[frozenset[int]]:
    """Which holes are lit in each picture of the harp, against the first picture, in which none is."""
    width = harps.shape[2] / (holes + 0.6)
    changes = np.abs(harps.astype(np.int16) - harps[0].astype(np.int16))
    lit = []
    for change in changes:
        now = set()
        for hole in range(1, holes + 1):
            middle = width * (hole - 0.2)
            if change[:, round(middle - width * 0.3) : round(middle + width * 0.3)].mean() > 8:
                now.add(hole)
        lit.append(frozenset(now))
    return lit


def onsets_of(sound: npt.NDArray[np.float32], rate: int, starts: list[float], *, lead: float) -> list[float]:
    """When notes with silence before them are heard to begin, by the sound alone, seconds.

    Each is looked for from ``lead`` seconds before to 0.2 s after where it is thought to be: the moment at which the
    level, in windows of 4 ms, first passes a quarter of the note's own.
    """
    window = round(0.004 * rate)
    found = []
    for start in starts:
        first = max(0, round((start - lead) * rate))
        piece = sound[first : round((start + 0.2) * rate)]
        level = np.sqrt(np.convolve(piece**2, np.ones(window) / window, mode="same"))
        held = np.median(level[round(lead * rate) + window * 10 :])
        found.append((first + int(np.argmax(level > held / 4))) / rate)
    return found
