"""Names of sound files, by what they are: what plays, how fast, and whose turn it is."""

from __future__ import annotations

from reedpath.lesson import Rung
from reedpath.sound.turns import Turns

__all__ = ["ladder_name", "play_along_name", "spot_name", "with_band_name"]

# what is added to a name where the harmonica does not play all through
_WHOSE = {Turns.TOGETHER: "", Turns.CALL: "-call", Turns.YOURS: "-yours"}


def _bpm(rung: Rung) -> str:
    return f"{round(rung.bpm, 1):g}"


def play_along_name(rung: Rung, *, turns: Turns = Turns.TOGETHER, format: str = "wav") -> str:
    """
    File name of a rung's play-along.

    >>> play_along_name(Rung("slow", 0.5, 52.5)), play_along_name(Rung("full", 1.0, 100.0), turns=Turns.YOURS)
    ('play-along-52.5.wav', 'play-along-100-yours.wav')
    """
    return f"play-along-{_bpm(rung)}{_WHOSE[turns]}.{format}"


def with_band_name(rung: Rung, *, turns: Turns = Turns.TOGETHER, format: str = "wav") -> str:
    """
    File name of a rung played with the band.

    >>> with_band_name(Rung("full", 1.0, 100.0), turns=Turns.CALL, format="opus")
    'with-band-100-call.opus'
    """
    return f"with-band-{_bpm(rung)}{_WHOSE[turns]}.{format}"


def ladder_name(*, is_with_band: bool = False, turns: Turns = Turns.TOGETHER, format: str = "wav") -> str:
    """
    File name of a whole ladder in one file.

    >>> ladder_name(is_with_band=True, format="mp3")
    'ladder-with-band.mp3'
    """
    return f"ladder{'-with-band' if is_with_band else ''}{_WHOSE[turns]}.{format}"


def spot_name(number: int, *, turns: Turns = Turns.TOGETHER, format: str = "wav") -> str:
    """
    File name of a looped spot, counted from 1.

    >>> spot_name(2), spot_name(2, turns=Turns.CALL)
    ('spot-2.wav', 'spot-2-call.wav')
    """
    return f"spot-{number}{_WHOSE[turns]}.{format}"
