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
    └── FilmError        a film that cannot be read or made

An error has a key and values, not a sentence: `str` says it in English (`messages`), the doors say it in the user's
language (`wording.error_words`). Pure code raises with what it knows, a job adds the file with `inside`.

The four that types raise of their own values (pitch, tuning, notation, phrase) are a `ValueError` too, so that the
room of plain data can tell which field of the data it was.
"""

from __future__ import annotations

from typing import Self

from reedpath.errors.english import (
    Clause,
    Term,
    Value,
    clean_text,
    english_message,
    fill_gaps,
    in_english,
    plain_text,
    system_words,
)
from reedpath.errors.places import NOWHERE, Place

__all__ = [
    "NOWHERE",
    "Clause",
    "FilmError",
    "NoRoute",
    "NotationError",
    "PageError",
    "PhraseError",
    "PitchError",
    "Place",
    "ReadError",
    "ReedpathError",
    "SettingsError",
    "SoundError",
    "Term",
    "TuningError",
    "clean_text",
    "plain_text",
    "system_words",
]


class ReedpathError(Exception):
    """An error meant for a person, to be told in the person's language.

    key : which message: "harp.unknown_tuning" is ``unknown_tuning`` in the messages of ``harp``.
    where : the place, as precise as known.
    values : one for each gap of the message.

    >>> print(ReadError("readers.empty", where=Place(line=3)).inside(Place(file="phrase.txt")))
    phrase.txt, line 3: the source is empty
    """

    def __init__(self, key: str, *, where: Place = NOWHERE, **values: Value) -> None:
        super().__init__(key)
        self.key = key
        self.where = where
        self.values = values

    @classmethod
    def like(cls, error: ReedpathError) -> Self:
        """An error of this class that says what another one says, of the same place."""
        made = cls(error.key, where=error.where)
        made.values = error.values
        return made

    @property
    def message(self) -> str:
        """What is wrong, in English, without the place."""
        return fill_gaps(english_message(self.key).says, self.values, in_english)

    @property
    def hint(self) -> str | None:
        """What to do about it, in English."""
        return fill_gaps(english_message(self.key).hint, self.values, in_english) or None

    def inside(self, wider: Place) -> Self:
        """Put a wider place (a file) around the place already known, and return the same error."""
        self.where = self.where.inside(wider)
        return self

    def __str__(self) -> str:
        place = in_english(self.where)
        before = english_message("place.before").says
        return fill_gaps(before, {"place": place, "says": self.message}, str) if place else self.message


class PitchError(ReedpathError, ValueError):
    """A name of a note, key or scale that means nothing."""


class TuningError(ReedpathError, ValueError):
    """A tuning, temperament or harp that cannot be."""


class NotationError(ReedpathError, ValueError):
    """A piece of harmonica tab that says nothing playable."""


class PhraseError(ReedpathError, ValueError):
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
