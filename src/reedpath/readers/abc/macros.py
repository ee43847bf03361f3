"""Macros of a tune: signs that stand for longer music code (ABC 2.1, section 9)."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from reedpath.errors import Place
from reedpath.readers.limits import Limits

# letters in rising order of pitch, one for each step of the scale
_STEPS = "CDEFGABcdefgab"
# characters; section 9.1
_LONGEST_TARGET = 31
_LONGEST_REPLACEMENT = 200
# macros; ours
_MOST_MACROS = 50


def _note_at(step: int) -> str:
    """Note so many steps above C."""
    octave, letter = divmod(step, 7)
    if octave > 0:
        return "cdefgab"[letter] + "'" * (octave - 1)
    return "CDEFGAB"[letter] + "," * -octave


def _transposed(replacement: str) -> Callable[[re.Match[str]], str]:
    def expand(match: re.Match[str]) -> str:
        octaves = match["marks"].count("'") - match["marks"].count(",")
        step = _STEPS.index(match["note"]) + 7 * octaves
        return re.sub(r"[h-z]", lambda letter: _note_at(step + ord(letter[0]) - ord("n")), replacement)

    return expand


@dataclass(slots=True)
class Macros:
    """The macros in force."""

    _static: dict[str, str] = field(default_factory=dict)
    _transposing: dict[str, str] = field(default_factory=dict)

    def define(self, text: str) -> bool:
        """Take in an m: field; False when it is no macro."""
        target, equals, replacement = text.partition("=")
        target, replacement = target.strip(), replacement.strip()
        if (
            not equals
            or not target
            or max(len(target) - _LONGEST_TARGET, len(replacement) - _LONGEST_REPLACEMENT) > 0
        ):
            return False
        if len(self._static) + len(self._transposing) >= _MOST_MACROS:
            return False
        kind = self._transposing if "n" in target else self._static
        kind[target] = replacement
        return True

    def expand(self, code: str, *, limits: Limits, where: Place) -> str:
        """The line with its macros written out; ReadError when that makes it too long."""
        for target, replacement in self._static.items():
            code = code.replace(target, replacement)
            limits.check("line_characters", len(code), what="characters-with-macros", where=where)
        for target, replacement in self._transposing.items():
            before, _, after = target.partition("n")
            pattern = f"{re.escape(before)}(?P<note>[A-Ga-g])(?P<marks>[,']*){re.escape(after)}(?![0-9/])"
            code = re.sub(pattern, _transposed(replacement), code)
            limits.check("line_characters", len(code), what="characters-with-macros", where=where)
        return code
