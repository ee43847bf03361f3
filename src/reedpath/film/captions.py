"""Captions and chapters as text: WebVTT (W3C, "WebVTT: The Web Video Text Tracks Format") and SRT.

SRT has no standard; it is written as it commonly is: a number, the times with a comma, the lines, an empty line.
"""

from __future__ import annotations

from collections.abc import Iterable

from reedpath.film.cues import Cue
from reedpath.film.words import words_of

__all__ = ["format_srt", "format_webvtt"]

# what WebVTT keeps for itself (section 4.2.2), and what stands for it
_KEPT = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}


def _clock(seconds: float, mark: str) -> str:
    """
    A moment as hours, minutes, seconds and thousandths.

    >>> _clock(3723.5, ".")
    '01:02:03.500'
    """
    thousandths = max(0, round(seconds * 1000))
    whole, rest = divmod(thousandths, 1000)
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}{mark}{rest:03d}"


def _apart(cues: Iterable[Cue]) -> Iterable[tuple[int, int, Cue]]:
    """The cues in order with their thousandths: each at least one long, and none over the one before."""
    until = 0
    for cue in sorted((cue for cue in cues if _lines(cue)), key=lambda cue: cue.start_seconds):
        start = max(until, round(cue.start_seconds * 1000))
        until = max(start + 1, round(cue.end_seconds * 1000))
        yield start, until, cue


def _lines(cue: Cue) -> list[str]:
    """The lines of a cue without line breaks in them and without empty ones, for an empty line ends a cue."""
    return [text for text in (" ".join(words_of(line)) for line in cue.lines) if text]


def _escaped(text: str) -> str:
    return "".join(_KEPT.get(letter, letter) for letter in text)


def format_webvtt(cues: Iterable[Cue], *, title: str = "", language: str = "") -> str:
    """Cues as a WebVTT file's text, for captions and for chapters alike.

    Parameters
    ----------
    title, language : said in a note at the head, for those who open the file.

    >>> print(format_webvtt([Cue(0.0, 1.5, ("2 < 3",))]), end="")
    WEBVTT
    <BLANKLINE>
    1
    00:00:00.000 --> 00:00:01.500
    2 &lt; 3
    """
    about = ", ".join(part for part in (title, language) if part).replace("-->", "->")
    blocks = ["WEBVTT"] + ([f"NOTE {' '.join(words_of(about))}"] if about else [])
    for number, (start, end, cue) in enumerate(_apart(cues), start=1):
        lines = "\n".join(_escaped(line) for line in _lines(cue))
        blocks.append(f"{number}\n{_clock(start / 1000, '.')} --> {_clock(end / 1000, '.')}\n{lines}")
    return "\n\n".join(blocks) + "\n"


def format_srt(cues: Iterable[Cue]) -> str:
    """Cues as an SRT file's text.

    >>> print(format_srt([Cue(61.0, 62.25, ("-4", "Let it go."))]), end="")
    1
    00:01:01,000 --> 00:01:02,250
    -4
    Let it go.
    """
    blocks = []
    for number, (start, end, cue) in enumerate(_apart(cues), start=1):
        lines = "\n".join(_lines(cue))
        blocks.append(f"{number}\n{_clock(start / 1000, ',')} --> {_clock(end / 1000, ',')}\n{lines}")
    return "\n\n".join(blocks) + "\n" if blocks else ""
