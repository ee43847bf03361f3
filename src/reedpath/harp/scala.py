"""Temperaments as Scala scale files (``.scl``), read and written.

The format: lines that begin with an exclamation mark are comments; the first other line describes the
scale, the second counts its notes, then follow that many pitches above an unwritten 1/1, the last being the
interval at which the scale repeats. A pitch with a period is in cents, else it is a ratio or a whole number;
whatever follows it on its line is ignored (https://www.huygens-fokker.org/scala/scl_format.html).

What we make of it: twelve notes that repeat at the octave are the twelve steps in order. Fewer notes are
put on their nearest semitones, if no two want the same one; the other steps stay equal. More notes, or
another interval of repetition, tell us nothing certain about twelve steps and are refused.
"""

from __future__ import annotations

import re

from msgspec import Struct

from reedpath.errors import NOWHERE, Place, TuningError
from reedpath.harp.temperament import STEPS, Temperament, ratio_cents

# longest file that is read, characters; the longest of the public archive (as music21 installs it) is far shorter
LONGEST_FILE = 200_000
# cents from 1200 within which a scale repeats at the octave; finer than any listener or reed
OCTAVE_TOLERANCE_CENTS = 0.1
# cents beyond which a value is a slip: ten octaves
MOST_CENTS = 12_000.0

_CENTS = re.compile(r"-?(?:[0-9]{1,15}\.[0-9]{0,30}|\.[0-9]{1,30})(?![0-9./])")
_RATIO = re.compile(r"-?[0-9]+\s*/\s*-?[0-9]+(?![0-9./])")
_WHOLE = re.compile(r"-?[0-9]+(?![0-9./])")


class _Line(Struct, frozen=True):
    number: int
    text: str

    @property
    def where(self) -> Place:
        return Place(line=self.number)


def _lines(text: str) -> list[_Line]:
    if len(text) > LONGEST_FILE:
        raise TuningError("harp.scale_too_long", count=len(text), most=LONGEST_FILE)
    lines = re.split(r"\r\n|\r|\n", text.removeprefix("\ufeff"))
    numbered = (_Line(number, line) for number, line in enumerate(lines, start=1))
    return [line for line in numbered if not line.text.startswith("!")]


def _note_count(line: _Line) -> int:
    match = re.match(r"\s*([0-9]{1,9})(?![0-9.])", line.text)
    if match is None:
        raise TuningError("harp.no_note_count", where=line.where, text=line.text.strip())
    return int(match[1])


def _cents_of_whole(text: str) -> float:
    return ratio_cents(f"{text}/1")


def _pitch_cents(line: _Line) -> float:
    text = line.text.strip()
    try:
        for pattern, cents_of in ((_CENTS, float), (_RATIO, ratio_cents), (_WHOLE, _cents_of_whole)):
            match = pattern.match(text)
            if match is not None:
                cents = cents_of(match[0])
                break
        else:
            raise ValueError(text)
    except ValueError as error:
        raise TuningError("harp.no_scale_pitch", where=line.where, text=text) from error
    if abs(cents) > MOST_CENTS:
        raise TuningError("harp.scale_pitch_far", where=line.where, cents=round(cents))
    return cents


def _check_octave(pitches: list[tuple[_Line, float]]) -> None:
    line, cents = pitches[-1]
    if abs(cents - 1200.0) > OCTAVE_TOLERANCE_CENTS:
        raise TuningError("harp.scale_no_octave", where=line.where, cents=round(cents, 2))


def _steps(pitches: list[tuple[_Line, float]]) -> tuple[float, ...]:
    """Cents off equal for twelve steps from the pitches, the octave last."""
    off = [0.0] * STEPS
    taken = {0}
    for order, (line, cents) in enumerate(pitches[:-1], start=1):
        step = order if len(pitches) == STEPS else round(cents / 100.0)
        if step in taken:
            raise TuningError("harp.scale_step_taken", where=line.where, cents=round(cents, 2), step=step)
        if not 0 < step < STEPS:
            raise TuningError(
                "harp.scale_step_outside", where=line.where, cents=round(cents, 2), step=step, last=STEPS - 1
            )
        taken.add(step)
        off[step] = cents - 100.0 * step
    return tuple(off)


def parse_scl(text: str, *, name: str = "scala") -> Temperament:
    r"""
    Read the text of a Scala scale file as a temperament; a TuningError names the line that does not hold.

    >>> pure = parse_scl("! fifths.scl\nthree notes\n 3\n 5/4\n 701.955 G\n 2/1")
    >>> [round(cents, 2) for cents in pure.cents]
    [0.0, 0.0, 0.0, 0.0, -13.69, 0.0, 0.0, 1.96, 0.0, 0.0, 0.0, 0.0]
    """
    lines = _lines(text)
    if len(lines) < 2:
        raise TuningError("harp.scale_unfinished", where=Place(line=len(lines) + 1))
    description, count_line, *rest = lines
    rest = [line for line in rest if line.text.strip()]
    count = _note_count(count_line)
    if not 1 <= count <= STEPS:
        raise TuningError("harp.scale_size", where=count_line.where, count=count, most=STEPS)
    if len(rest) < count:
        raise TuningError("harp.scale_too_short", where=count_line.where, count=count, found=len(rest))
    if len(rest) > count:
        raise TuningError("harp.scale_goes_on", where=rest[count].where, count=count)
    pitches = [(line, _pitch_cents(line)) for line in rest[:count]]
    _check_octave(pitches)
    title = description.text.strip()
    steps = _steps(pitches)
    try:
        return Temperament(name, steps, f"Scala file: {title}" if title else "Scala file", title or name)
    except TuningError as error:
        step = error.values.get("step")  # of one that lies too far off, the line is known
        raise error.inside(rest[step - 1].where if isinstance(step, int) else NOWHERE) from None


def format_scl(temperament: Temperament) -> str:
    """
    Write a temperament as a Scala scale file's text, in cents above the key note.

    A scale file starts at an exact 1/1, so a temperament whose key note lies off equal temperament is
    written relative to it.
    """
    first = temperament.cents[0]
    pitches = [100.0 * step + cents - first for step, cents in enumerate(temperament.cents)][1:]
    description = " ".join((temperament.title or temperament.name).split())
    head = ["! " + " ".join(f"{temperament.name}.scl".split()), "!", description, f" {STEPS}", "!"]
    return "\n".join([*head, *(f" {cents:.6f}" for cents in pitches), " 2/1"]) + "\n"
