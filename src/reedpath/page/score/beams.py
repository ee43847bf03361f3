"""Beams: which notes of a measure stand under one, and which parts of it each has; other notes have flags."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction

from reedpath.page.score.bars import ScoreBar
from reedpath.page.score.measures import Measure
from reedpath.page.score.rhythm import RhythmPiece, Tuplet

# beams of the note values that have them
BEAMS = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5, "256th": 6, "512th": 7, "1024th": 8}


def _beam_group(bar: ScoreBar, piece: RhythmPiece) -> Fraction | Tuplet:
    """What pieces have in common that may share a beam: a beat, or a tuplet longer than one."""
    place = bar.place(piece.onset)
    beats, tuplet = bar.grid.beats, piece.tuplet
    if tuplet and tuplet.end - tuplet.start > bar.grid.longest_beat:
        return tuplet
    return beats[bisect_right(beats, place) - 1]


def _runs(measure: Measure) -> Iterator[list[int]]:
    """Indexes of pieces that stand under one beam."""
    run: list[int] = []
    group: Fraction | Tuplet | None = None
    for index, piece in enumerate(measure.pieces):
        has_beam = piece.source is not None and piece.value is not None and piece.value.name in BEAMS
        same = has_beam and run and _beam_group(measure.bar, piece) == group
        if not same:
            yield run
            run = []
        if has_beam:
            group = _beam_group(measure.bar, piece)
            run.append(index)
    yield run


def _hook(pieces: Sequence[RhythmPiece], place: int) -> str:
    """Which way a lonely part of a beam points: towards the note it fills a stronger place with."""
    if place == 0:
        return "forward hook"
    if place == len(pieces) - 1:
        return "backward hook"
    before = pieces[place - 1].value
    return "backward hook" if before and before.dots else "forward hook"


def beam_states(measure: Measure) -> dict[int, list[str]]:
    """For each piece under a beam, by its index, MusicXML's beam value at each level, the outermost first."""
    states: dict[int, list[str]] = {}
    for run in _runs(measure):
        if len(run) < 2:
            continue
        pieces = [measure.pieces[index] for index in run]
        counts = [BEAMS[piece.value.name] if piece.value else 0 for piece in pieces]
        for place, index in enumerate(run):
            before = counts[place - 1] if place else 0
            after = counts[place + 1] if place + 1 < len(run) else 0
            states[index] = [
                "continue"
                if level <= before and level <= after
                else "end"
                if level <= before
                else "begin"
                if level <= after
                else _hook(pieces, place)
                for level in range(1, counts[place] + 1)
            ]
    return states


def is_beamed_whole(measure: Measure, tuplet: Tuplet) -> bool:
    """Whether one beam holds the whole tuplet, so that it needs no bracket."""
    inside = {index for index, piece in enumerate(measure.pieces) if piece.tuplet == tuplet}
    return len(inside) > 1 and any(inside == set(run) for run in _runs(measure))
