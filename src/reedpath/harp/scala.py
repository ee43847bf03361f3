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
from dataclasses import dataclass

from reedpath.errors import Place, TuningError
from reedpath.harp.temperament import STEPS, Temperament, ratio_cents

__all__ = ["format_scl", "parse_scl"]

# longest file that is read, characters; the longest of the public archive (as music21 installs it) is far shorter
LONGEST_FILE = 200_000
# cents from 1200 within which a scale repeats at the octave; finer than any listener or reed
OCTAVE_TOLERANCE_CENTS = 0.1
# cents beyond which a value is a slip: ten octaves
MOST_CENTS = 12_000.0

_CENTS = re.compile(r"-?(?:[0-9]{1,15}\.[0-9]{0,30}|\.[0-9]{1,30})(?![0-9./])")
_RATIO = re.compile(r"-?[0-9]+\s*/\s*-?[0-9]+(?![0-9./])")
_WHOLE = re.compile(r"-?[0-9]+(?![0-9./])")


@dataclass(frozen=True, slots=True)
class _Line:
    number: int
    text: str

    @property
    def where(self) -> str:
        return f"line {self.number}"


def _lines(text: str) -> list[_Line]:
    if len(text) > LONGEST_FILE:
        raise TuningError(f"{len(text)} characters are too many for a scale: {LONGEST_FILE} at most")
    lines = re.split(r"\r\n|\r|\n", text.removeprefix("\ufeff"))
    numbered = (_Line(number, line) for number, line in enumerate(lines, start=1))
    return [line for line in numbered if not line.text.startswith("!")]


def _note_count(line: _Line) -> int:
    match = re.match(r"\s*([0-9]{1,9})(?![0-9.])", line.text)
    if match is None:
        raise TuningError(f"the number of notes is wanted, not {line.text.strip()!r:.60}", where=line.where)
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
        raise TuningError(
            f"{text!r:.60} is no pitch", where=line.where, hint="write cents with a period, 386.31, or a ratio, 5/4"
        ) from error
    if abs(cents) > MOST_CENTS:
        raise TuningError(f"{cents:.0f} cents are too far from the first note", where=line.where)
    return cents


def _check_octave(pitches: list[tuple[_Line, float]]) -> None:
    line, cents = pitches[-1]
    if abs(cents - 1200.0) > OCTAVE_TOLERANCE_CENTS:
        raise TuningError(
            f"the scale repeats at {cents:.2f} cents, not at the octave",
            where=line.where,
            hint="write 2/1 last; a stretched octave is given to the harp, not to its temperament",
        )


def _steps(pitches: list[tuple[_Line, float]]) -> tuple[float, ...]:
    """Cents off equal for twelve steps from the pitches, the octave last."""
    off = [0.0] * STEPS
    taken = {0}
    for order, (line, cents) in enumerate(pitches[:-1], start=1):
        step = order if len(pitches) == STEPS else round(cents / 100.0)
        if step in taken or not 0 < step < STEPS:
            raise TuningError(
                f"{cents:.2f} cents would fall on step {step}, which "
                + ("is taken already" if step in taken else f"lies outside 1 to {STEPS - 1}"),
                where=line.where,
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
        raise TuningError("a scale file has a description and a number of notes", where=f"line {len(lines) + 1}")
    description, count_line, *rest = lines
    rest = [line for line in rest if line.text.strip()]
    count = _note_count(count_line)
    if not 1 <= count <= STEPS:
        raise TuningError(
            f"a scale of {count} notes says nothing certain about twelve steps",
            where=count_line.where,
            hint=f"1 to {STEPS} notes are read, the octave counted",
        )
    if len(rest) < count:
        raise TuningError(f"{count} notes are announced, {len(rest)} lines follow", where=count_line.where)
    if len(rest) > count:
        raise TuningError(f"{count} notes are announced, more lines follow", where=rest[count].where)
    pitches = [(line, _pitch_cents(line)) for line in rest[:count]]
    _check_octave(pitches)
    title = description.text.strip()
    try:
        return Temperament(name, _steps(pitches), f"Scala file: {title}" if title else "Scala file", title or name)
    except TuningError as error:
        raise _placed(error, rest) from None


def _placed(error: TuningError, lines: list[_Line]) -> TuningError:
    """The same error at the line of its step, where it knows only a step."""
    step = re.fullmatch(r"step ([0-9]+)", error.where.file)
    if step is not None:
        error.where = Place(file=lines[int(step[1]) - 1].where)
    return error


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
