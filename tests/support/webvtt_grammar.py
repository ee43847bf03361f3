"""A strict reading of the WebVTT grammar, written from the W3C's text for authors, not from any parser's leniency.

W3C, "WebVTT: The Web Video Text Tracks Format" (Candidate Recommendation, and the editor's draft of 2026): section
4.1 for the file's structure, 4.2.1 to 4.2.3 for what a cue may hold. Only what our files use is allowed in text:
spans and character references; tags are refused, as are regions and style sheets.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

STAMP = r"(?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3})"
TIMINGS = re.compile(rf"{STAMP}[ \t]+-->[ \t]+{STAMP}")
# character references of HTML that need no table: the ones that the section names, and numbers
REFERENCE = re.compile(r"&(?:amp|lt|gt|lrm|rlm|nbsp|#\d+|#x[0-9A-Fa-f]+);")


@dataclass(frozen=True)
class ReadCue:
    identifier: str
    start: float
    end: float
    text: str


class NotWebVTT(AssertionError):
    """What breaks the grammar, and in which line."""


def _seconds(parts: tuple[str | None, ...]) -> float:
    hours, minutes, seconds, thousandths = parts
    return int(hours or 0) * 3600 + int(minutes or 0) * 60 + int(seconds or 0) + int(thousandths or 0) / 1000


def _check_text(text: str, line: int) -> None:
    rest = REFERENCE.sub("", text)
    if "-->" in text:
        raise NotWebVTT(f"line {line}: an arrow in the text")
    for letter in "&<":
        if letter in rest:
            raise NotWebVTT(f"line {line}: a bare {letter!r}")


def read_webvtt(data: bytes, *, chapters: bool = False) -> list[ReadCue]:
    """The cues of a file that keeps to the grammar; chapters follow one another and do not overlap (section 3.5)."""
    text = data.decode("utf-8", errors="strict")
    if "\0" in text:
        raise NotWebVTT("a null character")
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not re.fullmatch(r"WEBVTT(?:[ \t].*)?", lines[0]):
        raise NotWebVTT("line 1: the file begins with WEBVTT")
    if len(lines) < 2 or lines[1] != "":
        raise NotWebVTT("line 2: an empty line follows the head")
    if lines[-1] != "":
        raise NotWebVTT("the last block ends with a line terminator")
    cues: list[ReadCue] = []
    place = 2
    while place < len(lines):
        if lines[place] == "":
            place += 1
            continue
        begin = place
        while place < len(lines) and lines[place] != "":
            place += 1
        cue = _block(lines[begin:place], begin + 1)
        if cue is not None:
            cues.append(cue)
    _check_order(cues, chapters=chapters)
    return cues


def _block(block: list[str], number: int) -> ReadCue | None:
    if re.fullmatch(r"NOTE(?:[ \t].*)?", block[0]):
        if any("-->" in line for line in block):
            raise NotWebVTT(f"line {number}: an arrow in a note")
        return None
    identifier = ""
    if "-->" not in block[0]:
        identifier, block, number = block[0], block[1:], number + 1
    match = TIMINGS.fullmatch(block[0]) if block else None
    if match is None:
        raise NotWebVTT(f"line {number}: no timings: {block[:1]}")
    parts = match.groups()
    start, end = _seconds(parts[:4]), _seconds(parts[4:])
    if end <= start:
        raise NotWebVTT(f"line {number}: a cue ends after it starts")
    if len(block) < 2:
        raise NotWebVTT(f"line {number}: a cue without text")
    for offset, line in enumerate(block[1:], start=1):
        _check_text(line, number + offset)
    return ReadCue(identifier, start, end, "\n".join(block[1:]))


def _check_order(cues: list[ReadCue], *, chapters: bool) -> None:
    identifiers = [cue.identifier for cue in cues if cue.identifier]
    if len(identifiers) != len(set(identifiers)):
        raise NotWebVTT("identifiers are unique")
    for before, after in pairwise(cues):
        if after.start < before.start:
            raise NotWebVTT(f"a cue at {after.start} s after one at {before.start} s")
        if chapters and after.start < before.end:
            raise NotWebVTT(f"chapters overlap at {after.start} s")
