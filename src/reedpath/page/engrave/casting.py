"""Casting off: which bars of a score stand on which line, evenly, so that none is crowded and none half empty.

The engraver fills one line after the other, which may leave one bar on the first and three on the second. Here as
many lines are taken as it needs, and the bars shared among them so that the lines hold about as many notes each (the
total-fit idea of Knuth & Plass, "Breaking paragraphs into lines", Softw. Pract. Exper. 11, 1981); where that is
nearly as even, a part begins a line.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import accumulate, pairwise

_PART = re.compile(r"<part\b[^>]*>.*?</part>", re.DOTALL)
_MEASURE = re.compile(r"(<measure\b[^>]*>)(.*?</measure>|)", re.DOTALL)
_NOTE = re.compile(r"<note\b[^>]*>(?!\s*(?:<grace[^>]*/>\s*)?<chord)")
_LABEL = re.compile(r"<rehearsal\b|<words\b[^>]*enclosure=")
# what a bar line and the space at it take, in notes; from trial
BAR_LINE = 1.5
# share of a line's notes by which lines may be less even for a part to begin one; from trial
FOR_A_PART = 0.2


def _measures(musicxml: str) -> list[str]:
    """What stands in each bar, of all parts together."""
    parts = [_MEASURE.findall(part) for part in _PART.findall(musicxml)]
    return ["".join(body for _, body in bars) for bars in zip(*parts, strict=False)]


def _weight(measure: str, parts: int) -> float:
    """The room that a bar asks for, in notes."""
    return BAR_LINE + len(_NOTE.findall(measure)) / parts


def even_lines(musicxml: str, lines: Sequence[int]) -> list[int]:
    """How many bars each line of a score is to hold: no more lines than the engraver makes, nor fuller ones.

    lines : how many bars the engraver puts on each.
    """
    measures = _measures(musicxml)
    if len(lines) < 2 or sum(lines) != len(measures):
        return list(lines)
    parts = max(1, len(_PART.findall(musicxml)))
    total = [0.0, *accumulate(_weight(measure, parts) for measure in measures)]
    edges = [0, *accumulate(lines)]
    most = max(total[end] - total[start] for start, end in pairwise(edges))
    mean = total[-1] / len(lines)
    begins_part = [bool(_LABEL.search(measure)) for measure in measures]

    def cost(start: int, end: int) -> float:
        held = total[end] - total[start]
        saved = (FOR_A_PART * mean) ** 2 if start and begins_part[start] else 0.0
        return (held - mean) ** 2 - saved

    best: list[tuple[float, int]] = [(0.0, 0)]  # least cost of the bars so far, where their last line begins
    for end in range(1, len(measures) + 1):
        ways = []
        for start in range(end - 1, -1, -1):
            if total[end] - total[start] > most + 1e-9:
                break
            ways.append((best[start][0] + cost(start, end), start))
        best.append(min(ways))
    ends = [len(measures)]
    while ends[-1] > 0:
        ends.append(best[ends[-1]][1])
    even = [end - start for start, end in pairwise(reversed(ends))]
    return even if len(even) <= len(lines) else list(lines)


def with_line_breaks(musicxml: str, lines: Sequence[int]) -> str:
    """The score with a new line after so many bars each."""
    starts = set(accumulate(lines[:-1]))

    def broken(part: re.Match[str]) -> str:
        count = iter(range(len(part[0])))
        return re.sub(
            r"<measure\b[^>]*>",
            lambda bar: bar[0] + ('<print new-system="yes"/>' if next(count) in starts else ""),
            part[0],
        )

    return _PART.sub(broken, musicxml)
