"""Rows of a groove: the words of a bar, read as what a player does in it.

A row cuts its bar into as many steps as it has words; `grooves/shuffle.toml` tells what the words mean.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from reedpath.errors import Place, SettingsError

# steps that a bar of four beats may be cut into: eighths, triplets, sixteenths
STEP_COUNTS = (8, 12, 16)
# MIDI velocities of drum strokes, and of a plain and a struck note; our choice
STROKES = {"X": 112, "x": 84, "o": 52, ".": 0}
PLAIN, STRUCK = 82, 104
_STEP = re.compile(r"(?P<what>x|<|>|[1-9](?:\+[1-9])*)(?P<struck>!?)(?P<free>\??)")


@dataclass(frozen=True, slots=True)
class GrooveStep:
    """One thing a player does.

    place, length : counted beats from the bar's start.
    degrees : degrees of the chord (1 root, 7 seventh, 8 octave); empty for the whole chord.
    lead : -1 or 1 for a note a semitone under or over the next root, 0 for none.
    velocity : 1 to 127.
    steps : how many the bar is cut into, which tells swung eighths from triplets.
    is_free : whether it is played only where the phrase leaves room.
    """

    place: float
    length: float
    degrees: tuple[int, ...]
    lead: int
    velocity: int
    steps: int
    is_free: bool = False


GrooveBar = tuple[GrooveStep, ...]


def _words(row: str, place: Place) -> list[str]:
    words = row.split()
    if len(words) not in STEP_COUNTS:
        raise SettingsError("sound.steps_in_a_bar", where=place, row=row, count=len(words))
    return words


def drum_bar(row: str, place: Place) -> GrooveBar:
    """The strokes of a drum's row; errors tell the place they are given."""
    words = _words(row, place)
    unit = 4.0 / len(words)
    for word in words:
        if word not in STROKES:
            raise SettingsError("sound.no_stroke", where=place, word=word, known=" ".join(STROKES))
    return tuple(
        GrooveStep(index * unit, unit, (), 0, STROKES[word], len(words))
        for index, word in enumerate(words)
        if STROKES[word]
    )


def player_bar(row: str, place: Place) -> GrooveBar:
    """The steps of the row of a bass, guitar or piano; errors tell the place they are given."""
    words = _words(row, place)
    unit = 4.0 / len(words)
    steps: list[GrooveStep] = []
    open_step = False
    for index, word in enumerate(words):
        if word == "-" and open_step:
            steps[-1] = replace(steps[-1], length=steps[-1].length + unit)
            continue
        open_step = word not in (".", "-")
        if not open_step:
            continue
        match = _STEP.fullmatch(word)
        if match is None:
            raise SettingsError("sound.no_step", where=place, word=word)
        what = match["what"]
        degrees = tuple(int(one) for one in what.split("+")) if what[0].isdigit() else ()
        velocity = STRUCK if match["struck"] else PLAIN
        lead = {"<": -1, ">": 1}.get(what, 0)
        steps.append(GrooveStep(index * unit, unit, degrees, lead, velocity, len(words), bool(match["free"])))
    return tuple(steps)


def groove_bars(
    rows: Sequence[str], read: Callable[[str, Place], GrooveBar], place: Place, field: str = "bars"
) -> tuple[GrooveBar, ...]:
    """The bars of several rows, each read by `drum_bar` or `player_bar`; errors tell field and number."""
    return tuple(read(row, Place(field=f"{field}[{index}]").inside(place)) for index, row in enumerate(rows))
