"""Names of sound files, by what they are."""

from __future__ import annotations

from reedpath.lesson import Rung

__all__ = ["ladder_name", "play_along_name", "spot_name", "with_band_name"]


def _bpm(rung: Rung) -> str:
    return f"{round(rung.bpm, 1):g}"


def play_along_name(rung: Rung, *, format: str = "wav") -> str:
    """
    File name of a rung's play-along.

    >>> play_along_name(Rung("slow", 0.5, 52.5)), play_along_name(Rung("full", 1.0, 100.0), format="flac")
    ('play-along-52.5.wav', 'play-along-100.flac')
    """
    return f"play-along-{_bpm(rung)}.{format}"


def with_band_name(rung: Rung, *, format: str = "wav") -> str:
    """
    File name of a rung played with the band.

    >>> with_band_name(Rung("full", 1.0, 100.0), format="opus")
    'with-band-100.opus'
    """
    return f"with-band-{_bpm(rung)}.{format}"


def ladder_name(*, is_with_band: bool = False, format: str = "wav") -> str:
    """
    File name of a whole ladder in one file.

    >>> ladder_name(is_with_band=True, format="mp3")
    'ladder-with-band.mp3'
    """
    return f"ladder{'-with-band' if is_with_band else ''}.{format}"


def spot_name(number: int, *, format: str = "wav") -> str:
    """
    File name of a looped spot, counted from 1.

    >>> spot_name(2)
    'spot-2.wav'
    """
    return f"spot-{number}.{format}"
