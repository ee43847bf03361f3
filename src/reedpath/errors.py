"""The error family: what is wrong, where, and what to do.

    ReedpathError
    ├── PitchError       a name of a note, key or scale that means nothing
    ├── TuningError      a tuning, temperament or harp that cannot be
    ├── NotationError    a piece of harmonica tab that says nothing playable
    ├── PhraseError      a phrase that contradicts itself
    ├── ReadError        a source that cannot be read (line, bar or byte in ``where``)
    ├── NoRoute          a phrase that no allowed technique can play
    ├── SettingsError    weights, levels, catalogues or options that do not hold
    ├── SoundError       a sound file that cannot be read or written
    ├── PageError        a page, score or hand-out that cannot be made
    ├── FilmError        a film that cannot be read or made
    ├── TakeError        a take that cannot be lined up or answered
    └── ShelfError       a shelf that cannot keep or give what was asked

Pure code raises with what it knows; a job adds the file with `add_context`; only the doors show it.
"""

from __future__ import annotations

from typing import Self

__all__ = [
    "FilmError",
    "NoRoute",
    "NotationError",
    "PageError",
    "PhraseError",
    "PitchError",
    "ReadError",
    "ReedpathError",
    "SettingsError",
    "ShelfError",
    "SoundError",
    "TakeError",
    "TuningError",
]


class ReedpathError(Exception):
    """An error meant for a person.

    Parameters
    ----------
    message : what is wrong, with the offending value and the allowed range.
    where : the place, as precise as known ("line 3", "bar 12", "byte 40", "hole 5, draw").
    hint : what to do about it.

    >>> print(ReadError("unknown sign 'q'", where="line 3").add_context("phrase.txt"))
    phrase.txt, line 3: unknown sign 'q'
    """

    def __init__(self, message: str, *, where: str | None = None, hint: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.where = where
        self.hint = hint

    def add_context(self, place: str) -> Self:
        """Put a wider place (a file) before the place already known, and return the same error."""
        self.where = f"{place}, {self.where}" if self.where else place
        return self

    def __str__(self) -> str:
        return f"{self.where}: {self.message}" if self.where else self.message


class PitchError(ReedpathError):
    """A name of a note, key or scale that means nothing."""


class TuningError(ReedpathError):
    """A tuning, temperament or harp that cannot be."""


class NotationError(ReedpathError):
    """A piece of harmonica tab that says nothing playable."""


class PhraseError(ReedpathError):
    """A phrase that contradicts itself."""


class ReadError(ReedpathError):
    """A source that cannot be read."""


class NoRoute(ReedpathError):
    """A phrase that no allowed technique can play."""


class SettingsError(ReedpathError):
    """Weights, levels, catalogues or options that do not hold."""


class SoundError(ReedpathError):
    """A sound file that cannot be read or written."""


class PageError(ReedpathError):
    """A page, score or hand-out that cannot be made."""


class FilmError(ReedpathError):
    """A film that cannot be read or made."""


class TakeError(ReedpathError):
    """A take that cannot be lined up or answered."""


class ShelfError(ReedpathError):
    """A shelf that cannot keep or give what was asked."""
